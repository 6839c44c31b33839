"""What the figures of a data sheet come to by themselves: grade, cold limit, curve, and how they are put in words."""

from collections.abc import Iterator
from contextlib import suppress

from knowledge.base import DEFAULT_J306_EDITION
from knowledge.fluids.data_sheet import Sheet
from knowledge.jug.answer import ColdLimit, CurvePoint
from knowledge.physics.density import COLDEST_C, HOTTEST_C, density_kg_m3
from knowledge.physics.grades import j300_grades
from knowledge.physics.limits import OutOfRange
from knowledge.physics.viscosity import dynamic_viscosity_mpa_s, is_screening, kinematic_viscosity_mm2_s
from knowledge.text import listed, plain, significant

CURVE_C = (-40, -30, -20, -10, 0, 10, 20, 40, 60, 80, 100, 120, 150)


def engine_grades(sheet: Sheet) -> tuple[str, ...]:
    """Every SAE J300 hot grade that KV100 allows."""
    kv100 = sheet.kv100_mm2_s
    return () if kv100 is None else j300_grades(kv100_mm2_s=kv100, rows=sheet.base.sae_j300)


def grade_in_words(sheet: Sheet) -> str:
    """The grade that the figures come to: of gear oil, unless the label speaks of engine oil.

    A W grade found at a measured point may be a colder one.
    """
    if not sheet.sheet_grades:
        has_figures = sheet.kv100_sheared_mm2_s or sheet.jug.kv40_mm2_s or sheet.cold.is_measured
        if has_figures or not sheet.has_label:
            return "without KV100 it has no gear-oil grade"
        return "judged by its label alone, without a figure"
    grade = sheet.sheet_grades[DEFAULT_J306_EDITION]
    if grade.summer is None and sheet.fresh_row is not None:
        return f"by its figures {sheet.fresh_row.grade} when fresh, below it once sheared"
    if grade.name is None:
        return "its figures give no gear-oil grade"
    if sheet.grade and sheet.grade.scale == "sae-j300" and (found := engine_grades(sheet)):
        return f"by its KV100 {listed(found, 'or')} (SAE J300)"
    or_colder = " or a colder W grade" if grade.winter and sheet.cold.limit_c is None else ""
    return f"by its figures {grade.name}{or_colder} (SAE J306, {DEFAULT_J306_EDITION})"


def no_index_because(sheet: Sheet) -> str | None:
    """Why there is no viscosity index; None where there is one."""
    if sheet.viscosity_index is not None:
        return None
    if sheet.jug.kv40_mm2_s is None or sheet.jug.kv100_mm2_s is None:
        return "It needs both KV40 and KV100."
    return f"It is not defined where KV100 is below {plain(sheet.base.astm_d2270[0].kv100_min_mm2_s)} mm²/s."


def cold_limit(sheet: Sheet) -> ColdLimit:
    """Down to which temperature it flows, and on what that rests."""
    cold = sheet.cold
    if cold.is_interpolated and cold.limit_c is not None:
        between = " and ".join(
            plain(celsius) for celsius in (cold.flows_at_c, cold.too_thick_at_c) if celsius is not None
        )
        basis = f"Between the measured points at {between} °C; not measured itself."
        return ColdLimit(temperature_c=round(cold.limit_c, 1), basis=basis)
    if cold.limit_c is not None:
        worst = "The worst of figures that contradict each other."
        return ColdLimit(
            temperature_c=cold.limit_c, basis=worst if cold.contradictions else "As the data sheet states it."
        )
    if cold.flows_at_c is not None:
        basis = "The coldest measured point that is thin enough; the limit lies there or colder."
        return ColdLimit(temperature_c=cold.flows_at_c, basis=basis)
    if cold.too_thick_at_c is not None:
        return ColdLimit(basis=f"Not known; too thick at {plain(cold.too_thick_at_c)} °C, so it lies above that.")
    if cold.contradictions:
        return ColdLimit(basis="Not known; the cold figures contradict each other.")
    if sheet.is_thicker_than_labelled:
        return ColdLimit(basis="Not known; it is thicker than its label says.")
    if sheet.claimed_cold_limit_c is not None:
        return ColdLimit(temperature_c=sheet.claimed_cold_limit_c, basis="What the label claims; nothing measured.")
    return ColdLimit(basis="Nothing measured and nothing claimed.")


def curve(sheet: Sheet, density15_kg_m3: float | None) -> Iterator[CurvePoint]:
    """Viscosity from deep cold to a hot sump; nothing without both viscosities."""
    if sheet.line is None:
        return
    for celsius in CURVE_C:
        kinematic = dynamic = None
        with suppress(OutOfRange):
            kinematic = kinematic_viscosity_mm2_s(line=sheet.line, temperature_c=celsius)
        if kinematic is not None and density15_kg_m3 is not None and COLDEST_C <= celsius <= HOTTEST_C:
            density = density_kg_m3(density15_kg_m3=density15_kg_m3, temperature_c=celsius)
            dynamic = dynamic_viscosity_mpa_s(kinematic_viscosity_mm2_s=kinematic, density_kg_m3=density)
        yield CurvePoint(
            temperature_c=celsius,
            kv_mm2_s=None if kinematic is None else significant(kinematic),
            viscosity_mpa_s=None if dynamic is None else significant(dynamic),
            screening=is_screening(temperature_c=celsius),
        )


def sources_of_figures(sheet: Sheet) -> Iterator[str]:
    """Where the tables and formulas behind the figures come from."""
    if sheet.kv100_mm2_s is not None:
        yield from ("sae-j306-201902", "sae-j306-200506", "sae-j300-202405")
    if sheet.jug.kv40_mm2_s is not None:
        yield "iso-3448-1992"
    if sheet.line is not None:
        yield from ("astm-d341-20", "astm-d2270-10", "astm-d1250-04")
