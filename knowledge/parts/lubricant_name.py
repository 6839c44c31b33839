"""What answers call a lubricant class, and the verdicts on it."""

from dataclasses import dataclass
from typing import Literal

from typing_extensions import TypeAliasType

from knowledge.parts.provenance import ResponseModel

Verdict = TypeAliasType("Verdict", Literal["fits", "fits-with-care", "does-not-fit", "depends"])


@dataclass(frozen=True, slots=True, kw_only=True)
class LubricantName:
    """A lubricant class: a family of fluid at a viscosity grade."""

    __pydantic_config__ = ResponseModel.model_config

    id: str
    name: str
    family: str
    grade: str


class Limits(ResponseModel):
    """An interval; a null end is open."""

    min: float | None = None
    max: float | None = None
