"""How values and circumstances are put into words."""

from collections.abc import Sequence
from typing import Any

from knowledge.base import KnowledgeBase
from knowledge.box.axes import NO_RINGS
from knowledge.box.named import in_words
from knowledge.box.worlds import Field, Worlds
from knowledge.fill.answer import AskNext, ServiceDataVerdict
from knowledge.judging.judged import Judged
from knowledge.text import listed, value_text

ANY_RINGS = "synchronizer rings of any kind"


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


def summary(
    outcome: str,
    order: Sequence[Judged],
    questions: Sequence[AskNext],
    service_data: ServiceDataVerdict,
    worlds: Worlds,
    *,
    is_provable: bool,
) -> str:
    """One plain sentence of at most 140 characters."""
    if is_provable:
        return "No generic class fits this box as such: the service data or the copper strip of a jug must settle it."
    if not order:
        return "No generic class fits this box: only the manufacturer's service data can settle it."
    if not worlds.named.is_listed:
        named = in_words(worlds.question.service_data, worlds.base)
        then = "clear it up with the manufacturer" if service_data.status == "conflicts" else "follow it"
        return f"The service data names {named}, a grade that no class here has: {then}."
    if service_data.status == "conflicts":
        return "Something speaks against what the service data names: clear it up with the manufacturer first."
    first = order[0]
    verdict = first.verdict(worlds.every)
    if outcome == "depends":
        lead = "It depends" if verdict == "depends" else f"{first.oil.name} leads so far"
        field = next(field for field in worlds.unknown if field.pointer == questions[0].pointer)
        return f"{lead}; ask next {worlds.base.unknowns[field.name].short}."
    care = ", with care" if verdict == "fits-with-care" else ""
    return f"{first.oil.name} leads{care}; the manufacturer's service data decides."
