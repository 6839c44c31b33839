"""Fluid or hardware? The question and the answer, as they travel over the wire."""

from typing import Annotated, Literal

from pydantic import ConfigDict, Field
from typing_extensions import TypeAliasType

from knowledge.parts.provenance import (
    Caution,
    Citation,
    Figure,
    Finding,
    KnowledgeStamp,
    ResponseModel,
    Source,
    Standing,
)
from knowledge.shop.models import FromBox
from knowledge.symptom.question import SymptomQuestion

Side = TypeAliasType("Side", Literal["fluid", "hardware"])

FluidCures = TypeAliasType("FluidCures", Literal["yes", "maybe", "no"])


class Evidence(ResponseModel):
    """One thing seen, and how far it moves one suspect."""

    seen: str = Field(description="The field of the question and its value.", examples=["when=cold"])
    text: str
    steps: int = Field(description="Whole steps: above 0 for the suspect, below 0 against it.")
    standing: Standing
    about: tuple[str, ...] = Field((), description="JSON pointers to the parts of the question it was read from.")
    figures: tuple[Figure, ...] = ()
    sources: tuple[Citation, ...]


class Suspect(ResponseModel):
    """What may be behind the complaint, with everything that speaks for and against it."""

    model_config = ConfigDict(frozen=True, serialize_by_alias=True, validate_by_name=True, validate_by_alias=True)

    id: str
    side: Side
    words: str
    score: int = Field(description="Sum of the steps: an order of suspects, not a probability.")
    leads: bool = Field(description="Whether it stands at the top, or so near to it that it has to be told apart.")
    fluid_cures: FluidCures
    speaks_for: tuple[Evidence, ...] = Field((), alias="for")
    against: tuple[Evidence, ...] = ()
    check: str = Field(description="The cheapest check that speaks of it: an id of /v1/checks.")
    sources: tuple[Citation, ...]


class Outcome(ResponseModel):
    """A result a check can have, and the suspects it points to."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    result: str
    points_to: Annotated[tuple[str, ...], Field(min_length=1)]


class Check(ResponseModel):
    """Something a person can do to tell suspects apart."""

    id: str
    words: str
    how: str
    cost: int = Field(
        ge=1,
        le=9,
        description="From 1, a question or a look, to 9: the box has to come out and apart.",
    )
    safety: str | None = None
    outcomes: tuple[Outcome, ...]
    tells: str | None = Field(None, description="The field of the question that its result fills in.")
    sources: tuple[Citation, ...]


class RingGapVerdict(ResponseModel):
    """The gap against the service limit, and against nothing else."""

    status: Literal["not-given", "past-limit", "within-limit", "no-judgement"]
    text: str


class FluidInIt(ResponseModel):
    """What is in the box, as far as it is known, and what the rules say of it there."""

    status: Literal["stated", "taken-from-service-data", "not-known"]
    text: str
    lubricants: tuple[str, ...] = Field((), description="The classes it is judged as: ids of /v1/lubricants.")
    findings: tuple[Finding, ...] = Field((), description="What every one of these classes comes to, whatever is open.")


class SymptomAnswer(ResponseModel):
    """Fluid or hardware, the suspects in order, and what to check next."""

    knowledge: KnowledgeStamp
    answer_id: str
    question: SymptomQuestion
    from_box: FromBox | None = Field(None, description="Set when the fill question names a box of the shop.")
    summary: str = Field(max_length=140)
    side: Literal["fluid", "hardware", "either", "unknown"] = Field(description="Where the leading suspects stand.")
    fluid_can_cure: FluidCures
    reason: str
    ring_gap: RingGapVerdict
    fluid_in_it: FluidInIt
    suspects: tuple[Suspect, ...] = Field(
        description="The leading ones first; then highest score, equal ones by the cheaper check."
    )
    next_checks: tuple[Check, ...] = Field(
        description="Cheapest first: what speaks of a leading suspect, or is called for by what was seen."
    )
    ask_for: tuple[str, ...] = Field((), description="What the caller could still say.")
    cautions: tuple[Caution, ...]
    sources: tuple[Source, ...]
