"""Rules about the cold side: flow and first shifts at the coldest start and the thick edge of a class."""

from knowledge.answers import weakest
from knowledge.base import KnowledgeBase
from knowledge.facts import Land
from knowledge.oils import Oil
from knowledge.physics.density import temperature_at_dynamic_viscosity_c
from knowledge.physics.limits import OutOfRange
from knowledge.physics.viscosity import ViscosityLine, is_screening
from knowledge.physics.wiping import land_pressure_n_mm2, wiping_time_s
from knowledge.questions import RingGeometry
from knowledge.rows import RingLandRow
from knowledge.rules.rule import Measured, Said, cautions, excludes, no_data, rule, supports


@rule(("sae-j306-201902", "W grades: 150 000 mPa·s"), ("astm-d2983-22", "measured, never extrapolated"))
def cold_start_needs_oil_that_flows(*, coldest_start_c: float, oil: Oil, base: KnowledgeBase) -> Said:
    """At the coldest start the oil must still flow: its cold limit must lie at or below that temperature.

    Because stiff oil is not thrown to bearings and bushings before they are damaged. The limit is a measured
    one; no extrapolation from warm figures stands in for it.
    """
    if oil.cold_limit_c is None:
        return no_data("Its cold limit is not known: ask the data sheet for a measured cold viscosity.")
    if coldest_start_c < oil.cold_limit_c:
        return excludes(
            f"Made to flow down to {oil.cold_limit_c:g} °C only; the coldest start is {coldest_start_c:g} °C."
        )
    return supports(f"Made to flow down to {oil.cold_limit_c:g} °C.")


@rule(
    ("booker-1983", "squeeze film of a strip"),
    ("fillwright-judgement", "land sizes, time bands"),
    ("abdel-halim-2000", "abstract: several cones clear cold oil badly"),
    sets_margin=True,
)
def cold_first_shifts_need_the_film_wiped(
    *, lands: tuple[Land, ...], cones: int, coldest_start_c: float, ring_geometry: RingGeometry, oil: Oil, base: KnowledgeBase
) -> Said:
    """Cold, thick oil must be wiped from between ring and cone before the ring grips.

    Because until the film is gone the ring cannot turn or hold the gear; the first shifts are then stiff or
    grate. This is a nuisance that passes as the oil warms, so it warns and never refuses.
    """
    if not lands:
        return supports("There is no ring that has to wipe oil away.")
    try:
        low, high = oil.dynamic_viscosity_span_mpa_s(coldest_start_c)
    except OutOfRange:
        return cautions(f"At {coldest_start_c:g} °C it is thicker than can be computed: expect no first shift.")
    slowest, row = max(
        ((wiping_s_per_mpa_s(row, ring_geometry), row) for row in map(base.ring_lands.__getitem__, lands)),
        key=lambda pair: pair[0],
    )
    reference = _reference_time_s(row, ring_geometry, coldest_start_c, base)
    cold = is_screening(temperature_c=coldest_start_c)
    figures = (
        Measured("kv_cold_mm2_s", *oil.viscosity_span_mm2_s(coldest_start_c), "mm²/s", weakest(oil.standing, "standard"), cold),
        Measured("wiping_time_s", low * slowest, high * slowest, "s", "judgement", cold),
        Measured("wiping_time_ratio", low * slowest / reference, high * slowest / reference, "1", "judgement", cold),
    )
    limit = base.limit("wiping-time-baulk-from")
    ms = f"{1000 * low * slowest:.0f} to {1000 * high * slowest:.0f} ms"
    at = f"At {coldest_start_c:g} °C the {row.condition} {row.facing} ring needs about {ms} to wipe the film"
    margin = limit / (high * slowest)
    if margin < 1:
        several = " Several cones clear cold oil more slowly still." if cones > 1 else ""
        return cautions(
            f"{at}: expect stiff first shifts until it warms.{several}", severity="note", figures=figures, margin=margin
        )
    if high * slowest > base.limit("wiping-time-noticed-from"):
        return supports(f"{at}: noticeable, not stiff.", figures=figures, margin=margin)
    return supports(f"{at}: hardly noticed.", figures=figures, margin=margin)


@rule(("booker-1983", "squeeze film of a strip"), ("fillwright-judgement", "land sizes, time bands"))
def first_shifts_come_freely_once_warm_enough(
    *, lands: tuple[Land, ...], ring_geometry: RingGeometry, oil: Oil, base: KnowledgeBase
) -> Said:
    """Above some temperature the first shift comes freely: where the film is wiped within the time for a baulk.

    Because viscosity falls steeply with warmth, one temperature divides stiff from free for each ring and oil.
    """
    if not lands:
        return supports("There is no ring that has to wipe oil away.")
    slowest = max(wiping_s_per_mpa_s(base.ring_lands[land], ring_geometry) for land in lands)
    viscosity = base.limit("wiping-time-baulk-from") / slowest
    low, high = sorted(_temperature_c(line, viscosity, oil) for line in oil.cold_lines)
    figure = Measured("shifts_freely_above_c", low, high, "°C", "judgement", is_screening(temperature_c=low))
    return supports(f"First shifts come freely above about {high:.0f} °C.", figures=(figure,))


def _temperature_c(line: ViscosityLine, dynamic_viscosity_mpa_s: float, oil: Oil) -> float:
    """Where an oil has a viscosity; the end of what can be computed stands for anything beyond it."""
    try:
        return temperature_at_dynamic_viscosity_c(
            line=line, density15_kg_m3=oil.density15_kg_m3, dynamic_viscosity_mpa_s=dynamic_viscosity_mpa_s
        )
    except OutOfRange as beyond:
        return min(max(beyond.value, beyond.low), beyond.high)


def wiping_s_per_mpa_s(row: RingLandRow, ring_geometry: RingGeometry) -> float:
    """Wiping time of a facing for each mPa·s of the oil; the time is proportional to the viscosity."""
    pressure = land_pressure_n_mm2(
        axial_force_n=ring_geometry.detent_force_n,
        half_angle_deg=ring_geometry.half_angle_deg or row.half_angle_deg,
        mean_radius_mm=ring_geometry.mean_radius_mm,
        face_width_mm=ring_geometry.face_width_mm,
        land_share=row.land_share,
    )
    return wiping_time_s(
        dynamic_viscosity_mpa_s=1.0,
        land_width_mm=row.land_width_mm,
        land_pressure_n_mm2=pressure,
        film_start_um=row.film_start_um,
        film_end_um=row.film_end_um,
    )


def _reference_time_s(row: RingLandRow, ring_geometry: RingGeometry, temperature_c: float, base: KnowledgeBase) -> float:
    """Wiping time of the same ring when new, with the middle of its usual fluid."""
    usual = base.usual_oils[row.facing]
    new = base.ring_lands[row.facing, "new"]
    return wiping_s_per_mpa_s(new, ring_geometry) * usual.middle_dynamic_viscosity_mpa_s(temperature_c)
