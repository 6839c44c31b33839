"""The shape of a row in each table; `knowledge check` holds every file to these models and to what they declare."""

import operator
from collections.abc import Callable, Mapping
from typing import Annotated, Any, ClassVar, Literal, NamedTuple

from pydantic import (
    BaseModel,
    ConfigDict,
    Field,
    GetCoreSchemaHandler,
    ValidationInfo,
)
from pydantic_core import PydanticCustomError, core_schema

from knowledge.parts.provenance import Caution, Citation, Effect, Severity, Source, Standing
from knowledge.parts.ranges import (
    COPPER_RATING,
    FRICTION,
    HALF_ANGLE,
    HOT_SUMP,
    INERTIA,
    SHIFT_FORCE,
    SHIFT_INTERVAL,
    SHIFTS,
    SPEED_DIFFERENCE,
)
from knowledge.parts.references import Refers
from knowledge.parts.request_model import Condition, Plain, optional
from knowledge.parts.units import unit_of

Finite = Annotated[float, Field(allow_inf_nan=False)]
ColdLimit = Annotated[float, Field(ge=-60, le=10)]
Positive = Annotated[float, Field(gt=0, allow_inf_nan=False)]
Kv100 = Annotated[float, Field(ge=2, le=100)]
ViscosityIndex = Annotated[float, Field(ge=0, le=400)]
Rating = Annotated[str, COPPER_RATING]
Id = Annotated[str, Field(pattern=r"^[a-z0-9]+(-[a-z0-9]+)*$")]


COMPARISONS: Mapping[str, Callable[[Any, Any], bool]] = {
    "above": operator.gt,
    "below": operator.lt,
    "not above": operator.le,
    "not below": operator.ge,
}


class Compared(NamedTuple):
    """Marks a column whose value must be above, below, not above or not below that of an earlier column."""

    how: Literal["above", "below", "not above", "not below"]
    column: str

    def __get_pydantic_core_schema__(self, source: Any, handler: GetCoreSchemaHandler) -> core_schema.CoreSchema:
        """The schema of the column with the comparison after it."""
        return core_schema.with_info_after_validator_function(self._compared, handler(source))

    def _compared(self, value: float | None, info: ValidationInfo) -> float | None:
        other = info.data.get(self.column)
        if value is not None and other is not None and not COMPARISONS[self.how](value, other):
            how = f"not be {self.how.removeprefix('not ')}" if self.how.startswith("not") else f"be {self.how}"
            raise PydanticCustomError("compared", "must {how} {column}", {"how": how, "column": self.column})
        return value


class UnitOf(NamedTuple):
    """Marks the column of a unit, which must be the one that the quantity named in an earlier column ends in."""

    column: str

    def __get_pydantic_core_schema__(self, source: Any, handler: GetCoreSchemaHandler) -> core_schema.CoreSchema:
        """The schema of the column with the comparison after it."""
        return core_schema.with_info_after_validator_function(self._compared, handler(source))

    def _compared(self, value: str, info: ValidationInfo) -> str:
        unit = unit_of(info.data.get(self.column, ""))
        if value != unit:
            raise PydanticCustomError("unit", "unit must be {unit}", {"unit": unit})
        return value


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


SaeScale = Literal["sae-j306", "sae-j300"]


class FamilyRow(Row):
    """A family of fluid: what its label promises, whatever the viscosity."""

    id: Id
    name: str
    label: str = Field(description="As short as it is called at the counter.")
    protection: Literal["none", "light", "moderate", "full"] = Field(
        description="Gear protection of the additives: none, light antiwear, moderate or full extreme pressure."
    )
    protects_hypoid: bool = Field(False, description="Made for hypoid teeth, as GL-5 is.")
    limited_slip: bool = False
    suits_wet_clutch: bool = Field(False, description="Whether it is of the kind that wet clutches run in.")
    dual_label: bool = False
    polymer_thickened: bool = False
    is_gear_oil: bool
    scales: tuple[SaeScale, ...] = Field(description="Of what its grades can be; none: it has no SAE grade.")
    works_as: Annotated[Id | None, Refers("families")] = optional(
        "The family whose oil of the same grade does the same work in a box with rings."
    )
    copper_strip_limit: Annotated[Rating | None, Refers("copper_strip")] = optional(
        "Worst ASTM D130 rating the category itself allows."
    )
    copper_strip_temperature_c: Annotated[float, Field(ge=20, le=200)] | None = None
    meaning: str
    standing: Standing
    sources: tuple[Citation, ...]


FacingKind = Literal["solid-or-sprayed", "sintered", "lined"]


class FacingRow(Row):
    """A friction material at the cone."""

    id: Id
    name: str
    words: Annotated[str, Field(max_length=16)] = Field(description="The material, in a summary.")
    ring_words: str = Field(description="A set of such rings, in a reply.")
    delicacy: int = Field(
        ge=1, le=9, description="Rank from 1 to 9: of the rings of a box the one with the highest decides."
    )
    kind: FacingKind = Field(description="How it has to be served by a fluid.")
    copper_alloy: bool
    body: Annotated[str | None, Refers("bodies")] = optional(
        "An id of /v1/bodies where the ring is made of its facing; else null."
    )
    usual_lubricant: Annotated[Id, Refers("lubricants")] = Field(
        description="The class whose middle a cold shift is compared with."
    )
    reached_for: int = Field(ge=1, description="Its turn where several stand a shift: 1 is fitted first.")
    cone_finish: str = Field(description="What the cone against it has to be.")
    looks_like: str
    standing: Standing
    sources: tuple[Citation, ...]


class BodyRow(Row):
    """What a ring is made of beneath its facing."""

    id: Id
    name: str
    words: str = Field(description="The material, in a reply.")
    copper_alloy: bool
    looks_like: str
    standing: Standing
    sources: tuple[Citation, ...]


Sold = Literal["everyday", "to-order", "rare"]


class LubricantRow(DrawnRow):
    """A lubricant class: a family at a grade, a band and never one oil; the spread is that of `long_sump_c`."""

    drawn: ClassVar[Mapping[str, str]] = {
        "long_sump_c": "spread",
        "viscosity_index_min": "viscosity_index_spread",
        "viscosity_index_max": "viscosity_index_spread",
        "cold_limit_c": "cold_limit_spread",
    }
    keys = (Key(("id",)), Key(("family", "scale", "grade", "kv100_min_mm2_s", "kv100_max_mm2_s")))

    id: Id
    name: Annotated[str, Field(max_length=50)]
    family: Annotated[Id, Refers("families")]
    scale: SaeScale | Literal["none"]
    grade: str
    kv100_min_mm2_s: Kv100 | None = optional("Lowest KV100; null where the grade fixes it.")
    kv100_max_mm2_s: Kv100 | None = optional("Highest KV100; null where the grade fixes it.")
    viscosity_index_min: ViscosityIndex
    viscosity_index_max: Annotated[ViscosityIndex, Compared("above", "viscosity_index_min")]
    density15_kg_m3: Annotated[float, Field(ge=801, le=1164)]
    cold_limit_c: ColdLimit | None = optional("Down to where it is made to flow; null where the W grade fixes it.")
    sold: Sold = Field(description="How commonly it is sold, where no region is known.")
    long_sump_c: Annotated[float, Field(ge=20, le=200)] = Field(description="Oil temperature that it stands for long.")
    peak_sump_c: Annotated[float, Field(le=200), Compared("above", "long_sump_c")] = Field(
        description="Oil temperature that it stands for a while."
    )
    tolerated_to_c: Annotated[float, Field(ge=-60, le=10)] = Field(
        description="Coldest start that the trade puts up with; in a colder one another grade is told."
    )
    viscosity_index_spread: Positive | None = optional(
        "How far off each edge of the viscosity index may be; null: it is not drawn."
    )
    cold_limit_spread: Positive | None = optional(
        "How far off a cold limit that no grade fixes may be, °C; null: it is not drawn."
    )


class RegionRow(CitedRow):
    """Where a class is sold more or less commonly than elsewhere."""

    keys: ClassVar[tuple[Key, ...]] = (Key(("region", "lubricant")),)

    region: Id
    lubricant: Annotated[Id, Refers("lubricants")]
    sold: Sold


class AliasRow(CitedRow):
    """A word that callers use for ids of a table, or of the words that a field may hold; several ids: ask which."""

    keys = (Key(("kind", "word")),)

    kind: Literal["facings", "families", "duties", "final_drives", "conditions", "grades"]
    word: Annotated[str, Field(max_length=60)]
    ids: str = Field(description="The ids it may mean, set apart by blanks.")
    how: Literal["is", "ask", "both"] = Field(description="Both: a label that claims the first and the second at once.")


class BareGradeRow(CitedRow):
    """What a grade that stands in a book without its family means today."""

    keys = (Key(("printed", "box", "built_from", "colder_than_c")),)

    printed: str = Field(description="The grade, or the family of fluid, as it is read.")
    box: Literal["any", "rings", "lined", "no-rings", "hypoid"]
    built_from: Annotated[int, Field(ge=1900, le=2100)] | None = optional(
        "Only in boxes of a kind that was built from this year on."
    )
    colder_than_c: Annotated[float, Field(ge=-60, le=10)] | None = optional(
        "Only for colder starts; the coldest row that holds is used."
    )
    first: Annotated[Id | None, Refers("lubricants")] = optional(
        "The first choice, an id of /v1/lubricants; blank: as printed."
    )
    second: Annotated[Id | None, Refers("lubricants")] = None
    words: Annotated[str, Field(max_length=140)]


FITNESS_FROM_BEST = ("first", "second", "light-duty", "named", "refused")


# What stands for the facing of a box without synchronizer rings.
NO_RINGS = "none"


class FacingFamilyRow(CitedRow):
    """How well a family of fluid serves a facing (`none`: a box without synchronizer rings)."""

    keys = (Key(("facing", "family"), is_complete=True),)

    facing: Annotated[Id, Refers("facings", also=(NO_RINGS,))]
    family: Annotated[Id, Refers("families")]
    fitness: Literal["first", "second", "light-duty", "named", "refused"]
    reason: str


class RingLandRow(DrawnRow):
    """The lands of a facing: what has to squeeze the oil out before it grips."""

    drawn: ClassVar[Mapping[str, str]] = {
        "land_width_mm": "spread",
        "groove_depth_mm": "spread",
        "film_end_um": "spread",
        "permeability_m2": "permeability_spread",
    }
    keys = (Key(("facing", "condition"), is_complete=True),)

    facing: Annotated[Id, Refers("facings")]
    condition: Condition
    land_width_mm: Positive
    land_share: Annotated[float, Field(gt=0, lt=1)]
    groove_depth_mm: Positive
    groove_shape: Literal["triangle", "rectangle"]
    groove_runs: Literal["around", "along"] = Field(description="Around the cone, as a thread, or along it.")
    permeability_m2: Positive | None = optional("Permeability of a porous lining; null where the face is tight.")
    permeability_spread: Positive | None = optional(
        "Times or divided by what the permeability is known to; null: it is not drawn."
    )
    lining_mm: Positive | None = None
    film_start_um: Positive
    film_end_um: Annotated[Positive, Compared("below", "film_start_um")]
    half_angle_deg: Annotated[Plain, HALF_ANGLE]


class FrictionRow(CitedRow):
    """Coefficient of friction of a facing on a steel cone in oil."""

    keys = (Key(("facing",), is_complete=True, of_chosen=True),)

    facing: Annotated[Id, Refers("facings")]
    dynamic_min: Annotated[Plain, FRICTION]
    dynamic_max: Annotated[Plain, FRICTION, Compared("not below", "dynamic_min")]
    static_to_dynamic_typical: Annotated[float, Field(ge=1, le=2)] | None = None
    static_to_dynamic_max: Annotated[float | None, Compared("not below", "static_to_dynamic_typical")] = Field(
        None, ge=1, le=2
    )
    chosen: bool = Field(description="Which of several disagreeing rows is used.")


class DefaultRow(DrawnRow):
    """A shape that may be assumed when the caller does not give it; always shown as assumed."""

    keys = (Key(("part", "quantity")),)

    part: Literal["bearing", "mesh", "ring_geometry", "steel", "shift"]
    quantity: str
    value: Finite
    unit: Annotated[str, UnitOf("quantity")]


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


TABLES: Mapping[str, type[Row]] = {
    "sources.toml": SourceRow,
    "families.toml": FamilyRow,
    "facings.toml": FacingRow,
    "bodies.toml": BodyRow,
    "lubricants.csv": LubricantRow,
    "sold_by_region.csv": RegionRow,
    "aliases.csv": AliasRow,
    "bare_grades.csv": BareGradeRow,
    "facing_families.csv": FacingFamilyRow,
    "ring_lands.csv": RingLandRow,
    "friction.csv": FrictionRow,
    "defaults.csv": DefaultRow,
    "thresholds.csv": ThresholdRow,
    "duties.csv": DutyRow,
    "unknowns.toml": UnknownRow,
    "plausible_values.csv": PlausibleValueRow,
    "cautions.toml": CautionRow,
    "outcomes.csv": OutcomeRow,
    "words.toml": WordRow,
}
