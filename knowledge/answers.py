"""What Fillwright answers, as it travels over the wire."""

from dataclasses import dataclass
from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field
from typing_extensions import TypeAliasType

from knowledge.questions import FillQuestion, ServiceData

Standing = TypeAliasType(
    "Standing", Literal["standard", "handbook", "paper", "common-practice", "from-memory", "judgement", "computed"]
)
Severity = TypeAliasType("Severity", Literal["note", "warning", "danger"])
Effect = TypeAliasType("Effect", Literal["supports", "cautions", "excludes", "no-data"])
Verdict = TypeAliasType("Verdict", Literal["fits", "fits-with-care", "does-not-fit", "depends"])


STANDINGS_FROM_STRONGEST: tuple[Standing, ...] = (
    "standard",
    "handbook",
    "paper",
    "computed",
    "from-memory",
    "common-practice",
    "judgement",
)


def weakest(*standings: Standing) -> Standing:
    """The standing of a figure that was computed from several others."""
    return max(standings, key=STANDINGS_FROM_STRONGEST.index)


class Told(BaseModel):
    """Base of every part of an answer: frozen, and every field is sent."""

    model_config = ConfigDict(frozen=True, json_schema_serialization_defaults_required=True)


class KnowledgeStamp(Told):
    """Which edition of the knowledge spoke."""

    version: str
    digest: str


class Citation(Told):
    """Where a claim or a figure comes from: an id of /v1/sources and the place in it."""

    id: str
    locator: str | None = None


class Source(Told):
    """One published or unpublished origin of figures."""

    id: str
    label: str
    citation: str
    year: int | None = None
    kind: Literal["standard", "handbook", "paper", "trade", "database", "judgement"]
    standing: Standing
    note: str | None = None


# An answer holds hundreds of figures and findings, all made from values that are sound already. As plain
# dataclasses they go over the wire like the models around them, at a third of the cost of validating each.


@dataclass(frozen=True, slots=True, kw_only=True)
class Figure:
    """One number with its unit and how far it can be trusted; a range covers a whole band and every world tried."""

    __pydantic_config__ = Told.model_config

    name: str
    value: Annotated[float | None, Field(description="Null where only the range is known.")] = None
    unit: str
    min: float | None = None
    max: float | None = None
    standing: Standing
    rests_on: Annotated[
        Standing | None, Field(description="For a computed figure: the weakest standing it comes from.")
    ] = None
    screening: Annotated[bool, Field(description="Extrapolated below 0 °C: an indication, not a data-sheet value.")] = (
        False
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """What one rule says of one lubricant class in this box."""

    __pydantic_config__ = Told.model_config

    rule: str
    effect: Effect
    severity: Severity
    text: str
    about: Annotated[
        tuple[str, ...], Field(description="JSON pointers to the parts of the question this finding reads.")
    ] = ()
    figures: tuple[Figure, ...] = ()
    margin: Annotated[
        float | None, Field(description="How far inside its limit: 1 is at the limit, below 1 outside.")
    ] = None
    sources: tuple[Citation, ...] = ()
    only_if: Annotated[
        str | None, Field(description="While facts are missing: what must be so for this finding to bite.")
    ] = None
    share_of_worlds: Annotated[float, Field(description="Share of the tried worlds in which this effect holds.")] = 1.0


@dataclass(frozen=True, slots=True, kw_only=True)
class CandidateFigures:
    """The computed figures of one class; null where the box has nothing to compute it for."""

    __pydantic_config__ = Told.model_config

    kv_hot_mm2_s: Figure | None = None
    kv_cold_mm2_s: Figure | None = None
    bearing_ratio: Figure | None = None
    film_lambda: Figure | None = None
    wiping_time_s: Figure | None = None
    shifts_freely_above_c: Figure | None = None
    blocking_reserve: Figure | None = None
    interface_peak_c: Figure | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class LubricantName:
    """A lubricant class: a family of fluid at a viscosity grade."""

    __pydantic_config__ = Told.model_config

    id: str
    name: str
    family: str
    grade: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Candidate:
    """One class, judged."""

    __pydantic_config__ = Told.model_config

    lubricant: LubricantName
    verdict: Verdict
    rank: int | None = None
    share_of_worlds: Annotated[
        float, Field(description="Share of the tried worlds in which it fits or fits with care.")
    ]
    figures: CandidateFigures
    findings: tuple[Finding, ...]


class Limits(Told):
    """An interval; a null end is open."""

    min: float | None = None
    max: float | None = None


class Window(Told):
    """What a data sheet must show."""

    kv100_mm2_s: Limits
    kv100_for_free_first_shifts_mm2_s: float | None = Field(
        None,
        description="Up to this KV100 first shifts come freely at the coldest start; null where it makes no difference.",
    )
    cold_limit_c: float | None
    families: tuple[str, ...]
    copper_strip_max: str | None
    friction_modifier: str
    ask_for: tuple[str, ...] = Field(description="Lines to read to the person holding the data sheet.")
    expect: tuple[str, ...] = Field((), description="What to expect of a fluid that shows all that.")


class ServiceDataVerdict(Told):
    """How the manufacturer's service data and the computed answer stand to each other."""

    status: Literal["not-given", "agrees", "conflicts", "cannot-compare"]
    text: str


class Caution(Told):
    """A plain warning that goes with the answer."""

    id: str
    severity: Severity
    text: str
    because: str
    sources: tuple[Citation, ...] = ()
    only_if: str | None = Field(
        None, description="While facts are missing: what must be so for it to apply; null where it surely does."
    )


class Assumption(Told):
    """Something the caller did not say and the answer took as given."""

    pointer: str
    value: str
    standing: Standing
    reason: str | None = None


class FromBox(Told):
    """The box of the shop that filled in the question."""

    id: str
    name: str
    filled_in: tuple[str, ...] = Field(description="JSON pointers to what was taken from the box.")
    stated_otherwise: tuple[str, ...] = Field(
        description="JSON pointers to what the caller stated and the box has not so."
    )
    capacity_l: float | None = None
    notes: str | None = None


class UnderstoodQuestion(FillQuestion):
    """The question as it was understood, with what was assumed."""

    service_data: ServiceData | None = None
    assumed: tuple[Assumption, ...] = ()
    from_box: FromBox | None = Field(None, description="Set when `box_ref` names a box of the shop.")


class TriedField(Told):
    """An unknown and the values that were tried for it."""

    pointer: str
    values: tuple[str, ...]


class Worlds(Told):
    """How the unknowns were tried: every combination of plausible values that can occur together."""

    tried: int
    over: tuple[TriedField, ...] = ()


class Reply(Told):
    """A possible reply and the class that would then lead."""

    value: str
    words: str
    then: str | None


class AskNext(Told):
    """The next question to ask the caller."""

    pointer: str
    question: str
    how_to_tell: str
    settles: float = Field(description="Expected share of the still undecided classes that the reply decides.")
    answers: tuple[Reply, ...]


class WouldDecide(Told):
    """A line of the data sheet that is missing and would decide."""

    pointer: str
    ask: str = Field(description="The line to read to the person holding the data sheet.")


class JudgedJug(Told):
    """A jug at hand, judged by the same rules as a class."""

    name: str
    shelf_id: str | None = Field(None, description="An id of /v1/shop/shelf, for a jug that stands there.")
    verdict: Verdict
    rank: int | None = Field(None, description="1 is the best of the jugs; null where it does not fit.")
    may_be: tuple[LubricantName, ...] = Field((), description="What label and data sheet leave open.")
    findings: tuple[Finding, ...]
    label_findings: tuple[Finding, ...] = ()
    would_decide: tuple[WouldDecide, ...] = ()


class DrainRound(Told):
    """What is in the box after one more drain, refill and run."""

    old_share: float
    kv40_mm2_s: float | None = None
    kv100_mm2_s: float | None = None
    viscosity_index: int | None = None
    hot_grade_estimate: str | None = Field(None, description="SAE J306 (2019) hot grade; a measured one counts.")
    litres_used: float | None = None


class Leftover(Told):
    """What stays of the old fluid when it is drained and refilled."""

    text: str
    new: str | None = Field(description="The class it is changed to; null where none leads.")
    target_old_share: float
    rounds_to_target: int | None = Field(description="Null where draining is no longer the way.")
    rounds: tuple[DrainRound, ...]
    findings: tuple[Finding, ...]
    assumed: tuple[Assumption, ...] = ()


class FillAnswer(Told):
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
    leftover: Leftover | None = Field(None, description="Set when the question says what is in the box now.")
    sources: tuple[Source, ...]
