"""From which oil temperature on first shifts come freely: many lands with many lubricants at once."""

from collections.abc import Sequence
from functools import lru_cache

import numpy as np

from knowledge.base import KnowledgeBase
from knowledge.box.mating import WipingLand
from knowledge.judging.columns import TRIED_C, Floats, LubricantColumns, charted
from knowledge.judging.prepared import prepared


def free_temperatures_c(
    lubricants: LubricantColumns, lands: Sequence[WipingLand], base: KnowledgeBase
) -> tuple[Floats, Floats, Floats]:
    """At the easy end of the spread, in its middle and at its end, each of shape (lands, lubricants).

    The film is wiped and the drag overcome in good time. The end of what can be computed stands for anything beyond.
    """
    over, slow_s = lubricants.over_temperature, base.limit("wiping-time-slow-from")
    wiped_mpa_s = np.array([[slow_s / land.wiping_s_per_mpa_s] for land in lands])
    drag_mm2_s = np.array([[land.drag_slow_from_mm2_s] for land in lands])

    def at(factor: Floats | float) -> Floats:
        wiped_c = _falls_to_c(over.charted_mpa_s, charted(factor * wiped_mpa_s))
        return np.maximum(wiped_c, _falls_to_c(over.charted_mm2_s, charted(factor * drag_mm2_s)))

    middle_c = at(1.0)
    nearest = np.rint((middle_c - TRIED_C[0]) / (TRIED_C[1] - TRIED_C[0])).astype(int)
    of_oil = over.log_spread[nearest, np.arange(lubricants.size)]
    spread = np.exp(np.hypot(np.log([[land.spread] for land in lands]), of_oil))
    return at(spread), middle_c, at(1.0 / spread)


@lru_cache(maxsize=64)
def free_temperatures_of_classes_c(lands: tuple[WipingLand, ...], base: KnowledgeBase) -> tuple[Floats, Floats, Floats]:
    """Those of the classes: kept, since most rings are of a size that is assumed."""
    return free_temperatures_c(prepared(base).classes, lands, base)


def _falls_to_c(falling: Floats, sought: Floats) -> Floats:
    """Where charted viscosities fall to those sought, which are of shape (lands, lubricants or 1)."""
    # There are fewer temperatures than a byte counts.
    after = np.clip((falling[:, None] > sought).sum(axis=0, dtype=np.uint8), 1, len(TRIED_C) - 1).astype(np.intp)
    oils = np.arange(falling.shape[1])
    above, below = falling[after - 1, oils], falling[after, oils]
    share = np.clip((above - sought) / (above - below), 0.0, 1.0)
    return TRIED_C[after - 1] + share * (TRIED_C[after] - TRIED_C[after - 1])
