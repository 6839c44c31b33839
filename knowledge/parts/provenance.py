"""What every answer is made of: figures, findings and cautions, each with where it comes from."""

from dataclasses import dataclass
from typing import Annotated, Literal, TypeVar, dataclass_transform

from pydantic import BaseModel, ConfigDict, Field, SkipValidation
from typing_extensions import TypeAliasType

from knowledge.text import Said, as_condition

# A sentence that may have a code, which to validate it would take away.
Coded = SkipValidation[str]

Standing = TypeAliasType(
    "Standing", Literal["standard", "handbook", "paper", "common-practice", "from-memory", "judgement", "computed"]
)

Severity = TypeAliasType("Severity", Literal["note", "warning", "danger"])
Effect = TypeAliasType("Effect", Literal["supports", "cautions", "excludes", "no-data"])

SEVERITIES_FROM_WORST: tuple[Severity, ...] = ("danger", "warning", "note")
EFFECTS_FROM_WORST: tuple[Effect, ...] = ("excludes", "cautions", "no-data", "supports")
STANDINGS_FROM_STRONGEST: tuple[Standing, ...] = (
    "standard",
    "handbook",
    "paper",
    "computed",
    "from-memory",
    "common-practice",
    "judgement",
)

STRENGTH = {standing: place for place, standing in enumerate(STANDINGS_FROM_STRONGEST)}
# Rests on no source that was read again.
UNCHECKED: frozenset[Standing] = frozenset({"from-memory", "judgement"})


def weakest(*standings: Standing) -> Standing:
    """The standing of a figure that was computed from several others."""
    return max(standings, key=STRENGTH.__getitem__)


class ResponseModel(BaseModel):
    """Base of every part of an answer: frozen, and every field is sent."""

    model_config = ConfigDict(frozen=True, json_schema_serialization_defaults_required=True)


Part = TypeVar("Part")


@dataclass_transform(frozen_default=True, kw_only_default=True)
def sent(part: type[Part]) -> type[Part]:
    """Make a part of an answer of a class: as a `ResponseModel` on the wire, and made without being validated."""
    part.__pydantic_config__ = ResponseModel.model_config  # type: ignore[attr-defined]  # what pydantic reads
    return dataclass(frozen=True, slots=True, kw_only=True)(part)


class KnowledgeStamp(ResponseModel):
    """Which edition of the knowledge spoke."""

    version: str
    digest: str


class Citation(ResponseModel):
    """Where a claim or a figure comes from: an id of /v1/sources and the place in it."""

    id: str
    locator: str | None = None


class Source(ResponseModel):
    """One published or unpublished origin of figures."""

    id: str
    label: str
    citation: str
    year: int | None = None
    kind: Literal["standard", "handbook", "paper", "trade", "database", "judgement"]
    standing: Standing
    note: str | None = None


@sent
class Figure:
    """One number with its unit and how far it can be trusted; a range covers a whole band and every world tried."""

    name: str
    value: Annotated[float | None, Field(description="The figure; null where only the range is known.")] = None
    unit: str
    min: float | None = None
    max: float | None = None
    standing: Standing
    rests_on: Annotated[
        Standing | None,
        Field(description="The weakest standing that a computed figure comes from; null for any other."),
    ] = None
    screening: Annotated[bool, Field(description="Extrapolated below 0 °C: an indication, not a data-sheet value.")] = (
        False
    )

    @property
    def is_unchecked(self) -> bool:
        """Whether it rests on a figure from memory or of our judgement."""
        return self.standing in UNCHECKED or self.rests_on in UNCHECKED


@sent
class LimitUsed:
    """A limit that a finding was held against."""

    id: Annotated[str, Field(description="Its name in the tables of thresholds, grades or facing limits.")]
    value: float
    unit: str
    standing: Standing


@sent
class Finding:
    """What one rule says of one lubricant class in this box."""

    rule: str
    effect: Effect
    severity: Severity
    text: str
    about: Annotated[
        tuple[str, ...], Field(description="JSON pointers to the parts of the question this finding reads.")
    ] = ()
    figures: tuple[Figure, ...] = ()
    limits: Annotated[tuple[LimitUsed, ...], Field(description="The limits that it was held against.")] = ()
    margin: Annotated[
        float | None, Field(description="How far inside its limit: 1 is at the limit, below 1 outside.")
    ] = None
    sources: tuple[Citation, ...] = ()
    only_if: Annotated[
        str | None, Field(description="While facts are missing: what must be so for this finding to bite.")
    ] = None
    share_of_worlds: Annotated[float, Field(description="Share of the tried worlds in which this effect holds.")] = 1.0

    @property
    def in_full(self) -> str:
        """What it says, after what has to be so for it to bite."""
        return as_condition(self.text, self.only_if)


class Caution(ResponseModel):
    """A plain warning that goes with the answer."""

    id: str
    severity: Severity
    text: str
    because: str
    sources: tuple[Citation, ...] = ()
    only_if: str | None = Field(
        None, description="While facts are missing: what must be so for it to apply; null where it surely does."
    )

    @property
    def in_full(self) -> str:
        """What it says, after what has to be so for it to apply."""
        return as_condition(Said(self.text, f"caution/{self.id}"), self.only_if)


class Assumption(ResponseModel):
    """Something the caller did not say and the answer took as given."""

    pointer: str
    value: str
    standing: Standing
    reason: Coded | None = None
