"""Rules about the hard shift that goes with a duty: grip that is left, and heat at the face of the ring."""

from collections.abc import Sequence

import numpy as np

from knowledge.box.axes import DUTY, RINGS
from knowledge.box.facts import SizedRing
from knowledge.judging.box_columns import BoxColumns
from knowledge.judging.column_rule import Decision, FigureColumn, column_rule, first_of
from knowledge.judging.spot import Spot
from knowledge.lubricant import Lubricant
from knowledge.parts.provenance import LimitUsed, Standing, weakest


def _least_reserve_ring(spot: Spot) -> SizedRing:
    """The ring that this lubricant leaves the least friction over its need."""
    reserves, family = spot.x.ring_loads.reserves, spot.lubricant.family.id

    def left(ring: SizedRing) -> float:
        return float(reserves[ring] * spot.base.friction_by_fluid[ring.facing, family].dynamic_factor)

    rings: tuple[SizedRing, ...] = spot.value("sized_rings")
    return min(rings, key=left)


def _reserve_figures(x: BoxColumns) -> Sequence[FigureColumn]:
    facings = {ring.facing for sized in x.cases.values("sized_rings") for ring in sized}
    frictions = (row.standing for row in x.base.friction if row.chosen and row.facing in facings)
    of_rings = weakest(x.assumed_standing("ring_geometry"), *frictions)

    def rests_on(oil: Lubricant) -> Standing:
        return weakest(of_rings, *(x.base.friction_by_fluid[facing, oil.family.id].standing for facing in facings))

    return (FigureColumn("blocking_reserve", (x.blocking_reserve,) * 2, "1", rests_on),)


@column_rule(
    ("socin-walters-1968", "cone torque against index torque"),
    ("fillwright-judgement", "friction by fluid and facing"),
    reads=("sized_rings",),
    settled_by="label/family",
    words={
        "blocking_ring": lambda spot: spot.base.facings[_least_reserve_ring(spot).facing].words,
        "reserve": lambda spot: f"{spot.number(spot.x.blocking_reserve):.2f}",
    },
    figures=_reserve_figures,
)
def fluid_must_leave_rings_their_blocking_reserve(x: BoxColumns) -> Decision:
    """A fluid must leave each ring more friction than it needs to block until speeds match.

    Because below that the sleeve gets past the ring too early and it grinds, however sound the ring is. How far
    a family lowers friction is our judgement, so this is told and decides nothing.
    """
    return first_of((~x.has_rings_by_size, "no-rings"), (x.blocking_reserve < 1, "may-not-block"), otherwise="blocks")


def _hottest(spot: Spot) -> tuple[float, float, str, Standing]:
    """Peak at the face, what it stands, the ring in words, and the weakest standing behind the peak."""
    rings, pairs = (len(spot.x.cases.values(fact)) for fact in ("sized_rings", "duty_and_sump"))
    place = (spot.case[RINGS] if rings > 1 else 0, spot.case[DUTY] if pairs > 1 else 0)
    peak, limit, ring, heat = spot.x.face_heat[2][place]
    return peak, limit, spot.base.facings[ring.facing].words, heat.standing


def _shown_c(peak_c: float, limit_c: float) -> str:
    """A peak in the two digits that it can bear, or as many as it takes to stay on its side of the limit."""
    rounded = float(f"{peak_c:.2g}")
    return f"{rounded if (rounded > limit_c) == (peak_c > limit_c) else peak_c:.0f}"


def _face_limit(spot: Spot) -> tuple[LimitUsed, ...]:
    facings = dict.fromkeys(ring.facing for sized in spot.x.cases.values("sized_rings") for ring in sized)
    rows = (row for row in spot.base.facing_limits if row.facing in facings and row.chosen)
    return tuple(
        LimitUsed(id=f"{row.facing}.{row.quantity}", value=row.value, unit=row.unit, standing=row.standing)
        for row in rows
        if row.quantity == "interface_temperature_c"
    )


def _heat_figures(x: BoxColumns) -> Sequence[FigureColumn]:
    peaks, _, hottest = x.face_heat
    finite = np.where(np.isinf(peaks), np.nan, peaks)
    standing = weakest(x.sump_standing, *(heat.standing for _, _, _, heat in hottest.values()))
    return (FigureColumn("interface_peak_c", (finite, finite), "°C", lambda _: standing),)


@column_rule(
    ("newcomb-1961", "linearly falling heat flux"),
    ("carslaw-jaeger-1959", "heat shared by two bodies"),
    ("fillwright-judgement", "hard shift of a duty; limits of the facing"),
    reads=("sized_rings", "duty_and_sump"),
    words={
        "hottest_ring": lambda spot: _hottest(spot)[2],
        "face_peak": lambda spot: (
            f"In hard shifts the face of the {_hottest(spot)[2]} ring reaches about {_shown_c(*_hottest(spot)[:2])} °C"
        ),
        "face_limit": lambda spot: f"{_hottest(spot)[1]:.0f}",
    },
    limits=_face_limit,
    figures=_heat_figures,
)
def hard_shifts_must_not_overheat_the_facing(x: BoxColumns) -> Decision:
    """The hard shifts of a duty must not heat the face of a ring beyond what it stands.

    Because heat, and neither energy nor power alone, is what glazes, chars or scuffs a facing. A fluid that
    suits it is no cure; fewer or gentler shifts, more cones or another facing are. It speaks of the rings and not of
    the fluid, so this is told and decides nothing.
    """
    peak, limit, _ = x.face_heat
    margin = limit / peak
    return first_of(
        (~x.has_rings_by_size, "no-rings"),
        (np.isinf(peak), "never-in-step"),
        (margin < 1, "too-hot"),
        otherwise="stands-it",
        margin=np.where(np.isinf(peak), np.nan, margin),
    )
