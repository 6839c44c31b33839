"""The shape of a row in the tables of complaints: symptoms, suspects, evidence and checks."""

from typing import Annotated, Literal

from pydantic import Field

from knowledge.loading.schema import CitedRow, Id, Key, Row
from knowledge.parts.provenance import Citation
from knowledge.parts.references import Refers
from knowledge.parts.request_model import optional
from knowledge.symptom.answer import FluidCures, FullCheck, Side

Seen = Annotated[str, Field(pattern=r"^[a-z_]+=[a-z0-9]+(-[a-z0-9]+)*(:[a-z-]+)?$")]


class SymptomRow(Row):
    """A complaint in the customer's words."""

    id: Id
    words: str
    means: str
    implies: tuple[Seen, ...] = Field(
        (), description="What it states by itself; `when` and `gears` only where the caller does not state them."
    )
    in_a_shift: bool = Field(True, description="It shows as a shift is made: when, and in which gear, tells something.")
    on_bench: bool = Field(False, description="It can only be seen with the box apart.")
    needless_checks: Annotated[tuple[str, ...], Refers("checks")] = Field(
        (), description="Checks that show nothing of it, whatever they show of a suspect."
    )
    suspects: Annotated[tuple[str, ...], Field(min_length=1), Refers("suspects")] = Field(
        description="Who can be behind it, in the order in which a rebuilder names them. Where no fluid is among them "
        "none causes it, and none cures it."
    )
    check: str
    cautions: Annotated[tuple[str, ...], Refers("cautions")] = ()
    sources: tuple[Citation, ...]


class SuspectRow(Row):
    """What may be behind a complaint."""

    id: Id
    side: Side
    words: Annotated[str, Field(max_length=50)] = Field(description="As it reads in a sentence.")
    what_it_is: str
    fluid_cures: FluidCures = Field(description="Whether a change of fluid can cure it.")
    fluid_reason: str
    opens: Annotated[str, Field(max_length=76)] | None = optional(
        "What is done first where it is a leading suspect, in place of whether oil cures it."
    )
    opens_unless: tuple[Seen, ...] = Field((), description="Not once one of these was seen.")
    impossible_when: tuple[Seen, ...] = Field((), description="No suspect at all once one of these was seen.")
    shown_by: tuple[Seen, ...] = Field(
        (),
        description="Once one of these was seen it has a say in whether fluid can cure it, whoever leads; one seen on "
        "the bench makes it lead.",
    )
    cautions: Annotated[tuple[str, ...], Refers("cautions")] = ()
    sources: tuple[Citation, ...]


class EvidenceRow(CitedRow):
    """How far one thing seen moves one suspect."""

    keys = (Key(("seen", "only_with", "suspect")),)

    seen: Seen = Field(description="A field of the question and its value, `field=value`.")
    only_with: Seen | None = optional("It counts only where this was seen too; blank: always.")
    suspect: Annotated[Id, Refers("suspects")]
    steps: Annotated[int, Field(ge=-3, le=3)] = Field(description="Above 0 for the suspect, below 0 against it.")
    reason: str


class CheckRow(FullCheck, Row):
    """Something a person can do to tell suspects apart."""

    id: Id
    cost_apart: Annotated[int, Field(ge=1, le=9)] | None = optional(
        "The cost once the box is apart, where that makes a difference."
    )
    impossible_when: tuple[Seen, ...] = Field((), description="Cannot be made once one of these was seen.")
    only_when: tuple[Seen, ...] = Field((), description="Made only once one of these was seen; empty: always.")
    always_when: tuple[Seen, ...] = Field((), description="Wanted whenever one of these was seen, whoever leads.")
    tells: (
        Literal["when", "engine_off_same", "double_clutch_cures", "after_fluid_change", "ring_gap", "grip_test"] | None
    ) = None
    cautions: Annotated[tuple[str, ...], Refers("cautions")] = ()
