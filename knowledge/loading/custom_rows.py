"""Rows of what the trade usually meets and usually fills."""

from collections.abc import Mapping
from typing import Annotated, ClassVar

from pydantic import BeforeValidator, Field

from knowledge.loading.schema import CitedRow, DrawnRow, Finite, Id, Key, compared
from knowledge.parts.references import Refers
from knowledge.parts.request_model import optional

Percent = Annotated[Finite, Field(ge=0, le=100)]


def split(text: object) -> object:
    """The words of a cell."""
    return tuple(text.split()) if isinstance(text, str) else text


Ids = Annotated[tuple[Id, ...], BeforeValidator(split)]


class BoxKindRow(DrawnRow):
    """A kind of box that nearly every caller can name, and what the trade meets in such boxes.

    A row without shares is a layout, whose eras hold them. The spread is that of each share.
    """

    drawn: ClassVar[Mapping[str, str]] = {
        "callers_percent": "spread",
        "facing_percent": "spread",
        "final_drive_percent": "spread",
        "duty_percent": "spread",
    }

    id: Id
    words: str
    layout: Annotated[Id | None, Refers("box_kinds")] = None
    from_year: int | None = None
    to_year: int | None = None
    callers_percent: Percent | None = optional("Share of the callers who ask about one.")
    facing_percent: Mapping[str, Percent] = Field(
        {}, description="How often the trade meets each facing as the most delicate one; none: no rings."
    )
    final_drive_percent: Mapping[str, Percent] = {}
    duty_percent: Mapping[str, Percent] = {}


class HowOftenRow(DrawnRow):
    """How often the trade meets a value of a field, for some value of another field or for all."""

    keys = (Key(("field", "value", "given_value")),)
    drawn: ClassVar[Mapping[str, str]] = {"percent": "spread"}

    field: Annotated[str, Refers("unknowns")]
    value: str
    given_field: str | None = None
    given_value: str | None = None
    percent: Percent


class UsualFillRow(CitedRow):
    """What is usually filled into some boxes, the first choice first; a blank condition holds for any box.

    Of the rows that hold for a box the first counts.
    """

    keys = ()

    box_kinds: Annotated[Ids, Refers("box_kinds")] = ()
    facings: Ids = Field((), description="Facings of the most delicate ring set; none: no rings; empty: any.")
    final_drives: Ids = ()
    duties: Annotated[Ids, Refers("duties")] = ()
    cold_from_c: Finite | None = optional("The coldest start is this or warmer.")
    cold_below_c: Annotated[Finite | None, compared("above", "cold_from_c")] = optional(
        "The coldest start is colder than this."
    )
    lubricants: Annotated[Ids, Refers("lubricants")] = Field(min_length=1)
    colder: Annotated[Id | None, Refers("lubricants")] = optional(
        "The next thinner grade, where first shifts with the first choice are surely hard."
    )
    words: str = Field(description="Completes 'The usual fill for ...'; {rings} are the rings of the box.")

    def holds(
        self, box_kinds: frozenset[str], facing: str, final_drive: str, duty: str, coldest_start_c: float
    ) -> bool:
        """Whether the row holds for a box."""
        return (
            (not self.box_kinds or not box_kinds.isdisjoint(self.box_kinds))
            and (not self.facings or facing in self.facings)
            and (not self.final_drives or final_drive in self.final_drives)
            and (not self.duties or duty in self.duties)
            and (self.cold_from_c is None or coldest_start_c >= self.cold_from_c)
            and (self.cold_below_c is None or coldest_start_c < self.cold_below_c)
        )


class RingLookRow(CitedRow):
    """One thing that may be seen on a ring in the hand, and which facings look so."""

    keys = (Key(("step", "look")),)

    step: Id
    question: str
    look: Annotated[str, Field(pattern=r"^[a-z][a-z :]*$")] = Field(
        description="What is seen; no sign but blanks and colons."
    )
    facings: Annotated[Ids, Refers("facings")] = Field(min_length=1)
