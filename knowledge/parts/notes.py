"""Short wire parts that several answers share."""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Annotated, Any, TypeVar

from pydantic import Field

from knowledge.parts.provenance import Caution, Finding, ResponseModel, Severity

Short = TypeVar("Short", bound=ResponseModel)
CAUTIONS_AT_MOST = 5


@dataclass(frozen=True, slots=True, kw_only=True)
class RuleNote:
    """What one rule says, in one sentence."""

    __pydantic_config__ = ResponseModel.model_config

    rule: Annotated[str, Field(description="An id of /v1/rules.")]
    severity: Severity
    text: str


@dataclass(frozen=True, slots=True, kw_only=True)
class CautionNote:
    """A caution that belongs to this question."""

    __pydantic_config__ = ResponseModel.model_config

    id: Annotated[str, Field(description="An id of /v1/cautions.")]
    severity: Severity
    text: str


def rule_notes(findings: Iterable[Finding]) -> tuple[RuleNote, ...]:
    """What cautions or excludes, without figures and sources."""
    return tuple(
        RuleNote(rule=item.rule, severity=item.severity, text=item.in_full)
        for item in findings
        if item.effect in ("cautions", "excludes")
    )


def caution_notes(cautions: tuple[Caution, ...]) -> tuple[CautionNote, ...]:
    """The first, which are the gravest, of cautions in their order."""
    return tuple(
        CautionNote(id=item.id, severity=item.severity, text=item.in_full) for item in cautions[:CAUTIONS_AT_MOST]
    )


def shortened(full: Short, model: type[Short], **changes: Any) -> Short:
    """A full answer as its short model: the fields of that model, some of them changed."""
    return model(**{name: getattr(full, name) for name in model.model_fields} | changes)
