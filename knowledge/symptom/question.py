"""What may be asked about a complaint."""

from typing import Annotated, Literal

from pydantic import Field
from typing_extensions import TypeAliasType

from knowledge.box.linked import FlatQuestion, linked_beside_box
from knowledge.box.question import FillQuestion
from knowledge.parts.references import Refers
from knowledge.parts.request_model import ANY_CASE, AtMost, Flag, Identifier, Number, RequestModel, optional

When = TypeAliasType("When", Literal["cold", "hot", "always", "fast-shifts-only"])
Gears = TypeAliasType("Gears", Literal["one", "several", "all", "reverse"])
FluidState = TypeAliasType("FluidState", Literal["milky", "burnt", "glitter", "low", "dark"])
GripTest = TypeAliasType("GripTest", Literal["locks", "slips"])

Gap = Annotated[Number, Field(ge=0, le=20)]


class RingGap(RequestModel):
    """The gap between ring and gear, and the limit that the service data sets for it."""

    measured_mm: Gap | None = optional("Ring pushed onto its cone by hand.", 0.9)
    service_limit_mm: Gap | None = optional("Limit from the service data of this very box; there is no other.", 0.6)
    worn_when: Annotated[Literal["smaller", "larger"] | None, ANY_CASE] = optional(
        "On some sets wear makes the gap smaller, on others larger: the service data says which.", "smaller"
    )


class SymptomQuestion(RequestModel):
    """Is it the fluid at all? Every field may be left out; the order of the lists means nothing."""

    symptoms: Annotated[tuple[Identifier, ...], AtMost(20), Refers("symptoms")] = Field(
        (), description="Complaints: ids of /v1/symptoms.", examples=[["grinds-one-gear"]]
    )
    when: Annotated[When | None, ANY_CASE] = optional("When it shows.", "cold")
    gears: Annotated[Gears | None, ANY_CASE] = optional("Where it shows.", "one")
    engine_off_same: Flag | None = optional("With the engine off the same shift is just as bad.", False)
    double_clutch_cures: Flag | None = optional("Double-clutching makes the shift clean.", True)
    after_fluid_change: Flag | None = optional("It began with a change of fluid.", False)
    fluid_state: Annotated[tuple[Annotated[FluidState, ANY_CASE], ...], AtMost(20)] = Field(
        (), description="What the oil looks and smells like.", examples=[["dark"]]
    )
    ring_gap: RingGap | None = optional("The gap between ring and cone, once the box is apart.")
    grip_test: Annotated[GripTest | None, ANY_CASE] = optional(
        "Cone oiled, ring pushed on by hand and turned: it locks, or it slips round.", "slips"
    )
    question: FillQuestion | None = optional(
        "The box and what is in it, as in a fill question: then the fluid is judged by figures."
    )


@linked_beside_box(SymptomQuestion)
class FlatSymptomQuestion(FlatQuestion):
    """The symptom question as the flat fields of a link, with the box."""
