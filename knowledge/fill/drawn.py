"""Figures drawn at random within their spread, and the knowledge as it would be with them."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from types import MappingProxyType

import numpy as np

from knowledge.base import KnowledgeBase
from knowledge.box.ring_loads import RingLoads
from knowledge.judging.columns import Floats
from knowledge.judging.judgement import Judgement
from knowledge.judging.prepared import Prepared
from knowledge.loading.cells import AnyRow
from knowledge.loading.schema import DrawnRow
from knowledge.parts.provenance import Standing

# What a source prints is not drawn.
UNPROVEN: frozenset[Standing] = frozenset({"judgement", "from-memory", "common-practice"})
LONG_SUMP = "/long_sump_c"
SUMP = "/sump_hot_c"
FACE = "interface_temperature_c"


@dataclass(frozen=True, slots=True)
class DrawnFigure:
    """A figure that may be drawn, how far off it may be and in what way."""

    id: str
    value: float
    spread: float
    is_factor: bool

    def at(self, places: Floats) -> Floats:
        """Its values from places between -1, the least that it may be, and 1, the most."""
        return self.value * self.spread**places if self.is_factor else self.value + self.spread * places


def figures_for(judgement: Judgement) -> tuple[DrawnFigure, ...]:
    """The figures that may be drawn and bear on a box: of what is in it, assumed of it, or may lead."""
    return tuple(_figures(judgement))


def _figures(judgement: Judgement) -> Iterator[DrawnFigure]:
    cases, base = judgement.cases, judgement.base
    for threshold in base.thresholds.values():
        yield from _figure(threshold.id, threshold.value, threshold)
    for row in base.defaults:
        given = getattr(cases.question, row.part, None)
        if given is None or getattr(given, row.quantity, 0) is None:
            yield from _figure(f"{row.part}/{row.quantity}", row.value, row)
    facings = {facing for of in cases.values("facings") for facing in of}
    for limit in base.facing_limits:
        if limit.chosen and limit.facing in facings and limit.quantity == FACE:
            yield from _figure(f"{limit.facing}/{limit.quantity}", limit.value, limit)
    if cases.question.sump_hot_c is None:
        for duty, _ in cases.values("duty_and_sump"):
            yield from _figure(f"{duty}{SUMP}", base.duties[duty].sump_hot_c, base.duties[duty])
        return
    # Only a stated sump weighs what a class bears for long.
    may_lead = np.nonzero(~np.all(judgement.ranking.refused, axis=0))[0].tolist()
    for oil in (judgement.lubricants[at] for at in may_lead):
        yield from _figure(f"{oil.id}{LONG_SUMP}", oil.long_sump_c, base.lubricant_rows[oil.id])


def _figure(id: str, value: float, row: DrawnRow) -> Iterator[DrawnFigure]:
    if row.spread is not None and row.standing in UNPROVEN:
        yield DrawnFigure(id, value, row.spread, row.distribution == "times")


def base_with(base: KnowledgeBase, drawn: Mapping[str, float]) -> KnowledgeBase:
    """The knowledge with other figures; what a class bears for long is a column (`prepared_with`)."""

    def with_value(id: str, row: AnyRow, name: str = "value") -> AnyRow:
        return row.model_copy(update={name: drawn[id]}) if id in drawn else row

    return replace(
        base,
        thresholds=MappingProxyType({id: with_value(id, row) for id, row in base.thresholds.items()}),
        defaults=tuple(with_value(f"{row.part}/{row.quantity}", row) for row in base.defaults),
        facing_limits=tuple(
            with_value(f"{row.facing}/{row.quantity}", row) if row.chosen else row for row in base.facing_limits
        ),
        duties=MappingProxyType({id: with_value(f"{id}{SUMP}", row, SUMP[1:]) for id, row in base.duties.items()}),
    )


def prepared_with(ready: Prepared, base: KnowledgeBase, drawn: Mapping[str, float]) -> Prepared:
    """What judging needs of such knowledge; the heat of shifts is that of the figures that are not drawn."""
    heats = {
        (ring, duty): replace(heat, limit_c=drawn.get(f"{ring.facing}/{FACE}", heat.limit_c))
        for (ring, duty), heat in ready.loads.heats.items()
    }
    bears_c = np.array([drawn.get(f"{row.id}{LONG_SUMP}", row.long_sump_c) for row in ready.classes.rows])
    return replace(
        ready,
        base=base,
        classes=replace(ready.classes, long_sump_c=bears_c),
        loads=RingLoads(ready.loads.reserves, heats),
    )
