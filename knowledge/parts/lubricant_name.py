"""What answers call a lubricant class, and the verdicts on it."""

from typing import Annotated, Literal

from pydantic import Field
from typing_extensions import TypeAliasType

from knowledge.parts.provenance import ResponseModel, sent

Verdict = TypeAliasType("Verdict", Literal["fits", "fits-with-care", "does-not-fit", "depends"])


@sent
class LubricantName:
    """A lubricant class: a family of fluid at a viscosity grade."""

    id: Annotated[
        str | None, Field(description="An id of /v1/lubricants; null where no class here has the grade that is named.")
    ]
    name: str
    family: str | None
    grade: str | None


class Limits(ResponseModel):
    """An interval; a null end is open."""

    min: float | None = None
    max: float | None = None
