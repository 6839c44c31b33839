"""How thick is this oil, cold and hot? Two figures of a data sheet in, its line out."""

from collections.abc import Iterator
from typing import Annotated

from pydantic import Field, ValidationInfo, field_validator
from pydantic_core import PydanticCustomError

from knowledge.base import KnowledgeBase
from knowledge.parts.jug import Jug
from knowledge.parts.provenance import KnowledgeStamp, ResponseModel, Source
from knowledge.parts.query_model import QueryModel
from knowledge.parts.ranges import TEMPERATURE, VISCOSITY
from knowledge.parts.request_model import AtMost, Plain, as_in
from knowledge.physics.limits import OutOfRange
from knowledge.physics.viscosity import ViscosityLine as Line
from knowledge.physics.viscosity import is_screening, kinematic_viscosity_mm2_s, viscosity_line
from knowledge.physics.viscosity_index import rounded_viscosity_index
from knowledge.text import plain, significant

SOURCES = ("astm-d341-20", "astm-d2270-10", "astm-d2983-22")
AskedTemperature = Annotated[Plain, TEMPERATURE]
# The temperatures of an answer where none is asked for.
USUAL_TEMPERATURES_C = (-40.0, -20.0, 0.0, 20.0, 40.0, 60.0, 80.0, 100.0, 120.0, 150.0)


class ViscosityQuestion(QueryModel):
    """The two figures of a data sheet, and the temperatures to read the oil's line at."""

    kv40_mm2_s: Annotated[Plain, VISCOSITY] = as_in(Jug, "kv40_mm2_s", ...)
    kv100_mm2_s: Annotated[Plain, VISCOSITY] = as_in(Jug, "kv100_mm2_s", ...)
    temperature_c: Annotated[tuple[AskedTemperature, ...], AtMost(50)] = Field(
        (), description="Temperature of the oil to read the line at; as often as you like.", examples=[[-20, 80]]
    )

    @field_validator("kv100_mm2_s")
    @classmethod
    def _thinner_when_hot(cls, kv100_mm2_s: float, info: ValidationInfo) -> float:
        kv40_mm2_s = info.data.get("kv40_mm2_s")
        if kv40_mm2_s is not None:
            try:
                viscosity_line(kv40_mm2_s=kv40_mm2_s, kv100_mm2_s=kv100_mm2_s)
            except OutOfRange:
                raise PydanticCustomError("not_thinner_when_hot", "kv100_mm2_s must be below kv40_mm2_s") from None
        return kv100_mm2_s


class ViscosityLine(ResponseModel):
    """The line of the oil: log10 log10 Z = intercept_a - slope_b · log10 T, T in kelvin, Z about kv + 0.7."""

    intercept_a: float
    slope_b: float


class ViscosityPoint(ResponseModel):
    """Kinematic viscosity at one temperature."""

    temperature_c: float
    kv_mm2_s: float | None = Field(
        description="Kinematic viscosity there; null where it lies beyond what ASTM D341 covers."
    )
    screening: bool = Field(description="Extrapolated below 0 °C: an indication, never a promise.")


class ViscosityAnswer(ResponseModel):
    """How thick an oil is, cold and hot."""

    knowledge: KnowledgeStamp
    kv40_mm2_s: float
    kv100_mm2_s: float
    viscosity_index: float | None = Field(description="ASTM D2270; null below a KV100 of 2 mm²/s.")
    d341: ViscosityLine
    points: tuple[ViscosityPoint, ...]
    notes: tuple[str, ...]
    sources: tuple[Source, ...]


def viscosity_answer(question: ViscosityQuestion, base: KnowledgeBase) -> ViscosityAnswer:
    """The line of an oil, its index, and its viscosity at the temperatures asked for."""
    line = viscosity_line(kv40_mm2_s=question.kv40_mm2_s, kv100_mm2_s=question.kv100_mm2_s)
    points = tuple(_point(line, celsius) for celsius in question.temperature_c or USUAL_TEMPERATURES_C)
    try:
        index = rounded_viscosity_index(
            kv40_mm2_s=question.kv40_mm2_s, kv100_mm2_s=question.kv100_mm2_s, reference_oils=base.astm_d2270
        )
    except (OutOfRange, OverflowError):
        index = None
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


def _point(line: Line, celsius: float) -> ViscosityPoint:
    try:
        found = significant(kinematic_viscosity_mm2_s(line=line, temperature_c=celsius), 5)
    except OutOfRange:
        found = None
    return ViscosityPoint(temperature_c=celsius, kv_mm2_s=found, screening=is_screening(temperature_c=celsius))


def _notes(points: tuple[ViscosityPoint, ...], index: int | None, base: KnowledgeBase) -> Iterator[str]:
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
