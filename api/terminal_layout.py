"""How any answer is laid out as plain text for a terminal, less than 100 columns wide."""

import textwrap
from collections.abc import Iterable, Iterator

from knowledge.parts.provenance import UNCHECKED, Caution, Figure, KnowledgeStamp, Standing
from knowledge.parts.units import in_words
from knowledge.text import digits

WIDTH = 96
MARK = "*"
MARK_MEANS = f"{MARK} rests on a figure from memory or on our judgement, not on a source that was read again."


def page(blocks: Iterable[Iterable[str]]) -> str:
    """The blocks that have any lines, with a blank line between them, and what the mark means where it stands."""
    text = "\n\n".join("\n".join(lines) for block in blocks if (lines := list(block)))
    return f"{text}\n\n{MARK_MEANS}" if MARK in text else text


def titled(title: str, lines: Iterable[str]) -> Iterator[str]:
    """A block beneath its title; nothing where it has no lines."""
    found = list(lines)
    return iter([title.upper(), *found] if found else [])


def wrapped(text: str, indent: int = 0, hang: int | None = None) -> str:
    """The text in lines of at most WIDTH; `hang` indents all lines but the first."""
    later = " " * (indent if hang is None else hang)
    return textwrap.fill(text, WIDTH, initial_indent=" " * indent, subsequent_indent=later, break_on_hyphens=False)


def bullet(text: str, indent: int = 2) -> str:
    """One entry of a list."""
    return wrapped(f"- {text}", indent, indent + 2)


def number(value: float) -> str:
    """Three digits are enough at the counter."""
    return f"{value:.0f}" if abs(value) >= 100 else digits(value)


def mark_of(standing: Standing | None) -> str:
    """The mark of what rests on memory or judgement, nothing for the rest."""
    return MARK if standing in UNCHECKED else ""


def figure_text(figure: Figure) -> str:
    """A figure or its range with its unit, marked where it rests on memory or judgement."""
    in_ms = figure.unit == "s" and figure.max < 10
    low, high = (number(value * 1000 if in_ms else value) for value in (figure.min, figure.max))
    unit = " ms" if in_ms else "" if figure.unit == "1" else f" {figure.unit}"
    mark = MARK if figure.is_unchecked else ""
    screening = " (extrapolated)" if figure.screening else ""
    return f"{low}{unit}{mark}{screening}" if low == high else f"{low} to {high}{unit}{mark}{screening}"


def caution_line(item: Caution) -> str:
    """One caution."""
    return bullet(f"{item.severity.capitalize()}: {item.in_full}")


def place_in_words(pointer: str) -> str:
    """A pointer in words: `/rings/0/facing` is the facing of ring set 1."""
    *parents, name = pointer.strip("/").split("/")
    if parents[:1] == ["rings"] and parents[1:]:
        return f"{in_words(name)} of ring set {int(parents[1]) + 1}"
    return " ".join(map(in_words, (*parents, name)))


def foot(stamp: KnowledgeStamp) -> str:
    """What every answer ends with."""
    return (
        "The manufacturer's service data decides. "
        f"Knowledge {stamp.version}, {stamp.digest[:19]}; rules and sources: /v1/rules, /v1/sources."
    )
