"""Rules about the cold side: flow and first shifts at the coldest start and the thick edge of a class."""

from collections.abc import Sequence

import numpy as np

from knowledge.base import Quantity
from knowledge.box.axes import RINGS
from knowledge.box.mating import WipingLand
from knowledge.judging.box_columns import BoxColumns, on_axis
from knowledge.judging.column_rule import Decision, FigureColumn, column_rule, first_of
from knowledge.judging.spot import Spot
from knowledge.parts.provenance import Standing, weakest
from knowledge.physics.density import COLDEST_C, temperature_at_dynamic_viscosity_c
from knowledge.physics.limits import OutOfRange
from knowledge.physics.viscosity import ViscosityLine
from knowledge.text import digits, duration, plain


def _coldest(spot: Spot) -> str:
    return plain(spot.value("coldest_start_c"))


def _cold_limit(spot: Spot) -> tuple[Quantity, ...]:
    oil = spot.lubricant
    if oil.cold_limit_c is None:
        return (spot.base.quantity("cold-start-caution-below"),)
    return (Quantity("cold-limit", oil.cold_limit_c, "°C", "sae-j306-201902", oil.standing),)


@column_rule(
    ("sae-j306-201902", "W grades: 150 000 mPa·s"),
    ("astm-d2983-22", "measured, never extrapolated"),
    reads=("coldest_start_c",),
    settled_by="t150_c",
    speaks_of_grade=True,
    words={"coldest": _coldest, "cold_limit": lambda spot: plain(spot.number(spot.x.lubricants.cold_limit_c))},
    limits=_cold_limit,
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


def _wiping(spot: Spot) -> str:
    land = spot.value("wiping_land")
    fast, slow = (spot.number(time) for time in spot.x.wiping_time_s)
    ring = f"the {land.condition} {spot.base.facings[land.facing].words} ring"
    return f"At {_coldest(spot)} °C {ring} needs about {duration(fast, slow)} to wipe the film"


def _cold_standing(spot: Spot) -> Standing:
    return weakest(spot.lubricant.standing, spot.x.cold_start_standing)


def _land_standing(spot: Spot) -> Standing:
    lands = (land for land in spot.x.cases.values("wiping_land") if land)
    rows = (spot.base.ring_lands[land.facing, land.condition].standing for land in lands)
    return weakest(spot.lubricant.standing, spot.x.assumed_standing("ring_geometry"), *rows)


def _wiping_standing(spot: Spot) -> Standing:
    return weakest(_cold_standing(spot), _land_standing(spot))


def _wiping_figures(spot: Spot) -> Sequence[FigureColumn]:
    x, standing = spot.x, _wiping_standing(spot)
    is_computed, is_screening = ~np.isnan(x.wiping_time_s[1]), x.coldest_start_c < 0
    (thin, thick), (fast, slow), usual = x.kv_cold_mm2_s, x.wiping_time_s, x.usual_wiping_time_s
    viscosities = np.where(is_computed, thin, np.nan), np.where(is_computed, thick, np.nan)
    return (
        FigureColumn("kv_cold_mm2_s", viscosities, "mm²/s", _cold_standing(spot), is_screening),
        FigureColumn("wiping_time_s", (fast, slow), "s", standing, is_screening),
        FigureColumn("wiping_time_ratio", (fast / usual, slow / usual), "1", standing, is_screening),
    )


@column_rule(
    ("cameron-1966", "squeeze film of a strip"),
    ("booker-1983", "squeeze films"),
    ("fillwright-judgement", "land sizes, time bands"),
    reads=("wiping_land", "coldest_start_c"),
    sets_comfort_margin=True,
    settled_by="kv40_mm2_s",
    speaks_of_grade=True,
    words={"coldest": _coldest, "wiping": _wiping},
    limits=("wiping-time-noticed-from", "wiping-time-baulk-from"),
    figures=_wiping_figures,
)
def cold_first_shifts_need_the_film_wiped(x: BoxColumns) -> Decision:
    """Cold, thick oil must be wiped from between ring and cone before the ring grips.

    Because until the film is gone the ring cannot turn or hold the gear; the first shifts are then stiff or
    grate. This is a nuisance that passes as the oil warms, so it warns and never refuses.
    """
    slow = x.wiping_time_s[1]
    is_lost = x.has_wiping_ring & np.isnan(x.viscosity_cold_mpa_s[1])
    margin = x.limit("wiping-time-baulk-from") / slow
    return first_of(
        (~x.has_wiping_ring, "no-rings"),
        (is_lost, "not-computable"),
        (margin < 1, "stiff"),
        (slow > x.limit("wiping-time-noticed-from"), "noticeable"),
        otherwise="free",
        margin=np.where(is_lost, 0.0, margin),
    )


def _free_temperatures_c(spot: Spot, land: WipingLand | None) -> tuple[float, float]:
    """From which temperature on first shifts come freely, for the thinnest and the thickest oil of the lubricant."""
    if land is None:
        return np.nan, np.nan
    viscosity = spot.x.limit("wiping-time-baulk-from") / land.wiping_s_per_mpa_s
    oil = spot.lubricant
    thin, thick = (_temperature_c(line, oil.density15_kg_m3, viscosity) for line in oil.cold_lines)
    return min(thin, thick), max(thin, thick)


def _temperature_c(line: ViscosityLine, density15_kg_m3: float, dynamic_viscosity_mpa_s: float) -> float:
    """Where an oil has a viscosity; the end of what can be computed stands for anything beyond it."""
    try:
        return temperature_at_dynamic_viscosity_c(
            line=line, density15_kg_m3=density15_kg_m3, dynamic_viscosity_mpa_s=dynamic_viscosity_mpa_s
        )
    except OutOfRange as beyond:
        return min(max(beyond.value, beyond.low, COLDEST_C), beyond.high)


def _free_figures(spot: Spot) -> Sequence[FigureColumn]:
    found = [_free_temperatures_c(spot, land) for land in spot.x.cases.values("wiping_land")]
    low, high = (on_axis([[ends[end]] for ends in found], RINGS) for end in (0, 1))
    standing = weakest(_land_standing(spot), spot.base.quantity("wiping-time-baulk-from").standing)
    return (FigureColumn("shifts_freely_above_c", (low, high), "°C", standing, np.asarray(low) < 0),)


@column_rule(
    ("cameron-1966", "squeeze film of a strip"),
    ("booker-1983", "squeeze films"),
    ("fillwright-judgement", "land sizes, time bands"),
    reads=("wiping_land",),
    speaks_of_grade=True,
    words={"freely_above": lambda spot: digits(round(_free_temperatures_c(spot, spot.value("wiping_land"))[1]))},
    figures=_free_figures,
    limits=("wiping-time-baulk-from",),
)
def first_shifts_come_freely_once_warm_enough(x: BoxColumns) -> Decision:
    """Above some temperature the first shift comes freely: where the film is wiped within the time for a baulk.

    Because viscosity falls steeply with warmth, one temperature divides stiff from free for each ring and oil.
    """
    return first_of((~x.has_wiping_ring, "no-rings"), otherwise="freely-above", tie_break=-x.wiping_s_per_mpa_s)
