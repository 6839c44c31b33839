"""What judging needs of the knowledge whatever is asked, worked out once for each edition."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from knowledge.base import KnowledgeBase
from knowledge.box.cases import Cases
from knowledge.box.facts import SizedRing, cone_shape
from knowledge.box.ring_loads import RingLoads, ring_loads
from knowledge.judging.columns import Floats, LubricantColumns
from knowledge.loading.facing_rows import NO_RINGS
from knowledge.parts.ranges import MOST_CONES


@dataclass(frozen=True, slots=True, eq=False)
class Prepared:
    """The classes as columns, and the figures of rings of assumed size."""

    base: KnowledgeBase
    classes: LubricantColumns
    place_of_facing: Mapping[str, int]
    friction_left: Mapping[str, Floats]
    loads: RingLoads

    def loads_for(self, cases: Cases) -> RingLoads:
        """The loads of the rings of some cases: looked up where their size is assumed, else worked out."""
        if cases.question.ring_geometry is None:
            return self.loads
        rings = {ring for sized in cases.values("sized_rings") for ring in sized}
        duties = {duty for duty, _ in cases.values("duty_and_sump")}
        return ring_loads(rings, duties, cone_shape(cases.question.ring_geometry, self.base), self.base)


@lru_cache(maxsize=2)
def prepared(base: KnowledgeBase) -> Prepared:
    """What judging needs of this knowledge; kept, since every answer needs it."""
    return Prepared(
        base=base,
        classes=LubricantColumns.of(base.lubricants, base),
        place_of_facing={facing: place for place, facing in enumerate((NO_RINGS, *base.facings))},
        friction_left={
            facing: np.array([base.friction_by_fluid[facing, family].dynamic_factor for family in base.families])
            for facing in base.facings
        },
        loads=ring_loads(_every_ring(base), base.duties, cone_shape(None, base), base),
    )


def _every_ring(base: KnowledgeBase) -> Iterable[SizedRing]:
    return (SizedRing(facing, cones) for facing in base.facings for cones in range(1, MOST_CONES + 1))
