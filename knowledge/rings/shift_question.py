"""What may be asked about one synchronized shift."""

from collections.abc import Callable, Mapping
from typing import Annotated, Any, Literal

from pydantic import Field, GetCoreSchemaHandler, ValidationInfo, WrapValidator, field_validator
from pydantic_core import PydanticCustomError, core_schema
from typing_extensions import TypeAliasType

from knowledge.parts import ranges
from knowledge.parts.query_model import QueryModel
from knowledge.parts.references import Refers
from knowledge.parts.request_model import (
    AtMost,
    Condition,
    Cones,
    Identifier,
    Number,
    Plain,
    RequestModel,
    as_in,
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


class InertiaParts(RequestModel):
    """What has to be turned, part by part; it is reduced to the gear wheel through the ratios."""

    gear: Annotated[Number, ranges.INERTIA] = Field(description="Of the gear wheel itself [kg·m²].")
    layshaft: Annotated[Number, ranges.OTHER_INERTIA] = Field(
        0.0, description="Of the layshaft and all on it [kg·m²]; left out, 0."
    )
    input: Annotated[Number, ranges.OTHER_INERTIA] = Field(
        0.0, description="Of input shaft and clutch disc [kg·m²]; left out, 0."
    )
    ratio_constant: Annotated[Number, ranges.RATIO] = Field(
        1.0, description="Speed of the input over the layshaft's; left out, 1."
    )
    ratio_gear: Annotated[Number, ranges.RATIO] = Field(
        1.0, description="Speed of the layshaft over the gear wheel's; left out, 1."
    )


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


class ShiftQuestion(RequestModel):
    """What does this shift ask of the ring, and which facing stands it? Only the load must be stated."""

    facing: Annotated[Identifier | None, Refers("facings")] = Field(
        None, description="The facing to judge, an id of /v1/facings; null judges them all.", examples=["bronze"]
    )
    fluid: Annotated[Identifier | None, Refers("lubricants")] = Field(
        None, description="The fluid in the box, an id of /v1/lubricants.", examples=["mtf-75w-80"]
    )
    inertia_kg_m2: Inertia = Field(
        description="What the ring brings to speed, at the gear wheel: a number or its parts.", examples=[0.01]
    )
    speed_difference_rpm: Annotated[Number, ranges.SPEED_DIFFERENCE] = Field(
        description="Between ring and gear wheel when the shift begins, without sign.", examples=[1500]
    )
    direction: Direction | None = Field(
        None, description="Up: the wheel has to slow down, and drag helps.", examples=["up"]
    )
    shift_force_n: Annotated[Number, ranges.SHIFT_FORCE] | None = Field(
        None, description="Along the shaft, on the ring.", examples=[600]
    )
    cones: Cones | None = Field(None, description="Friction interfaces in series.", examples=[1])
    mean_radius_mm: RadiusPerCone | None = Field(None, description="Of every cone, or a list with one for each.")
    half_angle_deg: Annotated[Number, ranges.HALF_ANGLE] | None = Field(
        None, description="Between cone surface and axis; left out, the usual one of each facing.", examples=[6.5]
    )
    cone_half_angle_deg: Annotated[Number, ranges.HALF_ANGLE] | None = Field(
        None, description="Of the gear's own cone, where it is measured apart from the ring.", examples=[6.5]
    )
    face_width_mm: Annotated[Number, ranges.FACE_WIDTH] | None = Field(
        None, description="Along the cone surface.", examples=[8]
    )
    friction: Annotated[Number, ranges.FRICTION] | None = Field(
        None,
        description="Sliding friction, where it is known for this ring and its fluid; it replaces the tables.",
        examples=[0.1],
    )
    drag_nm: Annotated[Number, ranges.DRAG] | None = Field(
        None, description="Of oil, bearings and clutch, at the gear wheel.", examples=[2]
    )
    chamfer_included_deg: Annotated[Number, ranges.CHAMFER] | None = Field(
        None, description="Between the two flanks of a tooth point.", examples=[110]
    )
    chamfer_friction: Annotated[Number, ranges.CHAMFER_FRICTION] | None = Field(
        None, description="Between sleeve and ring at the tooth points.", examples=[0.1]
    )
    spline_radius_mm: Annotated[Number, ranges.SPLINE_RADIUS] | None = Field(
        None, description="Of the sleeve's splines.", examples=[36]
    )
    shifts: Annotated[int, Field(strict=True), ranges.SHIFTS] | None = Field(
        None, description="How many, one after another.", examples=[10]
    )
    shift_interval_s: Annotated[Number, ranges.SHIFT_INTERVAL] | None = Field(
        None, description="From one shift to the next.", examples=[3]
    )
    sump_c: Annotated[Number, ranges.RING_SUMP] | None = Field(None, description="Of the oil.", examples=[80])
    start_c: Annotated[Number, ranges.RING_SUMP] | None = Field(
        None, description="Of the oil at the ring while its film is wiped away; left out, the sump's.", examples=[40]
    )
    condition: Condition | None = Field(None, description="Of the ring's crests or lining.", examples=["new"])
    detent_force_n: Annotated[Number, ranges.DETENT_FORCE] | None = Field(
        None, description="With which the ring is pushed on while its oil film is wiped away.", examples=[60]
    )
    contact_share: Annotated[Number, ranges.CONTACT_SHARE] | None = Field(
        None, description="Share of the face that touches: 1 is a perfectly true cone.", examples=[1]
    )

    _whole_counts = field_validator("cones", "shifts", mode="before")(whole)

    @field_validator("mean_radius_mm")
    @classmethod
    def _one_for_each_cone(cls, radius: float | tuple[float, ...] | None, info: ValidationInfo) -> Any:
        cones = info.data.get("cones")
        if isinstance(radius, tuple) and cones is not None and len(radius) != cones:
            raise PydanticCustomError("one_for_each_cone", "one radius for each of {cones} cones", {"cones": cones})
        return radius


class FlatShiftQuestion(QueryModel):
    """The shift question as the flat fields of a link; a radius may be given once for each cone."""

    facing: Identifier | None = as_in(ShiftQuestion, "facing")
    fluid: Identifier | None = as_in(ShiftQuestion, "fluid")
    inertia_kg_m2: Annotated[Plain, ranges.INERTIA] = Field(
        description="What the ring brings to speed, at the gear wheel.", examples=[0.01]
    )
    speed_difference_rpm: Annotated[Plain, ranges.SPEED_DIFFERENCE] = as_in(ShiftQuestion, "speed_difference_rpm", ...)
    direction: Direction | None = as_in(ShiftQuestion, "direction")
    shift_force_n: Annotated[Plain, ranges.SHIFT_FORCE] | None = as_in(ShiftQuestion, "shift_force_n")
    cones: Annotated[int, ranges.CONES] | None = as_in(ShiftQuestion, "cones")
    mean_radius_mm: Annotated[tuple[Annotated[Plain, ranges.RADIUS], ...], AtMost(3)] = Field(
        (), description="Of every cone, or given once for each.", examples=[[32]]
    )
    half_angle_deg: Annotated[Plain, ranges.HALF_ANGLE] | None = as_in(ShiftQuestion, "half_angle_deg")
    cone_half_angle_deg: Annotated[Plain, ranges.HALF_ANGLE] | None = as_in(ShiftQuestion, "cone_half_angle_deg")
    face_width_mm: Annotated[Plain, ranges.FACE_WIDTH] | None = as_in(ShiftQuestion, "face_width_mm")
    friction: Annotated[Plain, ranges.FRICTION] | None = as_in(ShiftQuestion, "friction")
    drag_nm: Annotated[Plain, ranges.DRAG] | None = as_in(ShiftQuestion, "drag_nm")
    chamfer_included_deg: Annotated[Plain, ranges.CHAMFER] | None = as_in(ShiftQuestion, "chamfer_included_deg")
    chamfer_friction: Annotated[Plain, ranges.CHAMFER_FRICTION] | None = as_in(ShiftQuestion, "chamfer_friction")
    spline_radius_mm: Annotated[Plain, ranges.SPLINE_RADIUS] | None = as_in(ShiftQuestion, "spline_radius_mm")
    shifts: Annotated[int, ranges.SHIFTS] | None = as_in(ShiftQuestion, "shifts")
    shift_interval_s: Annotated[Plain, ranges.SHIFT_INTERVAL] | None = as_in(ShiftQuestion, "shift_interval_s")
    sump_c: Annotated[Plain, ranges.RING_SUMP] | None = as_in(ShiftQuestion, "sump_c")
    start_c: Annotated[Plain, ranges.RING_SUMP] | None = as_in(ShiftQuestion, "start_c")
    condition: Condition | None = as_in(ShiftQuestion, "condition")
    detent_force_n: Annotated[Plain, ranges.DETENT_FORCE] | None = as_in(ShiftQuestion, "detent_force_n")
    contact_share: Annotated[Plain, ranges.CONTACT_SHARE] | None = as_in(ShiftQuestion, "contact_share")

    @field_validator("mean_radius_mm")
    @classmethod
    def _one_for_each_cone(cls, radii: tuple[float, ...], info: ValidationInfo) -> tuple[float, ...]:
        cones = info.data.get("cones")
        if len(radii) > 1 and cones is not None and len(radii) != cones:
            raise PydanticCustomError("one_for_each_cone", "one radius for each of {cones} cones", {"cones": cones})
        return radii

    def question(self) -> ShiftQuestion:
        """The same question as a POST would put it; a single radius is that of every cone."""
        given = self.model_dump(exclude_none=True, include=set(FlatShiftQuestion.model_fields))
        radii = given.pop("mean_radius_mm")
        return ShiftQuestion(**given, mean_radius_mm=radii[0] if len(radii) == 1 else radii or None)
