"""What a caller may ask, as it travels over the wire.

Absent and `null` both mean *the caller does not know*; nothing here has a silent default. Ids (facing,
body, duty, family ...) are plain strings, however they are spelt: `knowledge.vocabulary` checks them against the
tables, so a new facing is a new table row and not a new version of these models, and a capital is told like any
other mistake, with the nearest id.
"""

import re
from typing import Annotated, Any, Literal

from pydantic import AfterValidator, BaseModel, ConfigDict, Field, GetCoreSchemaHandler, ValidationInfo, field_validator
from pydantic_core import PydanticCustomError, PydanticKnownError, core_schema
from typing_extensions import TypeAliasType

from knowledge.linked import Linked
from knowledge.ranges import (
    COLDEST_START,
    CONES,
    DETENT_FORCE,
    FACE_WIDTH,
    HALF_ANGLE,
    HOT_SUMP,
    RADIUS,
    TEMPERATURE,
    VISCOSITY,
)


def whole(value: Any) -> Any:
    """A whole number by either of its spellings in JSON, `2` and `2.0`."""
    return int(value) if isinstance(value, float) and value.is_integer() else value


class AtMost:
    """A list of no more than so many entries, counted before any is read: every wrong one costs time to tell."""

    def __init__(self, count: int) -> None:
        self.count = count

    def __get_pydantic_core_schema__(self, source: Any, handler: GetCoreSchemaHandler) -> core_schema.CoreSchema:
        """The schema of the list behind the count."""
        return core_schema.no_info_before_validator_function(
            self._counted, {**handler(source), "max_length": self.count}
        )

    def _counted(self, given: Any) -> Any:
        if isinstance(given, (list, tuple)) and len(given) > self.count:
            context = {"field_type": "List", "max_length": self.count, "actual_length": len(given)}
            raise PydanticKnownError("too_long", context)
        return given


SAYS_NOTHING = {"", "na", "none", "null", "unknown", "notknown", "dontknow", "idontknow"}


def says_nothing(text: str) -> bool:
    """Whether a text only says that nothing is known: `unknown`, `n/a`, `?`, blanks, signs that cannot be seen."""
    return re.sub("[^0-9a-z]", "", text.lower()) in SAYS_NOTHING


def _says_something(text: str) -> str:
    if says_nothing(text):
        raise PydanticCustomError("says_nothing", "must be a grade; leave it out when it is not known")
    return text


LONGEST_ID = 60
Identifier = Annotated[str, Field(min_length=1, max_length=LONGEST_ID)]
Words = Annotated[str, Field(max_length=200)]
Flag = Annotated[bool, Field(strict=True)]
Number = Annotated[float, Field(strict=True, allow_inf_nan=False)]
# A number in a link, where everything is text.
Plain = Annotated[float, Field(allow_inf_nan=False)]
Temperature = Annotated[Number, TEMPERATURE]
Viscosity = Annotated[Number, VISCOSITY]
DynamicViscosity = Annotated[Number, Field(gt=0, le=10_000_000)]
Density = Annotated[Number, Field(ge=700, le=1200)]
Hours = Annotated[Number, Field(gt=0, le=1000)]
Grade = Annotated[
    str,
    # A generator of clients or of tests is told as much of the check as a pattern can say.
    Field(min_length=1, max_length=40, json_schema_extra={"pattern": "[0-9A-Za-z]"}),
    AfterValidator(_says_something),
]
Cones = Annotated[int, Field(strict=True), CONES]
Condition = TypeAliasType("Condition", Literal["new", "worn"])
FinalDrive = TypeAliasType("FinalDrive", Literal["none", "helical", "hypoid"])
MOST_RING_SETS = 12


def without_defaults(schema: dict[str, Any]) -> None:
    """Leave the defaults out of a schema: some clients take a field with one for a field that must be sent."""
    for field in schema["properties"].values():
        field.pop("default", None)


class Asked(BaseModel):
    """Base of every part of a question: frozen, and a mistyped field is told, not ignored."""

    model_config = ConfigDict(extra="forbid", frozen=True, json_schema_extra=without_defaults)

    @field_validator("*")
    @classmethod
    def _plain_zero(cls, value: Any) -> Any:
        """Minus zero is zero: equal questions read the same."""
        return value + 0.0 if isinstance(value, float) else value


class Ring(Asked):
    """One set of synchronizer rings."""

    gears: Words | None = Field(
        None, description="Which gears the set serves, in the caller's words.", examples=["1-2"]
    )
    facing: Identifier | None = Field(
        None, description="Friction material at the cone; an id of /v1/facings.", examples=["paper"]
    )
    body: Identifier | None = Field(
        None, description="What the ring itself is made of; an id of /v1/bodies.", examples=["steel"]
    )
    cones: Cones | None = Field(None, description="Friction interfaces in series.", examples=[1])
    condition: Condition | None = Field(
        None, description="Worn: the crests of the thread are flat, or the lining is thin.", examples=["new"]
    )

    _whole_cones = field_validator("cones", mode="before")(whole)


class ServiceData(Asked):
    """What the manufacturer of the box published for it."""

    family: Identifier | None = Field(None, description="An id of /v1/families.", examples=["mtf"])
    grade: Grade | None = Field(None, description="Viscosity grade as printed.", examples=["75W-80"])
    note: Words | None = Field(None, description="Where it is printed.", examples=["book, page 12"])


class Label(Asked):
    """What the front of a jug claims."""

    family: Identifier | None = Field(None, description="An id of /v1/families.", examples=["gl-4"])
    grade: Grade | None = Field(None, description="Viscosity grade as printed.", examples=["75W-90"])


class ColdViscosity(Asked):
    """One measured point of ASTM D2983."""

    temperature_c: Temperature = Field(description="Of the oil when it was measured.", examples=[-40])
    viscosity_mpa_s: DynamicViscosity = Field(description="Dynamic viscosity measured there.", examples=[110_000])


class CopperStrip(Asked):
    """One result of ASTM D130; without temperature and hours it says little."""

    rating: Identifier = Field(description="1a is best, 4c is worst.", examples=["1b"])
    temperature_c: Temperature | None = Field(None, description="Of the bath.", examples=[121])
    hours: Hours | None = Field(None, description="How long the strip lay in it.", examples=[3])


class Jug(Asked):
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
    limited_slip: Flag | None = Field(
        None, description="The label or sheet speaks of a limited-slip friction modifier."
    )

    @field_validator("kv100_mm2_s")
    @classmethod
    def _thinner_when_hot(cls, kv100_mm2_s: float | None, info: ValidationInfo) -> float | None:
        kv40_mm2_s = info.data.get("kv40_mm2_s")
        if kv100_mm2_s is not None and kv40_mm2_s is not None and kv100_mm2_s >= kv40_mm2_s:
            raise PydanticCustomError("not_thinner_when_hot", "kv100_mm2_s must be below kv40_mm2_s")
        return kv100_mm2_s


class Bearing(Asked):
    """The bearing that is judged on the hot side."""

    pitch_diameter_mm: Annotated[Number, Field(ge=5, le=1000, description="Mean of bore and outside diameter.")]
    speed_rpm: Annotated[Number, Field(ge=1, le=30_000, description="Of the inner ring against the outer.")]


class Mesh(Asked):
    """The gear pair whose oil film is judged, at its pitch point."""

    driving_radius_mm: Annotated[Number, Field(ge=1, le=1000, description="Pitch radius of the driving gear.")]
    driven_radius_mm: Annotated[Number, Field(ge=1, le=1000, description="Pitch radius of the driven gear.")]
    pressure_angle_deg: Annotated[Number, Field(ge=10, le=35, description="At the pitch circle.")]
    speed_rpm: Annotated[Number, Field(ge=1, le=30_000, description="Of the driving gear.")]
    torque_nm: Annotated[Number, Field(ge=0.1, le=10_000, description="On the driving gear.")]
    face_width_mm: Annotated[Number, Field(ge=1, le=500, description="Of the teeth that are in contact.")]
    composite_roughness_um: Annotated[Number, Field(ge=0.01, le=10, description="Root of the summed squares of Rq.")]


class RingGeometry(Asked):
    """The cone that wipes its film away before it grips; fields left out are assumed."""

    mean_radius_mm: Annotated[Number, RADIUS] | None = Field(None, description="Of the cone.")
    face_width_mm: Annotated[Number, FACE_WIDTH] | None = Field(None, description="Along the cone surface.")
    half_angle_deg: Annotated[Number, HALF_ANGLE] | None = Field(None, description="Between cone surface and axis.")
    detent_force_n: Annotated[Number, DETENT_FORCE] | None = Field(
        None, description="With which the ring is pushed on while its oil film is wiped away."
    )


class FillQuestion(Asked):
    """Which lubricant classes fit this box? Every field may be left out; `{}` is a question too."""

    box_ref: Identifier | None = Field(
        None,
        description="An id of /v1/shop/boxes; that box fills in whatever the question leaves out.",
        examples=["bench-paper-5"],
    )
    rings: Annotated[tuple[Ring, ...], AtMost(MOST_RING_SETS)] | None = Field(
        None, description="Synchronizer ring sets; `[]` says that the box has none, `null` that nobody knows."
    )
    yellow_metal: Flag | None = Field(
        None,
        description="Any copper alloy wetted by the oil: bushings, thrust washers, fork pads, cages.",
        examples=[True],
    )
    final_drive: FinalDrive | None = Field(None, description="Final drive in the same sump.", examples=["none"])
    limited_slip: Flag | None = Field(None, description="A limited-slip clutch pack shares the sump.", examples=[False])
    wet_clutch: Flag | None = Field(None, description="A wet clutch shares the sump.", examples=[False])
    coldest_start_c: Annotated[Number, COLDEST_START] | None = Field(
        None, description="Of the oil at the coldest start of the year.", examples=[-20]
    )
    sump_hot_c: Annotated[Number, HOT_SUMP] | None = Field(
        None, description="Of the oil at its hottest.", examples=[95]
    )
    duty: Identifier | None = Field(None, description="How it is driven; an id of /v1/duties.", examples=["street"])
    service_data: ServiceData | None = Field(None, description="What the manufacturer published; it decides.")
    in_it_now: Jug | None = Field(None, description="The fluid that is in the box now.")
    on_hand: Annotated[tuple[Jug, ...], AtMost(50)] = Field((), description="Jugs to judge for this box.")
    use_shelf: Flag = Field(False, description="Judge the jugs of /v1/shop/shelf too.", examples=[False])
    bearing: Bearing | None = Field(None, description="Left out, one of usual size is assumed.")
    mesh: Mesh | None = Field(None, description="Left out, one of usual size is assumed.")
    ring_geometry: RingGeometry | None = Field(None, description="Left out, a ring of usual size is assumed.")


def as_in(model: type[BaseModel], name: str, default: Any = None) -> Any:
    """A flat field in the words of the field it stands for."""
    field = model.model_fields[name]
    return Field(default, description=field.description, examples=field.examples)


class FlatFillQuestion(Linked):
    """The fill question as the flat fields of a link; `facing=none` says that the box has no rings."""

    box_ref: Identifier | None = as_in(FillQuestion, "box_ref")
    use_shelf: bool = as_in(FillQuestion, "use_shelf", False)
    facing: Identifier | None = Field(
        None,
        description="Friction material at the cone, an id of /v1/facings; `none` says that there are no rings.",
        examples=["paper"],
    )
    body: Identifier | None = as_in(Ring, "body")
    cones: Annotated[int, CONES] | None = as_in(Ring, "cones")
    condition: Condition | None = as_in(Ring, "condition")
    yellow_metal: bool | None = as_in(FillQuestion, "yellow_metal")
    final_drive: FinalDrive | None = as_in(FillQuestion, "final_drive")
    limited_slip: bool | None = as_in(FillQuestion, "limited_slip")
    wet_clutch: bool | None = as_in(FillQuestion, "wet_clutch")
    coldest_start_c: Annotated[Plain, COLDEST_START] | None = as_in(FillQuestion, "coldest_start_c")
    sump_hot_c: Annotated[Plain, HOT_SUMP] | None = as_in(FillQuestion, "sump_hot_c")
    duty: Identifier | None = as_in(FillQuestion, "duty")
    service_family: Identifier | None = as_in(ServiceData, "family")
    service_grade: Grade | None = as_in(ServiceData, "grade")
    service_note: Words | None = as_in(ServiceData, "note")

    @field_validator("body", "cones", "condition")
    @classmethod
    def _no_rings_have_no_parts(cls, part: Any, info: ValidationInfo) -> Any:
        if part is not None and info.data.get("facing") == "none":
            raise PydanticCustomError("no_rings_no_parts", "facing=none says that there are no rings")
        return part

    def question(self) -> FillQuestion:
        """The same question as a POST would put it."""
        said = self.model_dump(exclude_none=True)
        ring = {name: said.pop(name) for name in ("facing", "body", "cones", "condition") if name in said}
        service = {name: said.pop(flat) for name in ServiceData.model_fields if (flat := f"service_{name}") in said}
        rings = [] if self.facing == "none" else [ring] if ring else None
        return FillQuestion.model_validate({**said, "rings": rings, "service_data": service or None})
