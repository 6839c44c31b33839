"""What stands behind an answer and takes long to work out: what would change it, and how firm it is."""

from re import sub
from typing import NamedTuple

from api.permalink import field_of
from api.views.rows import JOBS
from knowledge.base import KnowledgeBase
from knowledge.fill.firmness import FigureThatMatters, Firmness
from knowledge.fill.turning import NO_CLASS
from knowledge.fill.turns import Turns
from knowledge.parts.units import in_words
from knowledge.text import digits, percent

TITLES = {field: title for title, fields in JOBS["box"].items() for field in fields}
# A turn is about all that the maker of a ring names.
TITLES["fluid_named"] = TITLES["ring_fluid_family"]
# Of sizes, which stand in no row of the page, by the part of the question.
OF_SIZES = {
    "bearing": "Size and speed of the bearing",
    "ring_geometry": "Sizes of the ring",
    "mesh": "Sizes of the gears",
}
HOW_FIRM = {
    "firm": "Firm.",
    "close": "A close call.",
    "rests-on-custom": "It rests on custom: what stands next fits as well.",
}
TIMES = "\N{MULTIPLICATION SIGN}/\N{DIVISION SIGN}"


class TurnsView(NamedTuple):
    """What turns an answer under the row that says it, and the rows that do not."""

    turning: tuple[tuple[str, tuple[str, ...]], ...]
    idle: tuple[str, ...]


class FirmnessView(NamedTuple):
    """How firm an answer is, in words, and the figures that have most to do with it."""

    word: str
    text: str
    figures: tuple[tuple[str, str, str, str], ...]


def turns_view(found: Turns) -> TurnsView:
    """The words of each change, those of one row together."""
    by_row: dict[str, tuple[str, ...]] = {}
    for turn in found.turns:
        title = OF_SIZES.get(turn.pointer.split("/")[1]) or TITLES[field_of(turn.pointer)]
        by_row[title] = (*by_row.get(title, ()), *(change.words for change in turn.changes))
    turning = tuple((title, words) for title, words in by_row.items() if words)
    return TurnsView(turning, tuple(title.rstrip("?") for title, words in by_row.items() if not words))


def firmness_view(found: Firmness, base: KnowledgeBase) -> FirmnessView:
    """Its word, the draws behind it, and at most three figures: name, value, spread and weight."""
    names: dict[str | None, str] = {None: NO_CLASS, **{oil.id: oil.name for oil in base.lubricants}}
    instead = "; ".join(f"{names[item.lubricant]} in {percent(item.share)}" for item in found.instead)
    stays = "it stays first" if found.leader else "no class leads either"
    text = f"With our judged figures drawn anew {found.draws} times {stays} in {percent(found.holds)} of them."
    figures = tuple(_figure(item) for item in found.matters_most)
    return FirmnessView(HOW_FIRM[found.word], f"{text}{f' Else: {instead}.' if instead else ''}", figures)


def _figure(item: FigureThatMatters) -> tuple[str, str, str, str]:
    unit, spread = "" if item.unit == "1" else f" {item.unit}", digits(item.spread, 2)
    spreads = {
        "times": f"{TIMES} {spread}",
        "plus-minus": f"\N{PLUS-MINUS SIGN} {spread}{unit}",
        "odds": f"odds {TIMES} {spread}",
    }
    return (
        ", ".join(sub(r"(?<=\w)-", " ", in_words(part)) for part in item.figure.split("/")),
        f"{digits(item.value, 2)}{unit}",
        spreads[item.distribution],
        percent(item.effect),
    )
