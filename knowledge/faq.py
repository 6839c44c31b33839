"""The public questions with their numbers filled in: a figure stands once, in its table, and is never retyped.

A place in an answer names a cell of a table, `{thresholds.lining-kv100-below.value}` or
`{sae_j306.2019.90.kv100_min_mm2_s}`, or one of the figures computed here, `{left_after_drains.2:percent}`.
"""

import re
from collections.abc import Callable, Iterable, Iterator, Mapping
from functools import partial
from operator import truediv
from typing import Annotated, NamedTuple

from pydantic import Field

from knowledge.base import KnowledgeBase
from knowledge.box.question import FlatFillQuestion
from knowledge.errors import Fault
from knowledge.loading.cells import Placed
from knowledge.loading.fluid_rows import FamilyRow
from knowledge.loading.schema import CitedRow, Id, Row
from knowledge.parts.provenance import UNCHECKED, Citation, ResponseModel, Standing, weakest
from knowledge.parts.references import Refers
from knowledge.physics.blending import share_left
from knowledge.physics.limits import OutOfRange
from knowledge.physics.viscosity import kinematic_viscosity_mm2_s
from knowledge.text import percent


class FaqRow(Row):
    """A question customers ask and its careful answer."""

    id: Id
    head: str = Field(description="What it is about, in the customers' words; questions of one head stand together.")
    question: str
    answer: str = Field(description="Plain words; {places} are filled in by `knowledge.faq`.")
    counter: FlatFillQuestion | None = Field(None, description="The question to put at the counter.")
    cautions: Annotated[tuple[str, ...], Refers("cautions")] = ()
    sources: tuple[Citation, ...]


PLACE = re.compile(r"\{([^{}]*)\}")
MARK = "*"
# The tables whose cells a place may name, with the columns that find a row.
KEYS: Mapping[str, tuple[str, ...]] = {
    "thresholds": ("id",),
    "sae_j306": ("edition", "grade"),
    "sae_j300": ("grade",),
    "duties": ("id",),
    "copper_strip": ("rating",),
    "families": ("id",),
    "mixing": ("id",),
    "change_intervals": ("kind", "duty"),
}


class NoSuchFigure(ValueError):
    """A place names nothing that the tables have."""


class FaqFigure(ResponseModel):
    """One figure of an answer, with where it comes from."""

    text: str
    place: str = Field(description="The cell of a table, or the name of what was computed.")
    standing: Standing
    sources: tuple[Citation, ...]


class FaqEntry(ResponseModel):
    """A question customers ask and its careful answer, every number from the tables."""

    id: str
    head: str = Field(description="What it is about, in the customers' words; questions of one head stand together.")
    question: str
    answer: str = Field(description="Plain text; a * follows each figure from memory or of our judgement.")
    figures: tuple[FaqFigure, ...]
    counter: FlatFillQuestion | None = Field(None, description="The question to put at the counter, as GET /v1/fill.")
    cautions: tuple[str, ...]
    sources: tuple[Citation, ...]


class _Found(NamedTuple):
    value: float | str
    standing: Standing
    sources: tuple[Citation, ...]


def faq_entry(row: FaqRow, base: KnowledgeBase) -> FaqEntry:
    """One public question with its figures filled in.

    Errors: NoSuchFigure, which `knowledge check` finds before anything is served.
    """
    figures = tuple(_figure(place, base) for place in PLACE.findall(row.answer))
    filled = iter(figures)
    return FaqEntry(
        **row.model_dump(include={"id", "head", "question", "cautions"}),
        answer=PLACE.sub(lambda _: _marked(next(filled)), row.answer),
        figures=figures,
        counter=row.counter,
        sources=row.sources,
    )


def faq_entries(base: KnowledgeBase) -> tuple[FaqEntry, ...]:
    """Every public question, in the order of the table."""
    return tuple(faq_entry(row, base) for row in base.by_id(FaqRow).values())


def faq_faults(rows: Iterable[Placed[FaqRow]], base: KnowledgeBase) -> Iterator[Fault]:
    """The places in the answers that name no figure."""
    for placed in rows:
        for place in PLACE.findall(placed.row.answer):
            try:
                _figure(place, base)
            except NoSuchFigure as error:
                yield placed.fault("answer", f"answer: {{{place}}}: {error}")
        if re.search(r"[{}]", PLACE.sub("", placed.row.answer)):
            yield placed.fault("answer", "answer: a { or } stands alone")


def _marked(figure: FaqFigure) -> str:
    return figure.text + (MARK if figure.standing in UNCHECKED else "")


def _figure(place: str, base: KnowledgeBase) -> FaqFigure:
    name, _, form = place.partition(":")
    found = _computed(name, base) or _cell(name, base)
    return FaqFigure(text=_text(found.value, form), place=name, standing=found.standing, sources=found.sources)


def _text(value: float | str, form: str) -> str:
    if form not in FORMS:
        raise NoSuchFigure(f"{form!r} is not one of {', '.join(filter(None, FORMS))}")
    if isinstance(value, str):
        return value
    return FORMS[form](value)


FORMS: Mapping[str, Callable[[float], str]] = {
    "": lambda value: f"{value:,.10g}".replace(",", "\N{NO-BREAK SPACE}"),
    "percent": lambda value: percent(value).replace(" ", "\N{NO-BREAK SPACE}"),
    "rounded": lambda value: f"{float(f'{value:.1g}'):.0f}",
}


def _cell(name: str, base: KnowledgeBase) -> _Found:
    table, *keys = name.split(".")
    field = keys.pop() if keys else ""
    columns = KEYS.get(table)
    if columns is None or len(keys) != len(columns):
        raise NoSuchFigure(f"must be one of {', '.join('.'.join((name, *KEYS[name], 'column')) for name in KEYS)}")
    row = next((row for row in base.tables[table] if [getattr(row, column) for column in columns] == keys), None)
    value = getattr(row, field, None)
    if not isinstance(value, (int, float, str)) or not isinstance(row, (CitedRow, FamilyRow)):
        raise NoSuchFigure("no row has this figure")
    cited = row.sources if isinstance(row, FamilyRow) else (Citation(id=row.source, locator=row.locator),)
    return _Found(value, row.standing, cited)


def _computed(name: str, base: KnowledgeBase) -> _Found | None:
    what, *given = name.split(".")
    if what not in COMPUTED:
        return None
    try:
        return COMPUTED[what](base, *given)
    except (TypeError, ValueError, KeyError, OutOfRange):
        raise NoSuchFigure(f"{what} cannot be computed from {', '.join(given) or 'nothing'}") from None


def _left_after_drains(base: KnowledgeBase, rounds: str) -> _Found:
    """The share of the old fluid after some drains of the usual share each."""
    row = base.thresholds["drained-share-usual"]
    left = share_left(drained_share=row.value, rounds=int(rounds))
    return _Found(left, row.standing, (Citation(id=row.source, locator=row.locator),))


def _copper_strip_wanted(base: KnowledgeBase) -> _Found:
    row = base.copper_strip[base.copper_strip_wanted]
    return _Found(row.rating, "judgement", (Citation(id=row.source, locator=row.locator),))


def _times_thicker(base: KnowledgeBase, id: str, cold_c: str, warm_c: str, pick: Callable[..., float]) -> _Found:
    """How many times as thick a class is at one temperature as at another, over the corners of its band."""
    row = base.lubricant_rows[id]
    corners = next(oil.corners for oil in base.lubricants if oil.id == id)
    cold, warm = (
        [kinematic_viscosity_mm2_s(line=corner.line, temperature_c=float(celsius)) for corner in corners]
        for celsius in (cold_c, warm_c)
    )
    cited = (Citation(id=row.source, locator=row.locator), Citation(id="astm-d341-20"))
    return _Found(pick(map(truediv, cold, warm)), weakest("computed", row.standing), cited)


COMPUTED: Mapping[str, Callable[..., _Found]] = {
    "left_after_drains": _left_after_drains,
    "copper_strip_wanted": _copper_strip_wanted,
    "least_times_thicker": partial(_times_thicker, pick=min),
    "most_times_thicker": partial(_times_thicker, pick=max),
}
