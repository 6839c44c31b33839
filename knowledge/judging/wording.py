"""How values and circumstances are put into words."""

from collections.abc import Sequence
from typing import Any

from knowledge.base import KnowledgeBase
from knowledge.box.axes import NO_RINGS
from knowledge.box.worlds import Field, Worlds
from knowledge.text import listed, plain

ANY_RINGS = "synchronizer rings of any kind"

# What is put behind a refusal that only warns, since the service data names the class.
ALL_THE_SAME = (
    " The service data names this class all the same, so this warns and does not refuse: ask the manufacturer."
)


def value_text(value: Any) -> str:
    """A tried value as it stands on the wire."""
    if isinstance(value, bool):
        return "true" if value else "false"
    return plain(value) if isinstance(value, float) else str(value)


def value_words(field: str, value: Any, base: KnowledgeBase) -> str:
    """A tried value as said to a person."""
    text = value_text(value)
    words = base.value_words.get((field, text))
    return words or (f"{text} °C" if field.endswith("_c") else text)


def only_if(bites: int, axes: frozenset[str], worlds: Worlds) -> str | None:
    """What has to be so, of what is still unknown, for a finding to bite; None where it surely does."""
    if bites == worlds.every:
        return None
    said = []
    for field in worlds.unknown:
        if field.axis not in axes:
            continue
        biting = [part.value for part in field.parts if part.worlds & bites]
        if len(biting) < len(field.parts):
            if field.name == "rings" and len(biting) == len(field.parts) - 1 and NO_RINGS not in biting:
                biting = [ANY_RINGS]
            said.append(worlds.base.unknowns[field.name].phrase.format(values=_values(field, biting, worlds.base)))
    return f"Only if {listed(said, 'and')}." if said else "Only for some combinations of what is unknown."


def _values(field: Field, biting: Sequence[Any], base: KnowledgeBase) -> str:
    """The values in words; many temperatures by the end that bounds them, so that none between seems safe."""
    if field.name.endswith("_c"):
        coldest, hottest = (value_words(field.name, value, base) for value in (biting[0], biting[-1]))
        reaches_cold, reaches_hot = biting[0] == field.parts[0].value, biting[-1] == field.parts[-1].value
        if reaches_cold and not reaches_hot:
            return f"{hottest} or colder"
        if reaches_hot and not reaches_cold:
            return f"{coldest} or hotter"
        if not reaches_cold and len(biting) > 1:
            return f"{coldest} to {hottest}"
    return listed((value_words(field.name, value, base) for value in biting), "or")


def as_condition(text: str, only_if: str | None) -> str:
    """A text with what has to be so for it to bite put before it: `If the sump holds hypoid gears: they need ...`."""
    condition = (only_if or "").removeprefix("Only if ").removesuffix(".")
    if not only_if or condition == only_if.removesuffix("."):
        return f"{text} {only_if}" if only_if else text
    return f"If {condition}: {within_a_sentence(text)}"


def within_a_sentence(text: str) -> str:
    """A text that begins within a sentence: its first letter is small unless it belongs to a name or an abbreviation."""
    return text[0].lower() + text[1:] if text[1:2].islower() or text[1:2] == " " else text
