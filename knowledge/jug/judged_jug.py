"""A jug at hand, as an answer shows it."""

from pydantic import Field

from knowledge.parts.lubricant_name import LubricantName, Verdict
from knowledge.parts.provenance import Finding, ResponseModel


class WouldDecide(ResponseModel):
    """A line of the data sheet that is missing and would decide."""

    pointer: str
    ask: str = Field(description="The line to read to the person holding the data sheet.")


class JudgedJug(ResponseModel):
    """A jug at hand, judged by the same rules as a class."""

    name: str
    shelf_id: str | None = Field(None, description="An id of /v1/shop/shelf, for a jug that stands there.")
    verdict: Verdict
    rank: int | None = Field(None, description="1 is the best of the jugs; null where it does not fit.")
    may_be: tuple[LubricantName, ...] = Field((), description="What label and data sheet leave open.")
    findings: tuple[Finding, ...]
    label_findings: tuple[Finding, ...] = ()
    would_decide: tuple[WouldDecide, ...] = ()
