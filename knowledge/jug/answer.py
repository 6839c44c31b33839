"""What is answered about one jug, and how a jug at hand stands in the answer for a box."""

from typing import Annotated

from pydantic import Field

from knowledge.jug.question import JugQuestion
from knowledge.parts.lubricant_name import LubricantName, Verdict
from knowledge.parts.notes import CautionNote, Message, RuleNote
from knowledge.parts.provenance import Assumption, Caution, Coded, Finding, KnowledgeStamp, ResponseModel, Source, sent


class CurvePoint(ResponseModel):
    """Viscosity at one temperature; null where it cannot be computed."""

    temperature_c: float
    kv_mm2_s: float | None
    viscosity_mpa_s: float | None
    screening: bool = Field(description="Extrapolated below 0 °C: an indication, not a data-sheet value.")


class ColdLimit(ResponseModel):
    """Down to which temperature a cold figure shows that it flows."""

    temperature_c: float | None = None
    basis: Coded


class NearestClass(ResponseModel):
    """A class whose band lies near the figures of the jug."""

    lubricant: LubricantName
    inside: bool = Field(description="Every figure given lies within the band of the class.")
    off: tuple[Coded, ...] = Field(description="Which figures lie outside, and by how much.")


class WouldDecide(ResponseModel):
    """A line of the data sheet that is missing and would decide."""

    pointer: str
    ask: str = Field(description="The line to read to the person holding the data sheet.")

    @property
    def name(self) -> str:
        """The line without what belongs to it."""
        return self.ask.partition(",")[0].partition(":")[0].removesuffix(".")


class JugAnswer(ResponseModel):
    """What the label and the data sheet of a jug come to, and whether it suits the box in question."""

    knowledge: KnowledgeStamp
    answer_id: str
    summary: str = Field(max_length=140)
    say: str = Field(description="At most 40 words to read aloud.")
    j306: dict[str, str | None] = Field(description="SAE J306 grade in each edition; null where it has none.")
    j300: tuple[str, ...] = Field(description="Every SAE J300 hot grade that KV100 allows.")
    iso_vg: str | None
    viscosity_index: int | None
    cold_limit: ColdLimit
    label_findings: tuple[RuleNote, ...] = Field(
        description="What is doubtful of label and data sheet, gravest first, at most five; in full every finding."
    )
    nearest_classes: tuple[NearestClass, ...] = Field(
        description="Classes whose bands lie near, at most three, the nearest first."
    )
    verdict: Verdict | None = Field(None, description="Whether it fits the box in question; null without one.")
    because: str | None = Field(None, description="The weightiest reason against it; null without a box.")
    care: tuple[str, ...] = Field((), description="What is against it in this box, the worst first, at most three.")
    ask_of_the_sheet: tuple[str, ...] = Field((), description="Missing lines that would decide, by name.")
    cautions: tuple[CautionNote, ...] = Field(
        description="Warnings of this jug and box, at most four; in full those of every fill too."
    )


class FullJugAnswer(JugAnswer):
    """The same with the question as understood, the curve, and figures, limits and sources of the findings."""

    question: JugQuestion
    assumed: tuple[Assumption, ...] = Field(description="What the caller did not say and was taken as given.")
    viscosity_index_reason: str | None = Field(description="Why there is no viscosity index.")
    density15_kg_m3: float | None
    curve: tuple[CurvePoint, ...]
    label_findings: tuple[Finding, ...]  # type: ignore[assignment]  # a finding has every field of a note
    may_be: tuple[LubricantName, ...] = Field(description="What label and data sheet leave open.")
    findings: tuple[Finding, ...] = Field(description="What each rule finds of it in the box in question.")
    would_decide: tuple[WouldDecide, ...]
    cautions: tuple[Caution, ...]  # type: ignore[assignment]  # a caution has every field of a note
    messages: tuple[Message, ...] = Field(
        description="Code and parameters of each sentence here but the text of cautions, for other languages."
    )
    sources: tuple[Source, ...]


@sent
class JudgedJug:
    """A jug at hand, judged by the same rules as a class."""

    name: str
    shelf_id: Annotated[str | None, Field(description="An id of /v1/shop/shelf, for a jug that stands there.")]
    verdict: Verdict
    rank: Annotated[int | None, Field(description="1 is the best of the jugs; null where it does not fit.")]
    because: Annotated[str, Field(description="The weightiest reason against it, if there is one.")]
    ask_of_the_sheet: Annotated[tuple[str, ...], Field(description="Missing lines that would decide, by name.")]


@sent
class FullJudgedJug(JudgedJug):
    """The same jug with everything behind it."""

    may_be: Annotated[tuple[LubricantName, ...], Field(description="What label and data sheet leave open.")]
    findings_at: Annotated[tuple[int, ...], Field(description="What is held against it: places in `findings`.")] = ()
    label_findings: tuple[Finding, ...]
    would_decide: tuple[WouldDecide, ...]
