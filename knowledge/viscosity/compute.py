"""How thick is this oil, cold and hot? Two figures of a data sheet in, its line out."""

from collections.abc import Iterator

from knowledge.base import KnowledgeBase
from knowledge.physics import viscosity
from knowledge.physics.limits import OutOfRange
from knowledge.physics.viscosity_index import rounded_viscosity_index
from knowledge.text import plain
from knowledge.viscosity.models import (
    USUAL_TEMPERATURES_C,
    ViscosityAnswer,
    ViscosityLine,
    ViscosityPoint,
    ViscosityQuestion,
)

SOURCES = ("astm-d341-20", "astm-d2270-10", "astm-d2983-22")


def viscosity_answer(question: ViscosityQuestion, base: KnowledgeBase) -> ViscosityAnswer:
    """The line of an oil, its index, and its viscosity at the temperatures asked for."""
    line = viscosity.viscosity_line(kv40_mm2_s=question.kv40_mm2_s, kv100_mm2_s=question.kv100_mm2_s)
    points = tuple(_point(line, celsius) for celsius in question.temperature_c or USUAL_TEMPERATURES_C)
    index = _index(question, base)
    return ViscosityAnswer(
        knowledge=base.stamp,
        kv40_mm2_s=question.kv40_mm2_s,
        kv100_mm2_s=question.kv100_mm2_s,
        viscosity_index=index,
        d341=ViscosityLine(intercept_a=line.intercept_a, slope_b=line.slope_b),
        points=points,
        notes=tuple(_notes(points, index, base)),
        sources=tuple(row for row in base.sources.values() if row.id in SOURCES),
    )


def _point(line: viscosity.ViscosityLine, celsius: float) -> ViscosityPoint:
    try:
        found = float(f"{viscosity.kinematic_viscosity_mm2_s(line=line, temperature_c=celsius):.5g}")
    except OutOfRange:
        found = None
    return ViscosityPoint(
        temperature_c=celsius, kv_mm2_s=found, screening=viscosity.is_screening(temperature_c=celsius)
    )


def _index(question: ViscosityQuestion, base: KnowledgeBase) -> float | None:
    try:
        return rounded_viscosity_index(
            kv40_mm2_s=question.kv40_mm2_s, kv100_mm2_s=question.kv100_mm2_s, reference_oils=base.astm_d2270
        )
    except (OutOfRange, OverflowError):
        return None


def _notes(points: tuple[ViscosityPoint, ...], index: float | None, base: KnowledgeBase) -> Iterator[str]:
    if any(point.screening for point in points):
        yield "Below 0 °C the line is an indication only: wax and polymers make oil thicker. A measured figure counts."
    if any(point.kv_mm2_s is None for point in points):
        yield "Where a figure is missing the oil is outside of what ASTM D341 covers."
    if index is None:
        yield "ASTM D2270 states no viscosity index for these figures."
    else:
        least = min(row.viscosity_index_min for row in base.lubricant_rows.values())
        most = max(row.viscosity_index_max for row in base.lubricant_rows.values())
        if not least <= index <= most:
            usual = f"{plain(least)} to {plain(most)}"
            yield f"The classes here have a viscosity index from {usual}: read both figures again."
