"""A jug at hand, as an answer shows it."""

from dataclasses import dataclass, fields
from typing import Annotated

from pydantic import Field

from knowledge.parts.lubricant_name import LubricantName, Verdict
from knowledge.parts.provenance import Finding, ResponseModel


class WouldDecide(ResponseModel):
    """A line of the data sheet that is missing and would decide."""

    pointer: str
    ask: str = Field(description="The line to read to the person holding the data sheet.")


@dataclass(frozen=True, slots=True, kw_only=True)
class JudgedJug:
    """A jug at hand, judged by the same rules as a class."""

    __pydantic_config__ = ResponseModel.model_config

    name: str
    shelf_id: Annotated[str | None, Field(description="An id of /v1/shop/shelf, for a jug that stands there.")]
    verdict: Verdict
    rank: Annotated[int | None, Field(description="1 is the best of the jugs; null where it does not fit.")]
    because: Annotated[str, Field(description="The weightiest of what speaks against it, if anything does.")]
    ask_of_the_sheet: Annotated[tuple[str, ...], Field(description="Missing lines that would decide, by name.")]


@dataclass(frozen=True, slots=True, kw_only=True)
class FullJudgedJug(JudgedJug):
    """The same jug with everything behind it."""

    may_be: Annotated[tuple[LubricantName, ...], Field(description="What label and data sheet leave open.")]
    findings: Annotated[tuple[Finding, ...], Field(exclude=True)] = ()
    findings_at: Annotated[tuple[int, ...], Field(description="What is held against it: places in `findings`.")] = ()
    label_findings: tuple[Finding, ...]
    would_decide: tuple[WouldDecide, ...]

    @property
    def shortened(self) -> JudgedJug:
        """Without what stands behind it."""
        return JudgedJug(**{field.name: getattr(self, field.name) for field in fields(JudgedJug)})
