"""What Fillwright answers, as it travels over the wire."""

from dataclasses import dataclass
from typing import Annotated, Literal

from pydantic import Field

from knowledge.box.question import FillQuestion, ServiceData
from knowledge.drain.leftover_answer import FullLeftover
from knowledge.jug.judged_jug import JudgedJug
from knowledge.parts.lubricant_name import Limits, LubricantName, Verdict
from knowledge.parts.provenance import (
    SEVERITIES_FROM_WORST,
    Assumption,
    Caution,
    Figure,
    Finding,
    KnowledgeStamp,
    ResponseModel,
    Source,
    Standing,
)
from knowledge.shop.models import FromBox


@dataclass(frozen=True, slots=True, kw_only=True)
class CandidateFigures:
    """The computed figures of one class; null where the box has nothing to compute it for."""

    __pydantic_config__ = ResponseModel.model_config

    kv_hot_mm2_s: Figure | None = None
    kv_cold_mm2_s: Figure | None = None
    bearing_ratio: Figure | None = None
    film_lambda: Figure | None = None
    wiping_time_s: Figure | None = None
    shifts_freely_above_c: Figure | None = None
    blocking_reserve: Figure | None = None
    interface_peak_c: Figure | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Candidate:
    """One class, judged."""

    __pydantic_config__ = ResponseModel.model_config

    lubricant: LubricantName
    verdict: Verdict
    rank: int | None = None
    share_of_worlds: Annotated[
        float, Field(description="Share of the tried worlds in which it fits or fits with care.")
    ]
    figures: CandidateFigures
    findings: tuple[Finding, ...]

    @property
    def against(self) -> list[Finding]:
        """What refuses it, the weightiest first: what holds in most cases, then what is gravest."""
        refusals = [finding for finding in self.findings if finding.effect == "excludes"]
        return sorted(refusals, key=lambda item: (-item.share_of_worlds, SEVERITIES_FROM_WORST.index(item.severity)))


class Window(ResponseModel):
    """What a data sheet must show."""

    kv100_mm2_s: Limits
    kv100_for_free_first_shifts_mm2_s: float | None = Field(
        None,
        description="Up to this KV100 first shifts come freely at the coldest start; null where it is all the same.",
    )
    cold_limit_c: float | None
    families: tuple[str, ...]
    copper_strip_max: str | None
    friction_modifier: str
    rests_on: Standing | None = Field(description="The weakest standing that its figures come from; null without any.")
    ask_for: tuple[str, ...] = Field(description="Lines to read to the person holding the data sheet.")
    expect: tuple[str, ...] = Field((), description="What to expect of a fluid that shows all that.")


class ServiceDataVerdict(ResponseModel):
    """How the manufacturer's service data and the computed answer stand to each other."""

    status: Literal["not-given", "agrees", "conflicts", "cannot-compare"]
    text: str


class UnderstoodQuestion(FillQuestion):
    """The question as it was understood, with what was assumed."""

    service_data: ServiceData | None = None
    assumed: tuple[Assumption, ...] = ()
    from_box: FromBox | None = Field(None, description="Set when `box_ref` names a box of the shop.")


class TriedField(ResponseModel):
    """An unknown and the values that were tried for it."""

    pointer: str
    values: tuple[str, ...]


class Worlds(ResponseModel):
    """How the unknowns were tried: every combination of plausible values that can occur together."""

    tried: int
    over: tuple[TriedField, ...] = ()


class Reply(ResponseModel):
    """A possible reply and the class that would then lead."""

    value: str
    words: str
    then: str | None = Field(description="The class that would lead; null where none serves.")
    served: float = Field(description="Share of the cases then left in which any class fits or fits with care.")


class AskNext(ResponseModel):
    """The next question to ask the caller."""

    pointer: str
    question: str
    how_to_tell: str
    settles: float = Field(description="Expected share of the still undecided classes that the reply decides.")
    answers: tuple[Reply, ...]


class FillAnswer(ResponseModel):
    """Which lubricant classes fit, why the others do not, and what to ask next."""

    knowledge: KnowledgeStamp
    answer_id: str
    question: UnderstoodQuestion
    outcome: Literal["settled", "depends", "none-suitable"]
    summary: str = Field(max_length=140)
    service_data: ServiceDataVerdict
    window: Window
    worlds: Worlds
    candidates: tuple[Candidate, ...]
    cautions: tuple[Caution, ...]
    ask_next: tuple[AskNext, ...] = ()
    safest_if_unanswered: str | None = None
    safest_reason: str | None = None
    jugs: tuple[JudgedJug, ...] = ()
    leftover: FullLeftover | None = Field(None, description="Set when the question says what is in the box now.")
    sources: tuple[Source, ...]
