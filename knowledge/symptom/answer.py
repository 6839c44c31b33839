"""Fluid or hardware? The answer, short by itself and complete in full."""

from typing import Annotated, Literal

from pydantic import ConfigDict, Field
from typing_extensions import TypeAliasType

from knowledge.parts.notes import CautionNote, Message
from knowledge.parts.provenance import (
    Caution,
    Citation,
    Coded,
    Figure,
    Finding,
    KnowledgeStamp,
    ResponseModel,
    Source,
    Standing,
)
from knowledge.parts.references import Refers
from knowledge.shop.models import FromBox
from knowledge.symptom.question import SymptomQuestion

Side = TypeAliasType("Side", Literal["fluid", "hardware"])
FluidCures = TypeAliasType("FluidCures", Literal["yes", "maybe", "no"])


class Evidence(ResponseModel):
    """One thing seen, and how far it moves one suspect."""

    text: Coded
    steps: int = Field(description="Whole steps: above 0 for the suspect, below 0 against it.")


class FullEvidence(Evidence):
    """The same with where it was seen and where it comes from."""

    seen: str = Field(description="The field of the question and its value.", examples=["when=cold"])
    standing: Standing
    about: tuple[str, ...] = Field((), description="JSON pointers to the parts of the question it was read from.")
    figures: tuple[Figure, ...] = ()
    sources: tuple[Citation, ...]


class Suspect(ResponseModel):
    """What may be behind the complaint, with what speaks for and against it."""

    model_config = ConfigDict(frozen=True, serialize_by_alias=True, validate_by_name=True, validate_by_alias=True)

    id: str
    side: Side
    words: str
    leads: bool = Field(description="Whether it stands at the top, or so near to it that it has to be told apart.")
    fluid_cures: FluidCures
    speaks_for: tuple[Evidence, ...] = Field((), alias="for", description="What moves it most first.")
    against: tuple[Evidence, ...] = ()
    check: str = Field(description="The cheapest check that speaks of it: an id of /v1/checks.")


class FullSuspect(Suspect):
    """The same with all evidence, its sum and sources."""

    score: int = Field(description="Sum of the steps: an order of suspects, not a probability.")
    speaks_for: tuple[FullEvidence, ...] = Field((), alias="for")
    against: tuple[FullEvidence, ...] = ()
    sources: tuple[Citation, ...]


class CheckResult(ResponseModel):
    """A result a check can have, and the suspects it points to."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    result: str
    points_to: Annotated[tuple[str, ...], Field(min_length=1), Refers("suspects")]


class Check(ResponseModel):
    """Something a person can do to tell suspects apart."""

    id: str
    words: str
    how: str
    safety: str | None = None


class FullCheck(Check):
    """The same with its cost, and what each result points to."""

    cost: int = Field(
        ge=1, le=9, description="Effort from 1, a question or a look, to 9: the box has to come out and apart."
    )
    outcomes: tuple[CheckResult, ...]
    tells: str | None = Field(None, description="The field of the question that its result fills in.")
    sources: tuple[Citation, ...]


class RingGapVerdict(ResponseModel):
    """The gap against the service limit, and against nothing else."""

    status: Literal["not-given", "past-limit", "within-limit", "no-judgement"]
    text: Coded


class FluidInIt(ResponseModel):
    """What is in the box, as far as it is known."""

    status: Literal["stated", "taken-from-service-data", "not-known"]
    text: Coded


class FullFluidInIt(FluidInIt):
    """The same with the classes it is judged as, and what the rules come to for every one of them."""

    lubricants: tuple[str, ...] = Field((), description="Ids of /v1/lubricants.")
    findings: tuple[Finding, ...] = Field((), description="What every one of these classes comes to, whatever is open.")


class SymptomAnswer(ResponseModel):
    """Fluid or hardware, the suspects in order, and what to check next."""

    knowledge: KnowledgeStamp
    answer_id: str
    summary: str = Field(max_length=140)
    say: str = Field(description="At most 40 words to read aloud.")
    side: Literal["fluid", "hardware", "either", "unknown"] = Field(description="Where the leading suspects stand.")
    fluid_can_cure: FluidCures
    reason: str
    ring_gap: RingGapVerdict
    fluid_in_it: FluidInIt
    suspects: tuple[Suspect, ...] = Field(
        description="The leading ones first; then highest score, equal ones as a rebuilder names them. In short at "
        "most five."
    )
    next_checks: tuple[Check, ...] = Field(
        description="Cheapest first: what speaks of a leading suspect, or is called for by what was seen. In short at "
        "most three."
    )
    ask_for: tuple[str, ...] = Field(description="What the caller could still say.")
    cautions: tuple[CautionNote, ...] = Field(
        description="Those of this complaint: the gravest first, at most five; in full all of them."
    )
    every_job: tuple[str, ...] = Field(description="Ids of the cautions that go with every job on a gearbox.")
    every_job_words: str


class FullSymptomAnswer(SymptomAnswer):
    """The same with the question as understood, every suspect, and all evidence with figures and sources."""

    question: SymptomQuestion
    from_box: FromBox | None = Field(
        description="The box of the shop that the fill question names, and what it filled in; null without."
    )
    fluid_in_it: FullFluidInIt
    suspects: tuple[FullSuspect, ...]
    next_checks: tuple[FullCheck, ...]
    cautions: tuple[Caution, ...]  # type: ignore[assignment]  # a caution has every field of a note, and is no subclass
    messages: tuple[Message, ...] = Field(
        description="Code and parameters of each sentence here but those of cautions and checks, for other languages."
    )
    sources: tuple[Source, ...]
