"""What a caller may ask, as it travels over the wire.

Absent and `null` both mean *the caller does not know*; nothing here has a silent default. Ids (facing,
body, duty, family ...) are plain strings, however they are spelt: `knowledge.ids` makes ids of the words that callers
use and checks them against the tables, so a new facing is a new table row and not a new version of these models.
"""

import re
from collections.abc import Mapping
from typing import Annotated, Any, ClassVar
from urllib.parse import quote_plus

from pydantic import Field, ValidationInfo, field_validator
from pydantic_core import PydanticCustomError

from knowledge.parts.jug import Jug, Label
from knowledge.parts.query_model import QueryModel
from knowledge.parts.ranges import COLDEST_START, CONES, HOT_SUMP, SERVICE_INTERVAL
from knowledge.parts.references import Refers
from knowledge.parts.request_model import (
    OR_A_WORD,
    AtMost,
    Condition,
    Echoed,
    FinalDrive,
    Flag,
    Grade,
    Identifier,
    Number,
    Plain,
    RequestModel,
    Words,
    as_in,
    optional,
)
from knowledge.parts.ring import FluidNamed, Ring, RingGeometry

MOST_RING_SETS = 12
MOST_UNANSWERABLE = 20

Pointer = Annotated[str, Field(pattern=r"^/[a-z0-9_/]+$", max_length=80)]


class ServiceData(FluidNamed):
    """What the manufacturer of the box published for it."""

    note: Words | None = optional("Where it is printed, in the caller's words.", "book, page 12")
    interval_km: Annotated[Number, SERVICE_INTERVAL] | None = optional("How often it has the fluid changed.", 80_000)


class Bearing(RequestModel):
    """The bearing that is judged on the hot side."""

    pitch_diameter_mm: Annotated[Number, Field(ge=5, le=1000, description="Mean of bore and outside diameter.")]
    speed_rpm: Annotated[Number, Field(ge=1, le=30_000, description="Speed of the inner ring against the outer.")]


class Mesh(RequestModel):
    """The gear pair whose oil film is judged, at its pitch point."""

    driving_radius_mm: Annotated[Number, Field(ge=1, le=1000, description="Pitch radius of the driving gear.")]
    driven_radius_mm: Annotated[Number, Field(ge=1, le=1000, description="Pitch radius of the driven gear.")]
    pressure_angle_deg: Annotated[Number, Field(ge=10, le=35, description="Pressure angle at the pitch circle.")]
    speed_rpm: Annotated[Number, Field(ge=1, le=30_000, description="Speed of the driving gear.")]
    torque_nm: Annotated[Number, Field(ge=0.1, le=10_000, description="Torque on the driving gear.")]
    face_width_mm: Annotated[Number, Field(ge=1, le=500, description="Width of the teeth that are in contact.")]
    composite_roughness_um: Annotated[Number, Field(ge=0.01, le=10, description="Root of the summed squares of Rq.")]


class FillQuestion(Echoed):
    """Which lubricant classes fit this box? Every field may be left out; `{}` is a question too."""

    read_only: ClassVar[Mapping[str, str]] = {
        "assumed": "What an answer in full took as given.",
        "from_box": "What an answer in full took from a box of the shop.",
        "id": "Of a box of /v1/shop/boxes; to name one, send `box_ref`.",
        "name": "What the shop calls the box.",
        "capacity_l": "What the box holds.",
        "notes": "What the shop notes about the box.",
    }

    box_ref: Annotated[Identifier | None, Refers("boxes")] = optional(
        "An id of /v1/shop/boxes; that box fills in whatever the question leaves out.", "bench-paper-5"
    )
    box_kind: Annotated[Identifier | None, Refers("box_kinds")] = optional(
        "What it is out of: a layout or one of its eras.", "front-drive"
    )
    rings: Annotated[tuple[Ring, ...], AtMost(MOST_RING_SETS)] | None = optional(
        "Synchronizer ring sets; `[]` says that the box has none, `null` that nobody knows."
    )
    yellow_metal: Flag | None = optional(
        "Any copper alloy wetted by the oil: bushings, thrust washers, fork pads, cages.", True
    )
    final_drive: Annotated[FinalDrive | None, OR_A_WORD, Refers("final_drives")] = optional(
        "Final drive in the same sump.", "none"
    )
    limited_slip: Flag | None = optional("A limited-slip clutch pack shares the sump.", False)
    wet_clutch: Flag | None = optional("A wet clutch shares the sump.", False)
    coldest_start_c: Annotated[Number, COLDEST_START] | None = optional(
        "Temperature of the oil at the coldest start of the year.", -20
    )
    sump_hot_c: Annotated[Number, HOT_SUMP] | None = optional("Temperature of the oil at its hottest.", 95)
    duty: Annotated[Identifier | None, Refers("duties")] = optional("How it is driven; an id of /v1/duties.", "street")
    service_data: ServiceData | None = optional("What the manufacturer published; it decides.")
    unanswerable: Annotated[tuple[Pointer, ...], AtMost(MOST_UNANSWERABLE), Refers("questions")] = Field(
        (),
        description="JSON pointers of questions that the caller cannot answer; they are not asked again.",
        examples=[["/rings/0/facing"]],
    )
    in_it_now: Jug | None = optional("The fluid that is in the box now.")
    on_hand: Annotated[tuple[Jug, ...], AtMost(50)] = Field((), description="Jugs to judge for this box.")
    use_shelf: Flag = Field(False, description="Judge the jugs of /v1/shop/shelf too.", examples=[False])
    bearing: Bearing | None = optional("The bearing to judge; left out, one of usual size is assumed.")
    mesh: Mesh | None = optional("The gear pair to judge; left out, one of usual size is assumed.")
    ring_geometry: RingGeometry | None = optional(
        "The cone that wipes its film away; left out, a ring of usual size is assumed."
    )

    @property
    def is_without_rings(self) -> bool:
        """Whether it surely has no rings and no hypoid gears: there a label that claims MT-1 too counts as that."""
        return self.rings == () and self.final_drive != "hypoid"


PARTS_OF_RINGS = ("body", "cones", "condition", "replaced", "ring_fluid_family", "ring_fluid_grade", "other_facing")


class FlatBox(QueryModel):
    """A box as the flat fields of a link; `facing=none` says that it has no rings."""

    box_ref: Identifier | None = as_in(FillQuestion, "box_ref")
    use_shelf: bool = as_in(FillQuestion, "use_shelf", False)
    box_kind: Annotated[Identifier | None, Refers("box_kinds")] = as_in(FillQuestion, "box_kind")
    facing: Annotated[Identifier | None, Refers("facings", also=("none",))] = optional(
        "Friction material at the cone, an id of /v1/facings; `none` says that there are no rings.", "paper"
    )
    body: Annotated[Identifier | None, Refers("bodies")] = as_in(Ring, "body")
    cones: Annotated[int, CONES] | None = as_in(Ring, "cones")
    condition: Annotated[Condition | None, OR_A_WORD] = as_in(Ring, "condition")
    replaced: bool | None = as_in(Ring, "replaced")
    ring_fluid_family: Annotated[Identifier | None, Refers("families")] = as_in(FluidNamed, "family")
    ring_fluid_grade: Grade | None = as_in(FluidNamed, "grade")
    other_facing: Annotated[tuple[Identifier, ...], AtMost(MOST_RING_SETS - 1), Refers("facings")] = Field(
        (),
        description="Facings of further ring sets of which nothing else is known, one each; repeat it for several.",
        examples=[["sintered"]],
    )
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
    service_interval_km: Annotated[Plain, SERVICE_INTERVAL] | None = as_in(ServiceData, "interval_km")
    in_it_family: Annotated[Identifier | None, Refers("families")] = as_in(Label, "family")
    in_it_grade: Grade | None = as_in(Label, "grade")
    unanswerable: tuple[Pointer, ...] = as_in(FillQuestion, "unanswerable", ())

    @field_validator(*PARTS_OF_RINGS)
    @classmethod
    def _no_rings_have_no_parts(cls, part: Any, info: ValidationInfo) -> Any:
        if part not in (None, ()) and info.data.get("facing") == "none":
            raise PydanticCustomError("no_rings_no_parts", "facing=none says that there are no rings")
        return part


class FlatFillQuestion(FlatBox):
    """The fill question as the flat fields of a link; `facing=none` says that the box has no rings."""

    def question(self) -> FillQuestion:
        """The same question as a POST would put it."""
        return question_of_box(self.model_dump(exclude_none=True, exclude={"detail"}))


def question_of_box(flat: dict[str, Any]) -> FillQuestion:
    """The fill question that these fields of a link put; they are used up."""
    ring = {name: flat.pop(name) for name in FLAT_RING_FIELDS if name in flat}
    others = [{"facing": facing} for facing in flat.pop("other_facing", ())]
    parts: dict[str, dict[str, Any]] = {part: {} for part in FLAT_PARTS}
    for part, prefix in FLAT_PARTS.items():
        for name in list(flat):
            if name.startswith(prefix):
                parts[part][name.removeprefix(prefix)] = flat.pop(name)
    if parts["fluid_named"]:
        ring["fluid_named"] = parts["fluid_named"]
    rings = [] if ring.get("facing") == "none" else [ring, *others] if ring or others else None
    now = {"label": parts["in_it_now"]} if parts["in_it_now"] else None
    service = parts["service_data"] or None
    return FillQuestion.model_validate({**flat, "rings": rings, "service_data": service, "in_it_now": now})


# The parts of a question that a link holds as flat fields of a prefix.
FLAT_PARTS = {"service_data": "service_", "fluid_named": "ring_fluid_", "in_it_now": "in_it_"}
FLAT_FIELDS = tuple(FlatBox.model_fields)
NEEDS_NO_QUOTES = re.compile(r"[A-Za-z0-9.-]*\Z").match
FLAT_RING_FIELDS = ("facing", "body", "cones", "condition", "replaced")
PLAIN_FIELDS = tuple(name for name in FLAT_FIELDS if name in FillQuestion.model_fields and name != "use_shelf")
FITS_NO_LINK = ("on_hand", "bearing", "mesh", "ring_geometry")


def link_query(question: FillQuestion, patch: Mapping[str, Any] | None = None) -> str | None:
    """The query of the link that asks the same, with some top-level fields replaced; None where no link can.

    The inverse of `FlatFillQuestion.question`.
    """
    changed = patch or {}
    if any(getattr(question, name) for name in FITS_NO_LINK):
        return None
    given = {name: changed.get(name, getattr(question, name)) for name in (*PLAIN_FIELDS, "rings", *LINKED_PARTS)}
    flat = {name: given[name] for name in PLAIN_FIELDS}
    flat["use_shelf"] = question.use_shelf or None
    for found in (_flat_rings(given["rings"]), _flat("service_", given["service_data"]), _flat_jug(given["in_it_now"])):
        if found is None:
            return None
        flat |= found
    known = [(name, value) for name in FLAT_FIELDS if (value := flat.get(name)) is not None]
    return "&".join([f"{name}={_quoted(one)}" for name, of in known for one in (of if type(of) is tuple else (of,))])


LINKED_PARTS = ("service_data", "in_it_now")


def _known(part: Any) -> dict[str, Any]:
    """What is known of a part, given as a model or as its JSON."""
    given = part if isinstance(part, dict) else dict(part)
    return {name: value for name, value in given.items() if value is not None}


def _flat(prefix: str, part: Any) -> dict[str, Any] | None:
    """The flat fields of a part; none where it is not given, None where it says nothing."""
    if part is None:
        return {}
    known = _known(part)
    return {f"{prefix}{name}": value for name, value in known.items()} or None


def _flat_jug(jug: Any) -> dict[str, Any] | None:
    """The flat fields of what is in the box; None for a jug of which more is known than its label."""
    if jug is None:
        return {}
    known = _known(jug)
    label = _flat("in_it_", known.pop("label", None))
    is_plain = label and label.keys() <= set(FLAT_FIELDS) and not any(known.values())
    return label if is_plain else None


def _flat_rings(rings: Any) -> dict[str, Any] | None:
    """The flat fields of no rings, or of one set beside which of any other only the facing is known; None for more."""
    if rings is None:
        return {}
    if not rings:
        return {"facing": "none"}
    known, *others = map(_known, rings)
    named = _flat("ring_fluid_", known.pop("fluid_named", None))
    is_plain = known.keys() <= set(FLAT_RING_FIELDS) and all(other.keys() == {"facing"} for other in others)
    facings = [ring.get("facing") for ring in (known, *others)]
    if named is None or not (known or named or others) or not is_plain or "none" in facings:
        return None
    return {**known, **named, "other_facing": tuple(facings[1:])}


def _quoted(value: Any) -> str:
    """`true`, `-20`, `-20.25` or the text itself, as it may stand in a query."""
    if isinstance(value, bool):
        return "true" if value else "false"
    text = f"{value}".removesuffix(".0") if isinstance(value, float) else f"{value}"
    return text if NEEDS_NO_QUOTES(text) else quote_plus(text)
