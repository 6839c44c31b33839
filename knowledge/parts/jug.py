"""One container of fluid: its label and its data sheet."""

from collections.abc import Mapping
from typing import Annotated, ClassVar

from pydantic import Field, ValidationInfo, field_validator
from pydantic_core import PydanticCustomError

from knowledge.parts.references import Refers
from knowledge.parts.request_model import (
    AtMost,
    Density,
    DynamicViscosity,
    Echoed,
    Flag,
    Grade,
    Hours,
    Identifier,
    RequestModel,
    Temperature,
    Viscosity,
    Words,
    optional,
)


class Label(RequestModel):
    """What the front of a jug claims."""

    family: Annotated[Identifier | None, Refers("families")] = optional("An id of /v1/families.", "gl-4")
    grade: Annotated[Grade | None, Refers("grades")] = optional("Viscosity grade as printed.", "75W-90")
    also: Annotated[tuple[Identifier, ...], AtMost(3), Refers("families")] = Field(
        (), description="Categories that it claims beside: MT-1 counts without synchronizer rings.", examples=[["mt-1"]]
    )


class ColdViscosity(RequestModel):
    """One measured point of ASTM D2983."""

    temperature_c: Temperature = Field(description="Temperature of the oil when it was measured.", examples=[-40])
    viscosity_mpa_s: DynamicViscosity = Field(description="Dynamic viscosity measured there.", examples=[110_000])


class CopperStrip(RequestModel):
    """One result of ASTM D130; without temperature and hours it proves little."""

    rating: Annotated[Identifier, Refers("copper_strip")] = Field(
        description="Rating from 1a, the best, to 4c, the worst.", examples=["1b"]
    )
    temperature_c: Temperature | None = optional("Temperature of the bath.", 121)
    hours: Hours | None = optional("How long the strip lay in it.", 3)


class Jug(Echoed):
    """One container of fluid: its label and as much of its data sheet as the caller has."""

    read_only: ClassVar[Mapping[str, str]] = {
        "id": "Of a jug of /v1/shop/shelf.",
        "litres": "How much of it the shop has.",
        "notes": "What the shop notes about it.",
    }

    name: Words | None = optional("What the caller calls it.", "the jug on the left")
    label: Label | None = optional("What the front of it claims.")
    kv40_mm2_s: Viscosity | None = optional("Kinematic viscosity at 40 °C.", 95)
    kv100_mm2_s: Viscosity | None = optional("Kinematic viscosity at 100 °C.", 15.2)
    kv100_sheared_mm2_s: Viscosity | None = optional("KV100 after CEC L-45, 20 h.", 14.1)
    t150_c: Temperature | None = optional("Temperature at which ASTM D2983 gives 150 000 mPa·s.", -41)
    brookfield: Annotated[tuple[ColdViscosity, ...], AtMost(20)] = Field(
        (), description="Measured points of ASTM D2983."
    )
    copper_strip: CopperStrip | None = optional("ASTM D130, with its temperature and hours.")
    density15_kg_m3: Density | None = optional("Density at 15 °C.", 870)
    limited_slip: Flag | None = optional("The label or sheet names a limited-slip friction modifier.", False)

    @field_validator("kv100_mm2_s")
    @classmethod
    def _thinner_when_hot(cls, kv100_mm2_s: float | None, info: ValidationInfo) -> float | None:
        kv40_mm2_s = info.data.get("kv40_mm2_s")
        if kv100_mm2_s is not None and kv40_mm2_s is not None and kv100_mm2_s >= kv40_mm2_s:
            raise PydanticCustomError("not_thinner_when_hot", "kv100_mm2_s must be below kv40_mm2_s")
        return kv100_mm2_s
