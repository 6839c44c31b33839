"""One container of fluid: its label and its data sheet."""

from typing import Annotated

from pydantic import Field, ValidationInfo, field_validator
from pydantic_core import PydanticCustomError

from knowledge.parts.references import Refers
from knowledge.parts.request_model import (
    AtMost,
    Density,
    DynamicViscosity,
    Flag,
    Grade,
    Hours,
    Identifier,
    RequestModel,
    Temperature,
    Viscosity,
    Words,
)


class Label(RequestModel):
    """What the front of a jug claims."""

    family: Annotated[Identifier | None, Refers("families")] = Field(
        None, description="An id of /v1/families.", examples=["gl-4"]
    )
    grade: Grade | None = Field(None, description="Viscosity grade as printed.", examples=["75W-90"])


class ColdViscosity(RequestModel):
    """One measured point of ASTM D2983."""

    temperature_c: Temperature = Field(description="Of the oil when it was measured.", examples=[-40])
    viscosity_mpa_s: DynamicViscosity = Field(description="Dynamic viscosity measured there.", examples=[110_000])


class CopperStrip(RequestModel):
    """One result of ASTM D130; without temperature and hours it proves little."""

    rating: Annotated[Identifier, Refers("copper_strip")] = Field(
        description="1a is best, 4c is worst.", examples=["1b"]
    )
    temperature_c: Temperature | None = Field(None, description="Of the bath.", examples=[121])
    hours: Hours | None = Field(None, description="How long the strip lay in it.", examples=[3])


class Jug(RequestModel):
    """One container of fluid: its label and as much of its data sheet as the caller has."""

    name: Words | None = Field(None, description="What the caller calls it.", examples=["the jug on the left"])
    label: Label | None = Field(None, description="What the front of it claims.")
    kv40_mm2_s: Viscosity | None = Field(None, description="Kinematic viscosity at 40 °C.", examples=[95])
    kv100_mm2_s: Viscosity | None = Field(None, description="Kinematic viscosity at 100 °C.", examples=[15.2])
    kv100_sheared_mm2_s: Viscosity | None = Field(None, description="KV100 after CEC L-45, 20 h.")
    t150_c: Temperature | None = Field(None, description="Temperature at which ASTM D2983 gives 150 000 mPa·s.")
    brookfield: Annotated[tuple[ColdViscosity, ...], AtMost(20)] = Field(
        (), description="Measured points of ASTM D2983."
    )
    copper_strip: CopperStrip | None = Field(None, description="ASTM D130, with its temperature and hours.")
    density15_kg_m3: Density | None = Field(None, description="At 15 °C.", examples=[870])
    limited_slip: Flag | None = Field(None, description="The label or sheet names a limited-slip friction modifier.")

    @field_validator("kv100_mm2_s")
    @classmethod
    def _thinner_when_hot(cls, kv100_mm2_s: float | None, info: ValidationInfo) -> float | None:
        kv40_mm2_s = info.data.get("kv40_mm2_s")
        if kv100_mm2_s is not None and kv40_mm2_s is not None and kv100_mm2_s >= kv40_mm2_s:
            raise PydanticCustomError("not_thinner_when_hot", "kv100_mm2_s must be below kv40_mm2_s")
        return kv100_mm2_s
