"""Figures drawn at random within their spread, and who leads a box in each draw."""

from collections.abc import Callable, Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from knowledge.base import KnowledgeBase
from knowledge.box.axes import FIELDS_OF_AXES
from knowledge.box.drawn_cases import DrawnCases
from knowledge.fill.compute import LEADS
from knowledge.judging.box_columns import BoxColumns
from knowledge.judging.column_rule import EXCLUDES
from knowledge.judging.columns import Floats, Lines, LubricantColumns
from knowledge.judging.drawn_rank import DrawnRanking
from knowledge.judging.judge import Judged
from knowledge.judging.judgement import Judgement
from knowledge.judging.prepared import prepared
from knowledge.judging.rank import SHARES, Ranking
from knowledge.loading.custom_rows import BoxKindRow, HowOftenRow
from knowledge.loading.facing_rows import NO_RINGS, RingLandRow
from knowledge.loading.fluid_rows import LubricantRow
from knowledge.loading.schema import DefaultRow, DrawnRow, DutyRow, ThresholdRow, at_place
from knowledge.lubricant import Lubricant
from knowledge.parts.provenance import Standing

# What a source prints is not drawn.
UNPROVEN: frozenset[Standing] = frozenset({"judgement", "from-memory", "common-practice"})
# So that memory stays small however many there are.
DRAWS_AT_ONCE = 250

Leaders = list[str | None]


@dataclass(frozen=True, slots=True, eq=False)
class DrawnFigure:
    """A figure that may be drawn: a column of a row, or an entry of a column of shares."""

    id: str
    row: DrawnRow
    column: str
    entry: str | None
    value: float
    spread: float

    def at(self, places: Floats) -> Floats:
        """Its values from places between -1, the least that it may be, and 1, the most."""
        found: Floats = at_place(self.value, self.spread, self.row.distribution, places)
        # They stand in the rows of a table, which nothing may change.
        found.flags.writeable = False
        return found


def figures_for(judgement: Judgement) -> tuple[DrawnFigure, ...]:
    """The figures that may be drawn and bear on a box: of what is in it, assumed of it, met in it, or may lead."""
    base = judgement.base
    rows = ((row, bears) for model, bears in _bearing(judgement).items() for row in base.rows(model))
    return tuple(figure for row, bears in rows if bears(row) for figure in _figures(row))


def _figures(row: DrawnRow) -> Iterator[DrawnFigure]:
    if row.standing not in UNPROVEN:
        return
    key = "/".join(str(getattr(row, name)) for name in row.keys[0].columns if getattr(row, name) is not None)
    for column, of_spread in row.drawn.items():
        value, spread = getattr(row, column), getattr(row, of_spread)
        if spread is None or value is None:
            continue
        place = key if column == "value" else f"{key}/{column}"
        entries = [(f"{place}/{name}", name, of) for name, of in value.items()] if isinstance(value, Mapping) else ()
        for id, entry, of in entries or [(place, None, value)]:
            # What never is met and what always is stays so.
            if row.distribution != "odds" or 0 < of < 100:
                yield DrawnFigure(id, row, column, entry, of, spread)


def _bearing(judgement: Judgement) -> Mapping[type[DrawnRow], Callable[[Any], bool]]:
    """For each kind of row that is drawn, whether a row bears on a box."""
    cases, question = judgement.cases, judgement.question
    axes = zip(FIELDS_OF_AXES, cases.axes, strict=True)
    is_open = {field for fields, axis in axes if axis.size > 1 for field in fields}
    facings = {facing for of in cases.values("facings") for facing in of or (NO_RINGS,)}
    lands = {land for of in cases.values("lands") for land in of}
    duties = {duty for duty, _ in cases.values("duty_and_sump")} if question.sump_hot_c is None else set()
    given: Mapping[str | None, Collection[str | None]] = {"facing": facings, "box_kind": (question.box_kind,)}
    may_lead = {judgement.lubricants[at].id for at in _may_lead(judgement)}

    def is_met(row: HowOftenRow) -> bool:
        return row.field in is_open and row.given_value in given.get(row.given_field, (row.given_value,))

    def is_assumed(row: DefaultRow) -> bool:
        given = getattr(question, row.part, None)
        return given is None or getattr(given, row.quantity, 0) is None

    return {
        ThresholdRow: lambda row: row.id not in SHARES or bool(is_open),
        DefaultRow: is_assumed,
        RingLandRow: lambda row: (row.facing, row.condition) in lands,
        DutyRow: lambda row: row.id in duties,
        LubricantRow: lambda row: row.id in may_lead,
        HowOftenRow: is_met,
        BoxKindRow: lambda row: bool(is_open) and question.box_kind in (None, row.id, row.layout),
    }


def _may_lead(judgement: Judgement) -> Sequence[int]:
    """The lubricants that are not refused in every case for what their family is."""
    refused = np.zeros(len(judgement.lubricants), bool)
    for column in judgement.judged.columns_with(EXCLUDES):
        if not column.rule.speaks_of_grade:
            refused |= np.all(column.effect == EXCLUDES, axis=tuple(range(column.effect.ndim - 1)))
    found: list[int] = np.nonzero(~refused)[0].tolist()
    return found


def leaders_drawn(judgement: Judgement, figures: tuple[DrawnFigure, ...], places: Floats) -> Leaders:
    """Who leads in each draw; what nobody draws, custom above all, is taken over from the judgement."""
    parts = (places[start : start + DRAWS_AT_ONCE] for start in range(0, len(places), DRAWS_AT_ONCE))
    return [leader for part in parts for leader in _leaders(judgement, figures, part)]


def _leaders(judgement: Judgement, figures: tuple[DrawnFigure, ...], places: Floats) -> Leaders:
    draws = len(places)
    values = [figure.at(of) for figure, of in zip(figures, places.T, strict=True)]
    cases = DrawnCases.under(judgement.cases, _knowledge(judgement.base, figures, values), draws)
    ready = prepared(judgement.base)
    ready = replace(ready, classes=_classes(ready.classes, figures, values, draws))
    judged = Judged(BoxColumns(cases, ready.classes, ready), judgement.judged)
    ranking = Ranking(judged, judgement.region, judgement.ranking)
    leads = DrawnRanking(ranking, cases, draws).leads()
    return [
        None if lead.leader is None or lead.outcome not in LEADS else judgement.lubricants[lead.leader].id
        for lead in leads
    ]


def _knowledge(base: KnowledgeBase, figures: tuple[DrawnFigure, ...], values: Sequence[Floats]) -> KnowledgeBase:
    """The knowledge with the values of all draws for each figure that is drawn; classes are columns and drawn there."""
    rows: dict[int, tuple[DrawnRow, dict[str, Any]]] = {}
    for figure, of in zip(figures, values, strict=True):
        if not isinstance(figure.row, LubricantRow):
            row, changed = rows.setdefault(id(figure.row), (figure.row, {}))
            if figure.entry is None:
                changed[figure.column] = of
            else:
                changed.setdefault(figure.column, dict(getattr(row, figure.column)))[figure.entry] = of
    return base.with_rows({of_row: row.model_copy(update=changed) for of_row, (row, changed) in rows.items()})


def _classes(
    classes: LubricantColumns, figures: tuple[DrawnFigure, ...], values: Sequence[Floats], draws: int
) -> LubricantColumns:
    """The classes as columns, a row for each draw of what is drawn of them."""
    place = {oil.id: at for at, oil in enumerate(classes.rows)}
    drawn: dict[str, dict[str, Floats]] = {}
    for figure, of in zip(figures, values, strict=True):
        if isinstance(figure.row, LubricantRow):
            drawn.setdefault(figure.row.id, {})[figure.column] = of
    long_sump_c, cold_limit_c = (np.tile(of, (draws, 1)) for of in (classes.long_sump_c, classes.cold_limit_c))
    lines = np.repeat(np.stack((classes.fresh.intercepts_a, classes.fresh.slopes_b))[:, None], draws, axis=1)
    for id, of_class in drawn.items():
        at = place[id]
        long_sump_c[:, at] = of_class.get("long_sump_c", long_sump_c[:, at])
        cold_limit_c[:, at] = of_class.get("cold_limit_c", cold_limit_c[:, at])
        lines[:, :, at] = _lines(classes.rows[at], of_class, draws)
    fresh = Lines(*lines)
    return replace(classes, fresh=fresh, once_sheared=fresh, long_sump_c=long_sump_c, cold_limit_c=cold_limit_c)


def _lines(oil: Lubricant, drawn: Mapping[str, Floats], draws: int) -> Floats:
    """Both parts of the lines at its corners, by draws and corners."""
    edges = [
        drawn.get(name, np.full(draws, getattr(oil, name))) for name in ("viscosity_index_min", "viscosity_index_max")
    ]
    corners = [
        oil.lines(kv100_mm2_s=kv100, viscosity_indices=indices) for kv100 in oil.kv100_band_mm2_s for indices in edges
    ]
    return np.stack(corners, axis=-1)
