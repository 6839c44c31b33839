"""What is answered to *what do I fill it with*: short by itself, complete in full."""

from collections.abc import Mapping
from typing import Annotated, Any, ClassVar, Literal

from pydantic import Field, GetCoreSchemaHandler, GetJsonSchemaHandler
from pydantic.json_schema import JsonSchemaValue
from pydantic_core import core_schema
from typing_extensions import TypeAliasType, TypedDict

from knowledge.box.question import FillQuestion, ServiceData
from knowledge.drain.answer import FullLeftover, Leftover
from knowledge.drain.upkeep import Upkeep
from knowledge.judging.window import Window
from knowledge.jug.answer import FullJudgedJug, JudgedJug
from knowledge.parts.lubricant_name import LubricantName, Verdict
from knowledge.parts.notes import CautionNote, Message
from knowledge.parts.provenance import (
    Assumption,
    Effect,
    Figure,
    Finding,
    KnowledgeStamp,
    ResponseModel,
    Severity,
    Source,
    Standing,
    sent,
)
from knowledge.parts.request_model import FinalDrive, RequestModel
from knowledge.parts.ring import Ring
from knowledge.shop.models import FromBox

Outcome = TypeAliasType("Outcome", Literal["settled", "depends", "conflict", "none-suitable"])
LeadsBy = TypeAliasType("LeadsBy", Literal["service-data", "ring-maker", "heat", "cold", "custom"])
ShiftStep = TypeAliasType("ShiftStep", Literal["free", "slow", "hard"])
ServiceStatus = TypeAliasType("ServiceStatus", Literal["not-given", "agrees", "conflicts", "cannot-compare"])


@sent
class FigureAt:
    """One computed figure of the leader, as it is shown."""

    min: Annotated[float | None, Field(description="The low end; null where it is not known.")]
    max: Annotated[float | None, Field(description="The high end; null where it is not known.")]
    unit: str
    at_c: Annotated[float | None, Field(description="Oil temperature it holds at [°C]; null where it is none.")]
    standing: Standing
    rests_on: Annotated[Standing | None, Field(description="The weakest standing that it was computed from.")]
    factor: Annotated[
        float | None, Field(description="Spread as a factor, times or divided by; null where it is not known.")
    ]


@sent
class FirstShifts:
    """How the first shifts go at the coldest start."""

    step: ShiftStep
    sure: Annotated[bool, Field(description="Whether it is so at both ends of the spread.")]
    at_c: float


@sent
class Leader:
    """The class to fill, as far as it can be told."""

    lubricant: LubricantName
    alike: Annotated[tuple[str, ...], Field(description="Ids of the classes that serve the same at that grade.")]
    verdict: Verdict
    because: str
    leads_by: LeadsBy
    care: Annotated[tuple[str, ...], Field(description="What the caller must do or watch in this very box.")]
    first_shifts: FirstShifts | None
    figures: Annotated[dict[str, FigureAt], Field(description="Computed figures by name, with the unit in it.")]


@sent
class Other:
    """A class that serves too, and why it stands behind."""

    lubricant: LubricantName
    verdict: Verdict
    because: str


@sent
class Refusal:
    """Classes that are refused for the same gravest reason."""

    rule: str
    text: str
    lubricants: Annotated[tuple[str, ...], Field(description="Ids of /v1/lubricants.")]


class ServiceDataVerdict(ResponseModel):
    """How the manufacturer's service data and the computed answer stand to each other."""

    status: ServiceStatus
    text: str


class Sparse:
    """Marks a typed dictionary of which any key may be missing, whatever the answers around it promise."""

    def __get_pydantic_json_schema__(
        self, schema: core_schema.CoreSchema, handler: GetJsonSchemaHandler
    ) -> JsonSchemaValue:
        """The schema without required keys."""
        found = handler(schema)
        handler.resolve_ref_schema(found).pop("required", None)
        return found


class Stated:
    """Marks an object that holds what is stated of a part of the question, and none of its other fields."""

    def __init__(self, part: type[RequestModel]) -> None:
        self.part = part

    def __get_pydantic_core_schema__(self, source: Any, handler: GetCoreSchemaHandler) -> core_schema.CoreSchema:
        """Described as the part, sent and read back as it stands."""
        return core_schema.json_or_python_schema(
            json_schema=core_schema.no_info_after_validator_function(
                lambda part: part.model_dump(exclude_unset=True), handler.generate_schema(self.part)
            ),
            python_schema=handler(source),
            serialization=core_schema.simple_ser_schema("any"),
        )


class FillPatch(TypedDict, total=False):
    """What a reply changes in the question: merge it as RFC 7396 says.

    Only what changes is there, and each field of it whole, so that to replace those fields does the same.
    """

    box_kind: str
    rings: list[Annotated[dict[str, Any], Stated(Ring)]]
    yellow_metal: bool
    final_drive: FinalDrive
    limited_slip: bool
    wet_clutch: bool
    coldest_start_c: float
    duty: str
    service_data: Annotated[dict[str, Any], Stated(ServiceData)]
    unanswerable: list[str]


@sent
class Reply:
    """A possible reply, what it changes in the question, and the class that would then lead."""

    value: Annotated[
        bool | int | float | str | None, Field(description="What the reply states; null: the caller can't say.")
    ]
    patch: Annotated[FillPatch, Sparse()]
    query: Annotated[str | None, Field(description="The whole query of the link after it; null where none holds it.")]
    words: str
    then: Annotated[str | None, Field(description="The class that would lead; null where none does.")]


@sent
class AskNext:
    """The next question to ask the caller."""

    pointer: str
    question: str
    how_to_tell: str
    settles: Annotated[float, Field(description="Expected share of what is open that the reply brings to one leader.")]
    answers: tuple[Reply, ...]


@sent
class Safest:
    """What does least harm if nobody can answer."""

    lubricant: LubricantName
    because: str
    unless: tuple[str, ...] = ()


class FillAnswer(ResponseModel):
    """Which lubricant classes fit, why the others do not, and what to ask next."""

    knowledge: KnowledgeStamp
    answer_id: str
    outcome: Outcome
    summary: str = Field(max_length=140)
    say: str = Field(description="At most 40 words to read aloud.")
    service_data: ServiceDataVerdict
    leader: Leader | None = Field(description="The class to fill; null where nothing leads.")
    others: tuple[Other, ...] = Field(description="Classes that serve too, at most six, best first.")
    refused: tuple[Refusal, ...] = Field(description="Every refused class once, under its gravest reason.")
    window: Window | None = Field(description="What a jug must show; null where nothing leads or it still depends.")
    cautions: tuple[CautionNote, ...] = Field(
        description="Warnings of this box, the gravest first; in short at most five."
    )
    every_fill: tuple[str, ...] = Field(description="Ids of the cautions that go with every fill.")
    every_fill_words: str
    ask_next: tuple[AskNext, ...] = Field(
        description="Questions to ask, what settles most first: at most three; in full all of them."
    )
    unless: tuple[str, ...] = Field(description="The rare cases in which another class leads, or none does.")
    safest_if_unanswered: Safest | None
    way_out: tuple[str, ...] | None = Field(description="What would end a conflict, or help where nothing fits.")
    jugs: tuple[JudgedJug, ...]
    leftover: Leftover | None = Field(
        description="What stays of the old fluid; null where the question does not say what is in the box now."
    )
    full: str | None = Field(description="The link to the same answer in full; null where no link holds the question.")


@sent
class CandidateFigures:
    """The computed figures of one class; null where the box has nothing to compute it for."""

    kv_hot_mm2_s: Figure | None = None
    kv_cold_mm2_s: Figure | None = None
    bearing_ratio: Figure | None = None
    film_lambda: Figure | None = None
    wiping_time_s: Figure | None = None
    shifts_freely_above_c: Figure | None = None
    blocking_reserve: Figure | None = None
    interface_peak_c: Figure | None = None


@sent
class SharedFinding:
    """What one rule holds against one class or several; its figures, limits and sources stand at each class."""

    rule: Annotated[str, Field(description="An id of /v1/rules, with its sources.")]
    effect: Effect
    severity: Severity
    text: str
    about: Annotated[tuple[str, ...], Field(description="JSON pointers to the parts of the question that it reads.")]
    margin: Annotated[float | None, Field(description="How far inside its limit: 1 is at the limit.")]
    only_if: Annotated[str | None, Field(description="While facts are missing: what must be so for it to bite.")]
    share_of_worlds: float


@sent
class Candidate:
    """One class, judged."""

    lubricant: LubricantName
    verdict: Verdict
    rank: Annotated[int | None, Field(description="1 is the best; null where it does not fit.")]
    share_of_worlds: Annotated[float, Field(description="Share of the tried cases in which it fits or needs care.")]
    figures: CandidateFigures
    findings_at: Annotated[tuple[int, ...], Field(description="What is held against it: places in `findings`.")] = ()


class UnderstoodQuestion(FillQuestion):
    """The question as it was understood, with what was assumed."""

    read_only: ClassVar[Mapping[str, str]] = {name: FillQuestion.read_only[name] for name in ("assumed", "from_box")}

    service_data: ServiceData | None = None
    assumed: tuple[Assumption, ...] = ()
    from_box: FromBox | None = Field(
        None, description="The box of the shop that `box_ref` names, and what it filled in; null without."
    )


class TriedField(ResponseModel):
    """An unknown and the values that were tried for it."""

    pointer: str
    values: tuple[str, ...]


class CasesTried(ResponseModel):
    """How the unknowns were tried: every combination of plausible values that can occur together."""

    tried: int
    over: tuple[TriedField, ...] = ()


class FullFillAnswer(FillAnswer):
    """The same answer with everything behind it."""

    question: UnderstoodQuestion
    worlds: CasesTried
    candidates: tuple[Candidate, ...] = Field(
        description="Every class, best first; all that is found of one stands at /v1/fill/lubricants/{id}."
    )
    findings: tuple[SharedFinding, ...] = Field(description="Whatever is held against a class or a jug, each once.")
    jugs: tuple[FullJudgedJug, ...]
    leftover: FullLeftover | None
    messages: tuple[Message, ...] = Field(
        description="Code and parameters of each sentence here but those of questions, for other languages."
    )
    upkeep: Upkeep | None = Field(description="How a fill with the leader is looked after; null where nothing leads.")
    sources: tuple[Source, ...]


class LubricantAnswer(ResponseModel):
    """One class explained for one box."""

    knowledge: KnowledgeStamp
    lubricant: LubricantName
    verdict: Verdict
    rank: int | None = Field(description="1 is the best; null where it does not fit.")
    share_of_worlds: float = Field(description="Share of the tried cases in which it fits or needs care.")
    figures: CandidateFigures
    findings: tuple[Finding, ...] = Field(description="What the rules that are concerned find.")
    sources: tuple[Source, ...]
