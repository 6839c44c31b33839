"""Rules about the cold side: flow and first shifts at the coldest start and the thick edge of a class."""

from functools import lru_cache

from knowledge.base import KnowledgeBase
from knowledge.box.mating import ColdWiping, WipingLand
from knowledge.lubricant import Lubricant
from knowledge.parts.provenance import Standing, weakest
from knowledge.physics.density import COLDEST_C, temperature_at_dynamic_viscosity_c
from knowledge.physics.limits import OutOfRange
from knowledge.physics.viscosity import ViscosityLine, is_screening
from knowledge.rule import Measured, RuleOutcome, cautions, excludes, no_data, not_concerned, rule, supports
from knowledge.text import digits, duration, plain


@rule(
    ("sae-j306-201902", "W grades: 150 000 mPa·s"),
    ("astm-d2983-22", "measured, never extrapolated"),
    settled_by="t150_c",
)
def cold_start_needs_oil_that_flows(*, coldest_start_c: float, oil: Lubricant, base: KnowledgeBase) -> RuleOutcome:
    """At the coldest start the oil must still flow: its cold limit must lie at or below that temperature.

    Because stiff oil is not thrown to bearings and bushings before they are damaged. The limit is a measured
    one; no extrapolation from warm figures stands in for it.
    """
    if oil.cold_limit_c is None and coldest_start_c >= base.limit("cold-start-caution-below"):
        return supports(f"Its cold limit is not known, and at {plain(coldest_start_c)} °C none is called for.")
    if oil.cold_limit_c is None:
        return no_data("Its cold limit is not known: ask the data sheet for a measured cold viscosity.")
    if coldest_start_c < oil.cold_limit_c:
        return excludes(
            f"Made to flow down to {plain(oil.cold_limit_c)} °C only; the coldest start is {plain(coldest_start_c)} °C."
        )
    return supports(f"Made to flow down to {plain(oil.cold_limit_c)} °C.", margin=_flow_margin(coldest_start_c, oil))


@rule(
    ("cameron-1966", "squeeze film of a strip"),
    ("booker-1983", "squeeze films"),
    ("fillwright-judgement", "land sizes, time bands"),
    sets_comfort_margin=True,
    settled_by="kv40_mm2_s",
)
def cold_first_shifts_need_the_film_wiped(
    *, cold_wiping: ColdWiping | None, coldest_start_rests_on: Standing, oil: Lubricant, base: KnowledgeBase
) -> RuleOutcome:
    """Cold, thick oil must be wiped from between ring and cone before the ring grips.

    Because until the film is gone the ring cannot turn or hold the gear; the first shifts are then stiff or
    grate. This is a nuisance that passes as the oil warms, so it warns and never refuses.
    """
    if cold_wiping is None:
        return not_concerned("There is no ring that has to wipe oil away.")
    coldest_start_c, usual_s = cold_wiping.coldest_start_c, cold_wiping.usual_wiping_s
    wiping_land = cold_wiping.land
    try:
        low, high = oil.dynamic_viscosity_span_mpa_s(coldest_start_c)
    except OutOfRange:
        return cautions(
            f"At {plain(coldest_start_c)} °C it is thicker than can be computed: expect no first shift.", margin=0
        )
    fast, slow = low * wiping_land.wiping_s_per_mpa_s, high * wiping_land.wiping_s_per_mpa_s
    cold = is_screening(temperature_c=coldest_start_c)
    kinematic = oil.viscosity_span_mm2_s(coldest_start_c)
    figures = (
        Measured("kv_cold_mm2_s", *kinematic, "mm²/s", weakest(oil.standing, coldest_start_rests_on), cold),
        Measured("wiping_time_s", fast, slow, "s", "judgement", cold),
        Measured("wiping_time_ratio", fast / usual_s, slow / usual_s, "1", "judgement", cold),
    )
    at = (
        f"At {plain(coldest_start_c)} °C the {wiping_land.condition} {base.facings[wiping_land.facing].words} ring "
        f"needs about {duration(fast, slow)} to wipe the film"
    )
    margin = base.limit("wiping-time-baulk-from") / slow
    if margin < 1:
        return cautions(
            f"{at}: expect stiff first shifts until it warms.", severity="note", figures=figures, margin=margin
        )
    if slow > base.limit("wiping-time-noticed-from"):
        return supports(f"{at}: noticeable, not stiff.", figures=figures, margin=margin)
    return supports(f"{at}: hardly noticed.", figures=figures, margin=margin)


@rule(
    ("cameron-1966", "squeeze film of a strip"),
    ("booker-1983", "squeeze films"),
    ("fillwright-judgement", "land sizes, time bands"),
)
def first_shifts_come_freely_once_warm_enough(
    *, wiping_land: WipingLand | None, oil: Lubricant, base: KnowledgeBase
) -> RuleOutcome:
    """Above some temperature the first shift comes freely: where the film is wiped within the time for a baulk.

    Because viscosity falls steeply with warmth, one temperature divides stiff from free for each ring and oil.
    """
    if wiping_land is None:
        return not_concerned("There is no ring that has to wipe oil away.")
    viscosity = base.limit("wiping-time-baulk-from") / wiping_land.wiping_s_per_mpa_s
    low, high = sorted(_temperature_c(line, oil.density15_kg_m3, viscosity) for line in oil.cold_lines)
    figure = Measured("shifts_freely_above_c", low, high, "°C", "judgement", is_screening(temperature_c=low))
    return supports(
        f"First shifts come freely above about {digits(round(high))} °C.", figures=(figure,), tie_break=-high
    )


def _flow_margin(coldest_start_c: float, oil: Lubricant) -> float | None:
    """How much thinner the oil is at the coldest start than at its limit, by the slope of its own curve."""
    try:
        return oil.viscosity_span_mm2_s(oil.cold_limit_c)[1] / oil.viscosity_span_mm2_s(coldest_start_c)[1]
    except OutOfRange:
        return None


@lru_cache(maxsize=20_000)
def _temperature_c(line: ViscosityLine, density15_kg_m3: float, dynamic_viscosity_mpa_s: float) -> float:
    """Where an oil has a viscosity; the end of what can be computed stands for anything beyond it.

    The usual rings ask for the same few viscosities of every class, hence the cache.
    """
    try:
        return temperature_at_dynamic_viscosity_c(
            line=line, density15_kg_m3=density15_kg_m3, dynamic_viscosity_mpa_s=dynamic_viscosity_mpa_s
        )
    except OutOfRange as beyond:
        return min(max(beyond.value, beyond.low, COLDEST_C), beyond.high)
