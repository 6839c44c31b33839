"""What may be asked about the viscosity of one oil, and what is answered."""

from typing import Annotated

from pydantic import Field, ValidationInfo, field_validator
from pydantic_core import PydanticCustomError

from knowledge.parts.jug import Jug
from knowledge.parts.provenance import KnowledgeStamp, ResponseModel, Source
from knowledge.parts.query_model import QueryModel
from knowledge.parts.ranges import TEMPERATURE, VISCOSITY
from knowledge.parts.request_model import AtMost, Plain, as_in
from knowledge.physics.limits import OutOfRange
from knowledge.physics.viscosity import viscosity_line

AskedTemperature = Annotated[Plain, TEMPERATURE]

# The temperatures of an answer where none is asked for.
USUAL_TEMPERATURES_C = (-40.0, -20.0, 0.0, 20.0, 40.0, 60.0, 80.0, 100.0, 120.0, 150.0)


class ViscosityQuestion(QueryModel):
    """The two figures of a data sheet, and the temperatures to read the oil's line at."""

    kv40_mm2_s: Annotated[Plain, VISCOSITY] = as_in(Jug, "kv40_mm2_s", ...)
    kv100_mm2_s: Annotated[Plain, VISCOSITY] = as_in(Jug, "kv100_mm2_s", ...)
    temperature_c: Annotated[tuple[AskedTemperature, ...], AtMost(50)] = Field(
        (), description="Of the oil; as often as you like.", examples=[[-20, 80]]
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
    kv_mm2_s: float | None = Field(description="Null where it lies beyond what ASTM D341 covers.")
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
