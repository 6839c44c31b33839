"""What a caller may ask, as it travels over the wire.

Absent and `null` both mean *the caller does not know*; nothing here has a silent default. Ids (facing,
body, duty, family ...) are plain strings, however they are spelt: `knowledge.ids` makes ids of the words that callers
use and checks them against the tables, so a new facing is a new table row and not a new version of these models.
"""

import re
from collections.abc import Mapping
from typing import Annotated, Any
from urllib.parse import quote_plus

from pydantic import Field, ValidationInfo, field_validator
from pydantic_core import PydanticCustomError

from knowledge.parts.jug import Jug
from knowledge.parts.query_model import QueryModel
from knowledge.parts.ranges import COLDEST_START, CONES, HOT_SUMP
from knowledge.parts.references import Refers
from knowledge.parts.request_model import (
    OR_A_WORD,
    AtMost,
    Condition,
    FinalDrive,
    Flag,
    Grade,
    Identifier,
    Number,
    Plain,
    RequestModel,
    Words,
    as_in,
)
from knowledge.parts.ring import Ring, RingGeometry

MOST_RING_SETS = 12


class ServiceData(RequestModel):
    """What the manufacturer of the box published for it."""

    family: Annotated[Identifier | None, Refers("families")] = Field(
        None, description="An id of /v1/families.", examples=["mtf"]
    )
    grade: Annotated[Grade | None, Refers("grades")] = Field(
        None, description="Viscosity grade as printed.", examples=["75W-80"]
    )
    note: Words | None = Field(None, description="Where it is printed.", examples=["book, page 12"])


class Bearing(RequestModel):
    """The bearing that is judged on the hot side."""

    pitch_diameter_mm: Annotated[Number, Field(ge=5, le=1000, description="Mean of bore and outside diameter.")]
    speed_rpm: Annotated[Number, Field(ge=1, le=30_000, description="Of the inner ring against the outer.")]


class Mesh(RequestModel):
    """The gear pair whose oil film is judged, at its pitch point."""

    driving_radius_mm: Annotated[Number, Field(ge=1, le=1000, description="Pitch radius of the driving gear.")]
    driven_radius_mm: Annotated[Number, Field(ge=1, le=1000, description="Pitch radius of the driven gear.")]
    pressure_angle_deg: Annotated[Number, Field(ge=10, le=35, description="At the pitch circle.")]
    speed_rpm: Annotated[Number, Field(ge=1, le=30_000, description="Of the driving gear.")]
    torque_nm: Annotated[Number, Field(ge=0.1, le=10_000, description="On the driving gear.")]
    face_width_mm: Annotated[Number, Field(ge=1, le=500, description="Of the teeth that are in contact.")]
    composite_roughness_um: Annotated[Number, Field(ge=0.01, le=10, description="Root of the summed squares of Rq.")]


class FillQuestion(RequestModel):
    """Which lubricant classes fit this box? Every field may be left out; `{}` is a question too."""

    box_ref: Annotated[Identifier | None, Refers("boxes")] = Field(
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
    final_drive: Annotated[FinalDrive | None, OR_A_WORD, Refers("final_drives")] = Field(
        None, description="Final drive in the same sump.", examples=["none"]
    )
    limited_slip: Flag | None = Field(None, description="A limited-slip clutch pack shares the sump.", examples=[False])
    wet_clutch: Flag | None = Field(None, description="A wet clutch shares the sump.", examples=[False])
    coldest_start_c: Annotated[Number, COLDEST_START] | None = Field(
        None, description="Of the oil at the coldest start of the year.", examples=[-20]
    )
    sump_hot_c: Annotated[Number, HOT_SUMP] | None = Field(
        None, description="Of the oil at its hottest.", examples=[95]
    )
    duty: Annotated[Identifier | None, Refers("duties")] = Field(
        None, description="How it is driven; an id of /v1/duties.", examples=["street"]
    )
    service_data: ServiceData | None = Field(None, description="What the manufacturer published; it decides.")
    in_it_now: Jug | None = Field(None, description="The fluid that is in the box now.")
    on_hand: Annotated[tuple[Jug, ...], AtMost(50)] = Field((), description="Jugs to judge for this box.")
    use_shelf: Flag = Field(False, description="Judge the jugs of /v1/shop/shelf too.", examples=[False])
    bearing: Bearing | None = Field(None, description="Left out, one of usual size is assumed.")
    mesh: Mesh | None = Field(None, description="Left out, one of usual size is assumed.")
    ring_geometry: RingGeometry | None = Field(None, description="Left out, a ring of usual size is assumed.")

    @property
    def is_without_rings(self) -> bool:
        """Whether it surely has no rings and no hypoid gears: there a label that claims MT-1 too counts as that."""
        return self.rings == () and self.final_drive != "hypoid"


class FlatFillQuestion(QueryModel):
    """The fill question as the flat fields of a link; `facing=none` says that the box has no rings."""

    box_ref: Identifier | None = as_in(FillQuestion, "box_ref")
    use_shelf: bool = as_in(FillQuestion, "use_shelf", False)
    facing: Annotated[Identifier | None, Refers("facings", also=("none",))] = Field(
        None,
        description="Friction material at the cone, an id of /v1/facings; `none` says that there are no rings.",
        examples=["paper"],
    )
    body: Annotated[Identifier | None, Refers("bodies")] = as_in(Ring, "body")
    cones: Annotated[int, CONES] | None = as_in(Ring, "cones")
    condition: Annotated[Condition | None, OR_A_WORD] = as_in(Ring, "condition")
    yellow_metal: bool | None = as_in(FillQuestion, "yellow_metal")
    final_drive: Annotated[FinalDrive | None, OR_A_WORD] = as_in(FillQuestion, "final_drive")
    limited_slip: bool | None = as_in(FillQuestion, "limited_slip")
    wet_clutch: bool | None = as_in(FillQuestion, "wet_clutch")
    coldest_start_c: Annotated[Plain, COLDEST_START] | None = as_in(FillQuestion, "coldest_start_c")
    sump_hot_c: Annotated[Plain, HOT_SUMP] | None = as_in(FillQuestion, "sump_hot_c")
    duty: Annotated[Identifier | None, Refers("duties")] = as_in(FillQuestion, "duty")
    service_family: Annotated[Identifier | None, Refers("families")] = as_in(ServiceData, "family")
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
        said = self.model_dump(exclude_none=True, exclude={"detail"})
        ring = {name: said.pop(name) for name in ("facing", "body", "cones", "condition") if name in said}
        service = {name: said.pop(flat) for name in ServiceData.model_fields if (flat := f"service_{name}") in said}
        rings = [] if self.facing == "none" else [ring] if ring else None
        return FillQuestion.model_validate({**said, "rings": rings, "service_data": service or None})


FLAT_FIELDS = tuple(FlatFillQuestion.model_fields)

NEEDS_NO_QUOTES = re.compile(r"[A-Za-z0-9.-]*\Z").match

SERVICE_FIELDS = tuple(ServiceData.model_fields)

FLAT_RING_FIELDS = frozenset({"facing", "body", "cones", "condition"})

PLAIN_FIELDS = tuple(name for name in FLAT_FIELDS if name in FillQuestion.model_fields and name != "use_shelf")

FITS_NO_LINK = ("in_it_now", "on_hand", "bearing", "mesh", "ring_geometry")


def link_query(question: FillQuestion, patch: Mapping[str, Any] | None = None) -> str | None:
    """The query of the link that asks the same, with some top-level fields replaced; None where no link can.

    The inverse of `FlatFillQuestion.question`.
    """
    changed = patch or {}
    if any(getattr(question, name) for name in FITS_NO_LINK):
        return None
    rings = changed.get("rings", question.rings)
    of_rings = _flat_rings(rings)
    service_data = question.service_data
    if of_rings is None or service_data == ServiceData():
        return None
    flat = dict(of_rings)
    for name in PLAIN_FIELDS:
        flat[name] = changed[name] if name in changed else getattr(question, name)
    flat["use_shelf"] = question.use_shelf or None
    for name in SERVICE_FIELDS:
        flat[f"service_{name}"] = getattr(service_data, name, None)
    known = ((name, flat.get(name)) for name in FLAT_FIELDS)
    return "&".join([f"{name}={_quoted(value)}" for name, value in known if value is not None])


def _flat_rings(rings: Any) -> Mapping[str, Any] | None:
    """The flat fields of no rings, or of one set of which something is known; None for any other."""
    if rings is None:
        return {}
    if not rings:
        return {"facing": "none"}
    ring = rings[0] if isinstance(rings[0], dict) else dict(rings[0])
    known = {name: value for name, value in ring.items() if value is not None}
    is_plain = bool(known) and known.keys() <= FLAT_RING_FIELDS and known.get("facing") != "none"
    return known if len(rings) == 1 and is_plain else None


def _quoted(value: Any) -> str:
    """`true`, `-20`, `-20.25` or the text itself, as it may stand in a query."""
    if isinstance(value, bool):
        return "true" if value else "false"
    text = f"{value}".removesuffix(".0") if isinstance(value, float) else f"{value}"
    return text if NEEDS_NO_QUOTES(text) else quote_plus(text)
