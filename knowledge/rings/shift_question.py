"""What may be asked about one synchronized shift."""

from collections.abc import Callable, Mapping
from typing import Annotated, Any, ClassVar, Literal

from pydantic import Field, GetCoreSchemaHandler, ValidationInfo, WrapValidator, field_validator
from pydantic_core import PydanticCustomError, core_schema
from typing_extensions import TypeAliasType

from knowledge.parts import ranges
from knowledge.parts.query_model import QueryModel, linked
from knowledge.parts.references import Refers
from knowledge.parts.request_model import (
    ANY_CASE,
    STRICT,
    AtMost,
    Condition,
    Cones,
    Echoed,
    Identifier,
    Number,
    Plain,
    RequestModel,
    optional,
    whole,
)

Direction = TypeAliasType("Direction", Literal["up", "down"])


class OneSentence:
    """Gives a field of several shapes one fault for all of them, at the field itself."""

    def __init__(self, code: str) -> None:
        self.code = code

    def __get_pydantic_core_schema__(self, source: Any, handler: GetCoreSchemaHandler) -> core_schema.CoreSchema:
        """The schema of the union with one fault for all of its shapes."""
        return {**handler(source), "custom_error_type": self.code, "custom_error_message": "is of no known shape"}


def _read_part_by_part(given: Any, read: Callable[[Any], float]) -> "float | InertiaParts":
    """An object is read part by part, so that a fault in one of them points to that part."""
    return InertiaParts.model_validate(given) if isinstance(given, Mapping) else read(given)


OtherInertia = Annotated[Number, Field(ge=0, le=10)]
Ratio = Annotated[Number, Field(ge=0.05, le=20)]
RingTemperature = Annotated[Number, Field(ge=-40, le=180)]


class InertiaParts(RequestModel):
    """What has to be turned, part by part; it is reduced to the gear wheel through the ratios."""

    gear: Annotated[Number, ranges.INERTIA] = Field(description="Inertia of the gear wheel itself [kg·m²].")
    layshaft: OtherInertia = Field(0.0, description="Inertia of the layshaft and all on it [kg·m²]; left out, 0.")
    input: OtherInertia = Field(0.0, description="Inertia of input shaft and clutch disc [kg·m²]; left out, 0.")
    ratio_constant: Ratio = Field(1.0, description="Speed of the input over the layshaft's; left out, 1.")
    ratio_gear: Ratio = Field(1.0, description="Speed of the layshaft over the gear wheel's; left out, 1.")


RadiusPerCone = Annotated[
    Annotated[Number, ranges.RADIUS]
    | Annotated[tuple[Annotated[Number, ranges.RADIUS], ...], Field(min_length=1), AtMost(3)],
    OneSentence("radius_or_one_for_each_cone"),
]

Inertia = Annotated[
    Annotated[Number, ranges.INERTIA] | InertiaParts,
    OneSentence("inertia_or_its_parts"),
    WrapValidator(_read_part_by_part),
]


class ShiftQuestion(Echoed):
    """What does this shift ask of the ring, and which facing stands it? Only the load must be stated."""

    read_only: ClassVar[Mapping[str, str]] = {"assumed": "What an answer in full took as given."}

    facing: Annotated[Identifier | None, Refers("facings")] = optional(
        "The facing to judge, an id of /v1/facings; null judges them all.", "bronze"
    )
    fluid: Annotated[Identifier | None, Refers("lubricants")] = optional(
        "The fluid in the box, an id of /v1/lubricants.", "mtf-75w-80"
    )
    inertia_kg_m2: Inertia = Field(
        description="What the ring brings to speed, at the gear wheel: a number or its parts.", examples=[0.01]
    )
    speed_difference_rpm: Annotated[Number, ranges.SPEED_DIFFERENCE] = Field(
        description="Speed difference between ring and gear wheel when the shift begins, without sign.", examples=[1500]
    )
    direction: Annotated[Direction | None, ANY_CASE] = optional(
        "Which way it shifts; up: the wheel has to slow down, and drag helps.", "up"
    )
    shift_force_n: Annotated[Number, ranges.SHIFT_FORCE] | None = optional("Force on the ring, along the shaft.", 600)
    cones: Cones | None = optional("Friction interfaces in series.", 1)
    mean_radius_mm: RadiusPerCone | None = optional("Mean radius of every cone, or a list with one for each.")
    half_angle_deg: Annotated[Number, ranges.HALF_ANGLE] | None = optional(
        "Half angle, between cone surface and axis; left out, the usual one of each facing.", 6.5
    )
    cone_half_angle_deg: Annotated[Number, ranges.HALF_ANGLE] | None = optional(
        "Half angle of the gear's own cone, where it is measured apart from the ring.", 6.5
    )
    face_width_mm: Annotated[Number, ranges.FACE_WIDTH] | None = optional(
        "Width of the face along the cone surface.", 8
    )
    friction: Annotated[Number, ranges.FRICTION] | None = optional(
        "Sliding friction, where it is known for this ring and its fluid; it replaces the tables.", 0.1
    )
    drag_nm: Annotated[Number, Field(ge=0, le=1000)] | None = optional(
        "Drag of oil, bearings and clutch, at the gear wheel.", 2
    )
    chamfer_included_deg: Annotated[Number, Field(ge=60, le=140)] | None = optional(
        "Angle between the two flanks of a tooth point.", 110
    )
    chamfer_friction: Annotated[Number, Field(ge=0, le=0.3)] | None = optional(
        "Coefficient of friction between sleeve and ring at the tooth points.", 0.1
    )
    spline_radius_mm: Annotated[Number, Field(ge=10, le=400)] | None = optional("Radius of the sleeve's splines.", 36)
    shifts: Annotated[int, STRICT, ranges.SHIFTS] | None = optional("How many, one after another.", 10)
    shift_interval_s: Annotated[Number, ranges.SHIFT_INTERVAL] | None = optional("Time from one shift to the next.", 3)
    sump_c: RingTemperature | None = optional("Temperature of the oil in the sump.", 80)
    start_c: RingTemperature | None = optional(
        "Temperature of the oil at the ring while its film is wiped away; left out, the sump's.", 40
    )
    condition: Annotated[Condition | None, ANY_CASE] = optional(
        "Whether the ring's crests or lining are new or worn.", "new"
    )
    detent_force_n: Annotated[Number, ranges.DETENT_FORCE] | None = optional(
        "Force with which the ring is pushed on while its oil film is wiped away.", 60
    )
    contact_share: Annotated[Number, Field(ge=0.05, le=1)] | None = optional(
        "Share of the face that touches: 1 is a perfectly true cone.", 1
    )

    _whole_counts = field_validator("cones", "shifts", mode="before")(whole)

    @field_validator("mean_radius_mm")
    @classmethod
    def _one_for_each_cone(cls, radius: float | tuple[float, ...] | None, info: ValidationInfo) -> Any:
        cones = info.data.get("cones")
        if isinstance(radius, tuple) and cones is not None and len(radius) != cones:
            raise PydanticCustomError("one_for_each_cone", "one radius for each of {cones} cones", {"cones": cones})
        return radius


RADII = Field((), description="Of every cone, or given once for each.", examples=[[32]])


@linked(
    ShiftQuestion,
    inertia_kg_m2=(
        Annotated[Plain, ranges.INERTIA],
        Field(description="What the ring brings to speed, at the gear wheel.", examples=[0.01]),
    ),
    mean_radius_mm=(Annotated[tuple[Annotated[Plain, ranges.RADIUS], ...], AtMost(3)], RADII),
)
class FlatShiftQuestion(QueryModel):
    """The shift question as the flat fields of a link; a radius may be given once for each cone."""

    def question(self) -> ShiftQuestion:
        """The same question as a POST would put it; a single radius is that of every cone.

        Errors: ValidationError, where there are not as many radii as cones.
        """
        given = self.model_dump(exclude_none=True, include=set(FlatShiftQuestion.model_fields))
        radii = given.pop("mean_radius_mm")
        return ShiftQuestion(**given, mean_radius_mm=radii[0] if len(radii) == 1 else radii or None)
