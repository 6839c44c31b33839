"""What may be asked about a complaint."""

from typing import Annotated, Literal

from pydantic import Field
from typing_extensions import TypeAliasType

from knowledge.box.question import FillQuestion
from knowledge.parts.references import Refers
from knowledge.parts.request_model import AtMost, Flag, Identifier, Number, RequestModel, optional

When = TypeAliasType("When", Literal["cold", "hot", "always", "fast-shifts-only"])
Gears = TypeAliasType("Gears", Literal["one", "several", "all", "reverse"])
FluidState = TypeAliasType("FluidState", Literal["milky", "burnt", "glitter", "low", "dark"])
GripTest = TypeAliasType("GripTest", Literal["locks", "slips"])

Gap = Annotated[Number, Field(ge=0, le=20)]


class RingGap(RequestModel):
    """The gap between ring and gear, and the limit that the service data sets for it."""

    measured_mm: Gap | None = optional("Ring pushed onto its cone by hand.")
    service_limit_mm: Gap | None = optional("Limit from the service data of this very box; there is no other.")
    worn_when: Literal["smaller", "larger"] | None = optional(
        "On some sets wear makes the gap smaller, on others larger: the service data says which."
    )


class SymptomQuestion(RequestModel):
    """Is it the fluid at all? Every field may be left out; the order of the lists means nothing."""

    symptoms: Annotated[tuple[Identifier, ...], AtMost(20), Refers("symptoms")] = Field(
        (), description="Complaints: ids of /v1/symptoms.", examples=[["grinds-one-gear"]]
    )
    when: When | None = optional("When it shows.")
    gears: Gears | None = optional("Where it shows.")
    engine_off_same: Flag | None = optional("With the engine off the same shift is just as bad.")
    double_clutch_cures: Flag | None = optional("Double-clutching makes the shift clean.")
    after_fluid_change: Flag | None = optional("It began with a change of fluid.")
    fluid_state: Annotated[tuple[FluidState, ...], AtMost(20)] = Field(
        (), description="What the oil looks and smells like."
    )
    ring_gap: RingGap | None = optional("The gap between ring and cone, once the box is apart.")
    grip_test: GripTest | None = optional("Cone oiled, ring pushed on by hand and turned: it locks, or it slips round.")
    question: FillQuestion | None = optional(
        "The box and what is in it, as in a fill question: then the fluid is judged by figures."
    )
