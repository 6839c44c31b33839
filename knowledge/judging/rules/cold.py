"""Rules about the cold side: flow and first shifts at the coldest start and the thick edge of a class."""

from collections.abc import Sequence

import numpy as np

from knowledge.judging.box_columns import BoxColumns
from knowledge.judging.column_rule import Decision, FigureColumn, and_the_oil, column_rule, first_of
from knowledge.judging.spot import Spot
from knowledge.parts.provenance import LimitUsed, weakest
from knowledge.physics.density import COLDEST_C
from knowledge.rings.cold import cold_drag_nm
from knowledge.text import about_duration, in_steps, plain

# Nobody knows the temperature better than a step of five.
LEAST_DOUBT_K = 5.0


def _coldest(spot: Spot) -> str:
    return plain(spot.value("coldest_start_c"))


def _start(spot: Spot) -> str:
    """The start that was stated; of one that was only tried the condition tells."""
    return "" if spot.x.cases.question.coldest_start_c is None else f"; the coldest start is {_coldest(spot)} °C"


def _limit(spot: Spot) -> str:
    return plain(spot.number(spot.x.lubricants.cold_limit_c))


def _too_cold(spot: Spot) -> str:
    return f"colder than {plain(_cold_limit(spot)[0].value)} °C"


def _cold_limit(spot: Spot) -> tuple[LimitUsed, ...]:
    oil = spot.lubricant
    if oil.cold_limit_c is None:
        return (spot.base.quantity("cold-start-caution-below"),)
    return (LimitUsed(id="cold-limit", value=oil.cold_limit_c, unit="°C", standing=oil.standing),)


@column_rule(
    ("sae-j306-201902", "W grades: 150 000 mPa·s"),
    ("astm-d2983-22", "measured, never extrapolated"),
    reads=("coldest_start_c",),
    settled_by="t150_c",
    speaks_of_grade=True,
    words={"start": _start, "cold_limit": _limit, "coldest": _coldest},
    limits=_cold_limit,
    bounds={"coldest_start_c": _too_cold},
)
def cold_start_needs_oil_that_flows(x: BoxColumns) -> Decision:
    """At the coldest start the oil must still flow: its cold limit must lie at or below that temperature.

    Because stiff oil is not thrown to bearings and bushings before they are damaged. The limit is a measured
    one; no extrapolation from warm figures stands in for it.
    """
    cold, limit = x.coldest_start_c, x.lubricants.cold_limit_c
    is_unknown = np.isnan(limit)
    flows = ~is_unknown & (cold >= limit)
    return first_of(
        (flows, "flows"),
        (is_unknown & (cold >= x.limit("cold-start-caution-below")), "not-called-for"),
        (is_unknown, "unknown"),
        otherwise="too-cold",
        margin=np.where(flows, x.lubricants.viscosity_at_cold_limit_mm2_s / x.kv_cold_mm2_s[1], np.nan),
    )


def _first_shift(spot: Spot) -> str:
    """What holds the first shifts up, the film or the drag, whichever weighs more."""
    x, land = spot.x, spot.value("wiping_land")
    time, kv = spot.number(x.wiping_time_s), spot.number(x.typical_kv_cold_mm2_s)
    slow_s, hard_s = x.limit("wiping-time-slow-from"), x.limit("wiping-time-hard-from")
    film = (time > slow_s) + (time > hard_s)
    if (kv > land.drag_slow_from_mm2_s) + (kv > land.drag_hard_from_mm2_s) > film:
        share = cold_drag_nm(spot.base.default("shift", "drag_nm").value, kv, spot.base) / land.grip_nm
        return f"At {_coldest(spot)} °C a downshift has to overcome drag of about {share:.2g} times the rings' grip"
    about = about_duration(time, spot.number(x.wiping_spread), hard_s)
    ring = f"the {land.condition} {spot.base.facings[land.facing].words} ring"
    return f"At {_coldest(spot)} °C {ring} needs {about} to wipe the film"


def _wiping_figures(x: BoxColumns) -> Sequence[FigureColumn]:
    cold, standing = x.cold_start_standing, weakest(x.cold_start_standing, x.land_standing)
    time, spread, is_screening = x.wiping_time_s, x.wiping_spread, x.coldest_start_c < 0
    thin, thick = (np.where(np.isnan(time), np.nan, edge) for edge in x.kv_cold_mm2_s)
    return (
        FigureColumn("kv_cold_mm2_s", (thin, thick), "mm²/s", and_the_oil(cold), is_screening),
        FigureColumn("wiping_time_s", (time / spread, time * spread), "s", and_the_oil(standing), is_screening),
    )


FILM = (
    ("paffoni-2000", "abstract: grooves drain the film"),
    ("cameron-1966", "squeeze film of a strip"),
    ("shah-london-1978", "triangular and rectangular ducts"),
    ("prakash-vij-1973", "porous walls"),
    ("abdel-halim-2000", "abstract: several cones clear cold oil worse"),
    ("igf-16458", "abstract: drag goes with operating viscosity"),
    ("fillwright-judgement", "land sizes, steps of the first shifts, spread of the wiping time"),
)


@column_rule(
    *FILM,
    reads=("wiping_land", "coldest_start_c"),
    settled_by="kv40_mm2_s",
    speaks_of_grade=True,
    words={"coldest": _coldest, "first_shift": _first_shift},
    limits=("wiping-time-slow-from", "wiping-time-hard-from", "drag-share-slow-from", "drag-share-hard-from"),
    figures=_wiping_figures,
)
def cold_first_shifts_need_the_film_wiped(x: BoxColumns) -> Decision:
    """Cold, thick oil must be wiped from between ring and cone before the ring grips, and its drag overcome.

    Because until the film is gone the ring cannot turn or hold the gear, and on a downshift drag works against its
    grip. This is a nuisance that passes as the oil warms, so it is told in three steps and speaks against no oil. The
    typical oil of a lubricant is judged; shifts are surely hard where they are so at the easy end of the spread too.
    """
    time, kv = x.wiping_time_s, x.typical_kv_cold_mm2_s
    hard_s, is_lost = x.limit("wiping-time-hard-from"), x.has_wiping_ring & np.isnan(time)
    reserve = np.fmin(hard_s / time, x.of_land("drag_hard_from_mm2_s") / kv)
    return first_of(
        (~x.has_wiping_ring, "no-rings"),
        (is_lost, "not-computable"),
        (time > hard_s * x.wiping_spread, "surely-hard"),
        (reserve < 1, "hard"),
        ((time > x.limit("wiping-time-slow-from")) | (kv > x.of_land("drag_slow_from_mm2_s")), "slow"),
        otherwise="free",
        tie_break=np.where(is_lost, 0.0, reserve),
    )


def _freely_above(spot: Spot) -> str:
    land = spot.x.wiping_lands.index(spot.value("wiping_land"))
    low, middle, high = (float(part[land, spot.index]) for part in spot.x.free_from_c)
    if middle <= COLDEST_C:
        return f"even below {plain(COLDEST_C)} °C"
    return f"above about {in_steps(middle)} °C, give or take {in_steps(max(0.5 * (high - low), LEAST_DOUBT_K))} °C"


def _free_figures(x: BoxColumns) -> Sequence[FigureColumn]:
    if not x.wiping_lands:
        return ()
    low, _, high = x.free_from_c
    standing = weakest(x.land_standing, x.base.quantity("wiping-time-slow-from").standing)
    return (FigureColumn("shifts_freely_above_c", (low, high), "°C", and_the_oil(standing), low < 0),)


@column_rule(
    *FILM,
    reads=("wiping_land",),
    speaks_of_grade=True,
    words={"freely_above": _freely_above},
    figures=_free_figures,
    limits=("wiping-time-slow-from", "drag-share-slow-from"),
)
def first_shifts_come_freely_once_warm_enough(x: BoxColumns) -> Decision:
    """Above some temperature the first shift comes freely: the film is wiped and the drag overcome in good time.

    Because viscosity falls steeply with warmth, one temperature divides slow from free for each ring and oil.
    """
    ease = -x.of_land("wiping_s_per_mpa_s")
    return first_of((~x.has_wiping_ring, "no-rings"), otherwise="freely-above", tie_break=ease)
