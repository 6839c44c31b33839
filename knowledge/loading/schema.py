"""The shape of a row in each table; `knowledge check` holds every file to these models and to what they declare."""

import operator
from collections.abc import Callable, Mapping
from typing import Annotated, Any, ClassVar, Literal, NamedTuple

from pydantic import AfterValidator, BaseModel, ConfigDict, Field, ValidationInfo
from pydantic_core import PydanticCustomError

from knowledge.parts.provenance import Caution, Effect, Severity, Source, Standing
from knowledge.parts.ranges import (
    COPPER_RATING,
    HOT_SUMP,
    INERTIA,
    SHIFT_FORCE,
    SHIFT_INTERVAL,
    SHIFTS,
    SPEED_DIFFERENCE,
)
from knowledge.parts.references import Refers
from knowledge.parts.request_model import Plain, optional
from knowledge.parts.units import unit_of

Finite = Annotated[float, Field(allow_inf_nan=False)]
ColdLimit = Annotated[float, Field(ge=-60, le=10)]
Positive = Annotated[float, Field(gt=0, allow_inf_nan=False)]
Kv100 = Annotated[float, Field(ge=2, le=100)]
Rating = Annotated[str, COPPER_RATING]
Id = Annotated[str, Field(pattern=r"^[a-z0-9]+(-[a-z0-9]+)*$")]


COMPARISONS: Mapping[str, Callable[[Any, Any], bool]] = {
    "above": operator.gt,
    "below": operator.lt,
    "not above": operator.le,
    "not below": operator.ge,
}


def compared(how: Literal["above", "below", "not above", "not below"], column: str) -> AfterValidator:
    """Marks a column whose value must be above, below, not above or not below that of an earlier column."""
    told = f"not be {how.removeprefix('not ')}" if how.startswith("not") else f"be {how}"

    def check(value: float | None, info: ValidationInfo) -> float | None:
        other = info.data.get(column)
        if value is not None and other is not None and not COMPARISONS[how](value, other):
            raise PydanticCustomError("compared", "must {how} {column}", {"how": told, "column": column})
        return value

    return AfterValidator(check)


def _of_quantity(unit: str, info: ValidationInfo) -> str:
    wanted = unit_of(info.data.get("quantity", ""))
    if unit != wanted:
        raise PydanticCustomError("unit", "unit must be {unit}", {"unit": wanted})
    return unit


# The unit that the name in the column `quantity`, which stands before it, ends in.
UnitOfQuantity = Annotated[str, AfterValidator(_of_quantity)]


class Key(NamedTuple):
    """Columns that find a row: no two rows are alike in all of them.

    A complete key has a row for each combination of what its columns may hold. A key of chosen rows leaves out the
    others: of rows that disagree one is chosen, and the note of each begins with the reason.
    """

    columns: tuple[str, ...]
    is_complete: bool = False
    of_chosen: bool = False


class Row(BaseModel):
    """A row: frozen, with no column that nobody asked for, and served with every field."""

    model_config = ConfigDict(extra="forbid", frozen=True, json_schema_serialization_defaults_required=True)

    keys: ClassVar[tuple[Key, ...]] = (Key(("id",)),)


class CitedRow(Row):
    """A row of figures that come from one place."""

    source: Annotated[Id, Refers("sources")]
    locator: str | None = None
    standing: Standing
    note: str | None = None


Distribution = Literal["times", "plus-minus", "odds"]


class DrawnRow(CitedRow):
    """A row with figures that may be drawn at random, to tell how firm an answer is.

    `drawn` names the columns of these figures, each with the column of its spread.
    """

    drawn: ClassVar[Mapping[str, str]] = {"value": "spread"}

    spread: Positive | None = optional("How far off the figure may be, as `distribution` says; null: it is not drawn.")
    distribution: Distribution | None = optional(
        "Times or divided by the spread, plus or minus it, or odds times or divided by it; null: never."
    )

    def drawn_from_to(self, column: str = "value") -> tuple[float, float]:
        """The least and the most that a figure of the row is drawn as."""
        value, spread = getattr(self, column), getattr(self, self.drawn[column])
        return at_place(value, spread, self.distribution, -1.0), at_place(value, spread, self.distribution, 1.0)


def at_place(value: float, spread: float | None, distribution: str | None, place: Any) -> Any:
    """A figure at a place within its spread, -1 for the least that it may be and 1 for the most; or at many."""
    if spread is None or distribution is None:
        return value
    if distribution == "plus-minus":
        return value + spread * place
    if distribution == "times":
        return value * spread**place
    odds = value / (100 - value) * spread**place
    return 100 * odds / (1 + odds)


class SourceRow(Source, Row):
    """Where figures and claims come from; nothing else in the project holds a citation."""

    id: Id


class DefaultRow(DrawnRow):
    """A shape that may be assumed when the caller does not give it; always shown as assumed."""

    keys = (Key(("part", "quantity")),)

    part: Literal["bearing", "mesh", "ring_geometry", "steel", "shift"]
    quantity: str
    value: Finite
    unit: UnitOfQuantity


class ThresholdRow(DrawnRow):
    """A limit that a rule reads."""

    id: Id
    value: Finite
    unit: str


class DutyRow(DrawnRow):
    """A way of driving and the sump temperatures that go with it; the spread is that of its sump."""

    drawn: ClassVar[Mapping[str, str]] = {"sump_hot_c": "spread"}
    id: Id
    name: str
    words: str
    reply: str = Field(description="The reply to the question how it is driven.")
    sump_hot_c: Annotated[Plain, HOT_SUMP] = Field(
        description="Temperature of the oil after long use of this kind; not a peak."
    )
    is_light: bool
    shift_force_n: Annotated[Plain, SHIFT_FORCE] = Field(
        description="Force of a hard shift in this duty, along the shaft."
    )
    speed_difference_rpm: Annotated[Plain, SPEED_DIFFERENCE]
    inertia_kg_m2: Annotated[Plain, INERTIA]
    shifts: Annotated[int, SHIFTS] = Field(description="Into the same gear, one soon after another.")
    shift_interval_s: Annotated[Plain, SHIFT_INTERVAL]


class PlausibleValueRow(CitedRow):
    """A value that is tried for a field the caller does not know; every facing, body and duty is tried too."""

    keys = (Key(("field", "value")),)

    field: Annotated[str, Refers("unknowns")]
    value: str
    words: str


class UnknownRow(Row):
    """A field the caller may not know: the question to ask, and how to find out."""

    id: str
    pointer: str
    short: Annotated[str, Field(max_length=60)] = Field(description="Completes 'ask next ...' in a summary.")
    question: str
    how_to_tell: str
    phrase: Annotated[str, Field(pattern=r"^[^{}]*\{values\}[^{}]*$")] = Field(
        description="Completes 'only if ...'; {values} is replaced."
    )
    effort: Finite = Field(ge=0, le=1, description="0: the caller knows by heart; 1: the box must come apart.")
    answerable_percent: Finite = Field(ge=0, le=100, description="How many owners can answer at once.")


class CautionRow(Caution, Row):
    """A plain warning and the circumstances it belongs to."""

    id: Id
    when: tuple[str, ...]
    not_beside: Annotated[tuple[str, ...], Refers("families")] = Field(
        (), description="Families of a leader that it does not stand beside, since it speaks against them."
    )
    in_short: str | None = optional("Its part of the one line that goes with every fill.")
    only_if: Annotated[str, Field(max_length=0)] | None = optional("Filled in by an answer, never here.")


class OutcomeRow(Row):
    """One way a rule about lubricants can come out, and its text; {places} are filled in by the rule."""

    keys: ClassVar[tuple[Key, ...]] = (Key(("rule", "outcome")),)

    rule: Id
    outcome: Id
    effect: Effect
    severity: Severity
    is_concerned: bool = Field(description="False where the box or the lubricant has nothing that the rule is about.")
    is_of_grade: bool = Field(
        description="It refuses a grade and not the family: service data naming the family alone excuses nothing."
    )
    is_grave: bool = Field(description="A refusal that holds whatever the service data names.")
    text: str
    unless: str | None = optional("What would lift a refusal.")
    when_named: str | None = optional(
        "Told instead of a refusal where the service data names the class, and it needs care."
    )
    sheet_line: str | None = optional("What a data sheet must show for it, as one of its lines.")
    aloud: str | None = optional("The reason read aloud, such as 'No GL-5: it eats the bronze'.")


class WordRow(Row):
    """A word of the trade, in plain words for a customer."""

    id: Id
    term: str
    used: tuple[str, ...] = Field(description="How the word occurs in an answer, in any case of letters.")
    meaning: str
