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
from knowledge.text import Said, listed, plain, significant

WORST = Said("The worst of figures that contradict each other.", "cold-limit-worst-of-figures")
AS_STATED = Said("As the data sheet states it.", "cold-limit-as-stated")
COLDEST_POINT = Said(
    "The coldest measured point that is thin enough; the limit lies there or colder.", "cold-limit-coldest-point"
)
CONTRADICTING = Said("Not known; the cold figures contradict each other.", "cold-limit-figures-contradict")
THICKER = Said("Not known; it is thicker than its label says.", "cold-limit-thicker-than-labelled")
CLAIMED = Said("What the label claims; nothing measured.", "cold-limit-claimed")
NOTHING_COLD = Said("Nothing measured and nothing claimed.", "cold-limit-nothing-said")

CURVE_C = (-40, -30, -20, -10, 0, 10, 20, 40, 60, 80, 100, 120, 150)


def engine_grades(sheet: Sheet) -> tuple[str, ...]:
    """Every SAE J300 hot grade that KV100 allows."""
    kv100 = sheet.kv100_mm2_s
    return () if kv100 is None else j300_grades(kv100_mm2_s=kv100, rows=sheet.base.sae_j300)


def grade_in_words(sheet: Sheet) -> Said:
    """The grade that the figures come to: of gear oil, unless the label speaks of engine oil.

    A W grade found at a measured point may be a colder one.
    """
    if not sheet.sheet_grades:
        has_figures = sheet.kv100_sheared_mm2_s or sheet.jug.kv40_mm2_s or sheet.cold.is_measured
        if has_figures or not sheet.has_label:
            return Said("without KV100 it has no gear-oil grade", "no-grade-without-kv100")
        return Said("judged by its label alone, without a figure", "judged-by-its-label")
    grade = sheet.sheet_grades[DEFAULT_J306_EDITION]
    if grade.summer is None and sheet.fresh_row is not None:
        fresh = sheet.fresh_row.grade
        return Said(f"by its figures {fresh} when fresh, below it once sheared", "grade-when-fresh", grade=fresh)
    if grade.name is None:
        return Said("its figures give no gear-oil grade", "no-grade-by-figures")
    if sheet.grade and sheet.grade.scale == "sae-j300" and (found := engine_grades(sheet)):
        return Said(f"by its KV100 {listed(found, 'or')} (SAE J300)", "engine-grade-by-kv100", grades=found)
    or_colder = " or a colder W grade" if grade.winter and sheet.cold.limit_c is None else ""
    text = f"by its figures {grade.name}{or_colder} (SAE J306, {DEFAULT_J306_EDITION})"
    return Said(text, "grade-by-figures", grade=grade.name, or_colder=bool(or_colder), edition=DEFAULT_J306_EDITION)


def no_index_because(sheet: Sheet) -> str | None:
    """Why there is no viscosity index; None where there is one."""
    if sheet.viscosity_index is not None:
        return None
    if sheet.jug.kv40_mm2_s is None or sheet.jug.kv100_mm2_s is None:
        return Said("It needs both KV40 and KV100.", "index-needs-both")
    least = sheet.base.astm_d2270[0].kv100_min_mm2_s
    text = f"It is not defined where KV100 is below {plain(least)} mm²/s."
    return Said(text, "index-not-defined", kv100_min_mm2_s=least)


def cold_limit(sheet: Sheet) -> ColdLimit:
    """Down to which temperature it flows, and on what that rests."""
    cold = sheet.cold
    if cold.is_interpolated and cold.limit_c is not None:
        points = [celsius for celsius in (cold.flows_at_c, cold.too_thick_at_c) if celsius is not None]
        text = f"Between the measured points at {' and '.join(map(plain, points))} °C; not measured itself."
        measured = {"flows_at_c": cold.flows_at_c, "too_thick_at_c": cold.too_thick_at_c}
        basis = Said(text, "cold-limit-between-points", **measured)
        return ColdLimit(temperature_c=round(cold.limit_c, 1), basis=basis)
    if cold.limit_c is not None:
        return ColdLimit(temperature_c=cold.limit_c, basis=WORST if cold.contradictions else AS_STATED)
    if cold.flows_at_c is not None:
        return ColdLimit(temperature_c=cold.flows_at_c, basis=COLDEST_POINT)
    if cold.too_thick_at_c is not None:
        text = f"Not known; too thick at {plain(cold.too_thick_at_c)} °C, so it lies above that."
        return ColdLimit(basis=Said(text, "cold-limit-above", too_thick_at_c=cold.too_thick_at_c))
    if cold.contradictions:
        return ColdLimit(basis=CONTRADICTING)
    if sheet.is_thicker_than_labelled:
        return ColdLimit(basis=THICKER)
    if sheet.claimed_cold_limit_c is not None:
        return ColdLimit(temperature_c=sheet.claimed_cold_limit_c, basis=CLAIMED)
    return ColdLimit(basis=NOTHING_COLD)


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
