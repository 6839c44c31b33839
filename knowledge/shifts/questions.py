"""What may be asked about one synchronized shift."""

from collections.abc import Mapping
from typing import Annotated, Any, Literal

from pydantic import (
    BaseModel,
    BeforeValidator,
    ConfigDict,
    Field,
    GetCoreSchemaHandler,
    ValidationInfo,
    ValidatorFunctionWrapHandler,
    WrapValidator,
    field_validator,
)
from pydantic_core import PydanticCustomError, core_schema

from knowledge.questions import Asked, Condition, Cones, Identifier, Number, whole

Direction = Literal["up", "down"]
Plain = Annotated[float, Field(allow_inf_nan=False)]

# One range for a field, whether it comes as JSON or as text in a link.
INERTIA = Field(ge=1e-6, le=10)
OTHER_INERTIA = Field(ge=0, le=10)
RATIO = Field(ge=0.05, le=20)
SPEED = Field(ge=1, le=20_000)
FORCE = Field(ge=1, le=20_000)
LEAST_RADIUS_MM, MOST_RADIUS_MM = 10.0, 300.0
RADIUS = Field(ge=LEAST_RADIUS_MM, le=MOST_RADIUS_MM)
ANGLE = Field(ge=3, le=20)
WIDTH = Field(ge=1, le=50)
FRICTION = Field(ge=0.005, le=0.5)
DRAG = Field(ge=0, le=1000)
CHAMFER = Field(ge=60, le=140)
CHAMFER_FRICTION = Field(ge=0, le=0.3)
SPLINE = Field(ge=10, le=400)
SHIFTS = Field(ge=1, le=1000)
INTERVAL = Field(ge=0.1, le=3600)
SUMP = Field(ge=-40, le=180)
DETENT = Field(ge=1, le=2000)
SHARE = Field(ge=0.05, le=1)


class OneSentence:
    """Makes a field of several shapes speak of its faults once, at the field itself."""

    def __init__(self, code: str) -> None:
        self.code = code

    def __get_pydantic_core_schema__(self, source: Any, handler: GetCoreSchemaHandler) -> core_schema.CoreSchema:
        """The schema of the union with one fault for all of its shapes."""
        return {**handler(source), "custom_error_type": self.code, "custom_error_message": "is of no known shape"}


def _parts_speak_for_themselves(given: Any, handler: ValidatorFunctionWrapHandler) -> "float | InertiaParts":
    """An object is read part by part, so that a fault in one of them is told where it stands."""
    return InertiaParts.model_validate(given) if isinstance(given, Mapping) else handler(given)


class InertiaParts(Asked):
    """What has to be turned, part by part; it is reduced to the gear wheel through the ratios."""

    gear: Annotated[Number, INERTIA] = Field(description="Of the gear wheel itself [kg·m²].")
    layshaft: Annotated[Number, OTHER_INERTIA] = Field(0.0, description="Of the layshaft and all on it [kg·m²].")
    input: Annotated[Number, OTHER_INERTIA] = Field(0.0, description="Of input shaft and clutch disc [kg·m²].")
    ratio_constant: Annotated[Number, RATIO] = Field(1.0, description="Speed of the input over the layshaft's.")
    ratio_gear: Annotated[Number, RATIO] = Field(1.0, description="Speed of the layshaft over the gear wheel's.")


RadiusPerCone = Annotated[
    Annotated[Number, RADIUS] | Annotated[tuple[Annotated[Number, RADIUS], ...], Field(min_length=1, max_length=3)],
    OneSentence("radius_or_one_for_each_cone"),
]
Inertia = Annotated[
    Annotated[Number, INERTIA] | InertiaParts,
    OneSentence("inertia_or_its_parts"),
    WrapValidator(_parts_speak_for_themselves),
]


class ShiftQuestion(Asked):
    """What does this shift ask of the ring, and which facing stands it? Only the load must be stated."""

    facing: Identifier | None = Field(
        None, description="The facing to judge, an id of /v1/facings; null judges them all.", examples=["bronze"]
    )
    fluid: Identifier | None = Field(
        None, description="The fluid in the box, an id of /v1/lubricants.", examples=["mtf-75w-80"]
    )
    inertia_kg_m2: Inertia = Field(
        description="What the ring brings to speed, at the gear wheel: a number or its parts.", examples=[0.01]
    )
    speed_difference_rpm: Annotated[Number, SPEED] = Field(
        description="Between ring and gear wheel when the shift begins, without sign.", examples=[1500]
    )
    direction: Direction | None = Field(None, description="Up: the wheel has to slow down, and drag helps.")
    shift_force_n: Annotated[Number, FORCE] | None = Field(None, description="Along the shaft, on the ring.")
    cones: Cones | None = Field(None, description="Friction interfaces in series.")
    mean_radius_mm: RadiusPerCone | None = Field(None, description="Of every cone, or a list with one for each.")
    half_angle_deg: Annotated[Number, ANGLE] | None = Field(
        None, description="Between cone surface and axis; left out, the usual one of each facing."
    )
    cone_half_angle_deg: Annotated[Number, ANGLE] | None = Field(
        None, description="Of the gear's own cone, where it is measured apart from the ring."
    )
    face_width_mm: Annotated[Number, WIDTH] | None = Field(None, description="Along the cone surface.")
    friction: Annotated[Number, FRICTION] | None = Field(
        None, description="Sliding friction, where it is known for this ring and its fluid; it replaces the tables."
    )
    drag_nm: Annotated[Number, DRAG] | None = Field(None, description="Of oil, bearings and clutch, at the gear wheel.")
    chamfer_included_deg: Annotated[Number, CHAMFER] | None = Field(
        None, description="Between the two flanks of a tooth point."
    )
    chamfer_friction: Annotated[Number, CHAMFER_FRICTION] | None = None
    spline_radius_mm: Annotated[Number, SPLINE] | None = Field(None, description="Of the sleeve's splines.")
    shifts: Annotated[int, Field(strict=True), SHIFTS, BeforeValidator(whole)] | None = Field(
        None, description="How many, one after another."
    )
    shift_interval_s: Annotated[Number, INTERVAL] | None = Field(None, description="From one shift to the next.")
    sump_c: Annotated[Number, SUMP] | None = None
    start_c: Annotated[Number, SUMP] | None = Field(
        None, description="Of the oil at the ring while its film is wiped away; left out, the sump's."
    )
    condition: Condition | None = Field(None, description="Of the ring's crests or lining.")
    detent_force_n: Annotated[Number, DETENT] | None = Field(
        None, description="With which the ring is pushed on while its oil film is wiped away."
    )
    contact_share: Annotated[Number, SHARE] | None = Field(
        None, description="Share of the face that touches: 1 is a perfectly true cone."
    )

    @field_validator("mean_radius_mm")
    @classmethod
    def _one_for_each_cone(cls, radius: float | tuple[float, ...] | None, info: ValidationInfo) -> Any:
        cones = info.data.get("cones")
        if isinstance(radius, tuple) and cones is not None and len(radius) != cones:
            raise PydanticCustomError("one_for_each_cone", "one radius for each of {cones} cones", {"cones": cones})
        return radius


class FlatShiftQuestion(BaseModel):
    """The shift question as the flat fields of a link; a radius may be given once for each cone."""

    model_config = ConfigDict(extra="forbid", frozen=True)

    facing: Identifier | None = None
    fluid: Identifier | None = None
    inertia_kg_m2: Annotated[Plain, INERTIA]
    speed_difference_rpm: Annotated[Plain, SPEED]
    direction: Direction | None = None
    shift_force_n: Annotated[Plain, FORCE] | None = None
    cones: Annotated[int, Field(ge=1, le=3)] | None = None
    mean_radius_mm: tuple[Annotated[Plain, RADIUS], ...] = Field((), max_length=3)
    half_angle_deg: Annotated[Plain, ANGLE] | None = None
    cone_half_angle_deg: Annotated[Plain, ANGLE] | None = None
    face_width_mm: Annotated[Plain, WIDTH] | None = None
    friction: Annotated[Plain, FRICTION] | None = None
    drag_nm: Annotated[Plain, DRAG] | None = None
    chamfer_included_deg: Annotated[Plain, CHAMFER] | None = None
    chamfer_friction: Annotated[Plain, CHAMFER_FRICTION] | None = None
    spline_radius_mm: Annotated[Plain, SPLINE] | None = None
    shifts: Annotated[int, SHIFTS] | None = None
    shift_interval_s: Annotated[Plain, INTERVAL] | None = None
    sump_c: Annotated[Plain, SUMP] | None = None
    start_c: Annotated[Plain, SUMP] | None = None
    condition: Condition | None = None
    detent_force_n: Annotated[Plain, DETENT] | None = None
    contact_share: Annotated[Plain, SHARE] | None = None

    @field_validator("mean_radius_mm")
    @classmethod
    def _one_for_each_cone(cls, radii: tuple[float, ...], info: ValidationInfo) -> tuple[float, ...]:
        cones = info.data.get("cones")
        if len(radii) > 1 and cones is not None and len(radii) != cones:
            raise PydanticCustomError("one_for_each_cone", "one radius for each of {cones} cones", {"cones": cones})
        return radii

    def question(self) -> ShiftQuestion:
        """The same question as a POST would put it; a single radius is that of every cone."""
        given = self.model_dump(exclude_none=True)
        radii = given.pop("mean_radius_mm")
        return ShiftQuestion(**given, mean_radius_mm=radii[0] if len(radii) == 1 else radii or None)
