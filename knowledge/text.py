"""How several words become one phrase, with how many digits a figure is written, and what a wrong word may mean."""

import difflib
import re
from collections.abc import Iterable, Mapping
from decimal import Decimal
from typing import Any


class Said(str):
    """A sentence that a program can say in another language: it has a code, and what fills the places of its text.

    `parts` are the sentences that it repeats.
    """

    code: str
    params: Mapping[str, Any]
    parts: tuple["Said", ...] = ()

    def __new__(cls, text: str, code: str, parts: tuple["Said", ...] = (), /, **params: Any) -> "Said":
        said = str.__new__(cls, text)
        said.code, said.params = code, params
        if parts:
            said.parts = parts
        return said


def reworded(said: str, text: str, parts: tuple[Said, ...] = (), /, **params: Any) -> str:
    """The same said in other words, with more to fill in and to repeat; a text without a code stays without."""
    return Said(text, said.code, (*said.parts, *parts), **said.params, **params) if isinstance(said, Said) else text


def said_of(text: str) -> tuple[Said, ...]:
    """A sentence as a part of another one; nothing where it has no code."""
    return (text,) if isinstance(text, Said) else ()


def first_sentence(said: str) -> str:
    """The first sentence of a text."""
    first = f"{said.partition('. ')[0].removesuffix('.')}."
    return said if first == said else reworded(said, first, first_sentences=1)


def in_a_row(sentences: Iterable[str]) -> str:
    """Sentences one after the other: together they have a code where each of them has one."""
    told = tuple(sentences)
    if len(told) == 1:
        return told[0]
    said, text = [one for one in told if isinstance(one, Said)], " ".join(told)
    if not said or len(said) < len(told):
        return text
    return Said(text, "sentences", tuple([part for one in said for part in _each(one)]))


def _each(said: Said) -> tuple[Said, ...]:
    return said.parts if said.code == "sentences" else (said,)


def code_of(text: str) -> str | None:
    """The code of a sentence, null where it has none."""
    return text.code if isinstance(text, Said) else None


def nearest(word: str, known: Iterable[str]) -> str | None:
    """The known word that looks most like this one, or None when none comes close."""
    close = difflib.get_close_matches(word.lower(), tuple(known), n=1)
    return close[0] if close else None


def squeezed(word: str) -> str:
    """A word without capitals and without what sets its parts apart: `GL4`, `gl-4` and `GL 4` are one."""
    return re.sub("[^0-9a-z]", "", word.lower())


def listed(words: Iterable[str], joint: str) -> str:
    """`a, b or c`."""
    *head, last = words
    return f"{', '.join(head)} {joint} {last}" if head else last


def significant(value: float, most: int = 4) -> float:
    """A figure with no more significant digits than its origin can bear."""
    return float(f"{value:.{most}g}")


def spoken(sentences: Iterable[str], most: int = 40) -> str:
    """Sentences to read aloud, in their order, as far as they stay within `most` words; longer ones are left out."""
    told: list[str] = []
    for sentence in sentences:
        count = len(sentence.split())
        if count <= most:
            told.append(sentence)
            most -= count
    return in_a_row(told)


def digits(value: float, most: int = 3) -> str:
    """A figure with a few digits, written out: `1370`, `0.012`; a zero has no sign."""
    text = f"{value:.{most}g}"
    return f"{Decimal(text).normalize() + 0:f}" if "e" in text or text == "-0" else text


def plain(value: float) -> str:
    """A figure as it was given: `-20`, `2.25`; what is next to nothing is 0."""
    return digits(round(value, 6), 12)


def value_text(value: bool | float | str) -> str:
    """A value as it stands on the wire: `true`, `-20`, `paper`."""
    if isinstance(value, bool):
        return "true" if value else "false"
    return plain(value) if isinstance(value, float) else str(value)


def percent(share: float) -> str:
    """A share in percent: two digits, three only for all of it, and what is next to nothing in words."""
    if 0 < share < 0.001:
        return "less than 0.1 %"
    return f"{100 * share:.0f} %" if share >= 0.1 else f"{100 * share:.2g} %"


def limit_percent(share: float) -> str:
    """A share that is a limit, with all its digits: 0.125 is `12.5 %`."""
    return f"{plain(100 * share)} %"


def spanned(least: str, most: str) -> str:
    """`0.5 to 0.7`, or the one figure where both ends read alike."""
    return least if least == most else f"{least} to {most}"


def grouped(value: float) -> str:
    """A large whole number in groups of three: `150 000`."""
    return f"{value:,.0f}".replace(",", " ")


def duration(least_s: float, most_s: float) -> str:
    """A span of time in its usual unit: `25 to 84 ms`, `0.23 ms`, `1.4 s`; never shorter than a microsecond."""
    unit, per_second = ("ms", 1000) if most_s < 1 else ("s", 1)
    least, most = (_two_digits(per_second * max(value, 1e-6)) for value in (least_s, most_s))
    return f"{spanned(least, most)} {unit}"


def about_duration(middle_s: float, spread: float, most_s: float) -> str:
    """A time that is known to a factor, in milliseconds: `about 55 ms (18 to 160)`, never more than `over 250 ms`."""
    over = f"over {_two_digits(1000 * most_s)}"
    if middle_s > most_s:
        return f"{over} ms"
    low, middle, high = (_two_digits(significant(1000 * middle_s * factor, 2)) for factor in (1 / spread, 1.0, spread))
    return f"about {middle} ms ({low} to {over if middle_s * spread > most_s else high})"


def in_steps(value: float) -> str:
    """A judged temperature in whole steps of 5: `-20`."""
    return plain(5 * round(value / 5))


def _two_digits(value: float) -> str:
    return f"{value:.0f}" if value >= 10 else digits(value, 2)


def as_condition(text: str, only_if: str | None) -> str:
    """A text with what has to be so for it to bite put before it: `If the sump holds hypoid gears: they need ...`."""
    condition = (only_if or "").removeprefix("Only if ").removesuffix(".")
    if not only_if:
        return text
    if condition == only_if.removesuffix("."):
        return reworded(text, f"{text} {only_if}", said_of(only_if), only_if=only_if)
    return reworded(text, f"If {condition}: {within_a_sentence(text)}", said_of(only_if), only_if=condition)


def capitalized(text: str) -> str:
    """A text that begins a sentence."""
    return text[:1].upper() + text[1:]


def within_a_sentence(text: str) -> str:
    """A text within a sentence: its first letter is small unless it belongs to a name or an abbreviation."""
    return text[0].lower() + text[1:] if text[1:2].islower() or text[1:2] == " " else text
