"""Short wire parts that several answers share."""

from dataclasses import dataclass
from typing import Annotated

from pydantic import Field

from knowledge.parts.provenance import ResponseModel, Severity


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
