"""The rows of a page: what is known of the box and of the job, each with its choices and how to find out."""

import re
import tomllib
from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import Any, Literal, NamedTuple, get_args

from api.rendering import celsius
from knowledge.base import KnowledgeBase
from knowledge.loading.custom_rows import BoxKindRow
from knowledge.parts.request_model import FinalDrive
from knowledge.shop.shop import Shop
from knowledge.symptom.question import FluidState, Gears, GripTest, When
from knowledge.symptom.rows import SymptomRow

DONT_KNOW = "not said"
OPEN = "?"
YES_NO = (("true", "yes"), ("false", "no"))
USUAL_STARTS_C = (-30, -20, -15, -10, 0, 10)
# What a row need not tell while it is closed.
UNTOLD = ("service_note", "service_interval_km", "body", "cones", "copper_strip_hours")
BARE = ("none", "neither", "yes", "no", "set")
FAMILY, ONE_OF = "family", ("chips", "list", "degrees")
IS_NUMBER = re.compile(r"-?\d{1,3}(\.\d+)?").fullmatch
JOBS: dict[str, dict[str, dict[str, list[Any]]]] = tomllib.loads(
    (Path(__file__).resolve().parent.parent / "rows.toml").read_text()
)
ORDER = (
    "Our own table", "What kind of box", "The book names", "Rings", "Used for", "Coldest start", "Final drive in it",
    "Rings worn?", "Rings changed?", "Slip, clutch", "Brass or bronze", "Oil temperature", "In it now",
)  # fmt: skip
ASKED_YES_OR_NO = (
    "yellow_metal", "limited_slip", "wet_clutch", "replaced", "engine_off_same", "double_clutch_cures",
    "after_fluid_change",
)  # fmt: skip
State = Literal["said", "ours", "open"]


class Choice(NamedTuple):
    """One thing a field may be set to; the blank value is *not said*."""

    value: str
    words: str


class Field(NamedTuple):
    """One field, as it is set; `within` is the range and the step of a slider."""

    name: str
    legend: str
    shape: str
    choices: tuple[Choice, ...]
    has_help: bool
    value: str
    mistake: str | None = None
    within: tuple[float, ...] = ()

    @property
    def values(self) -> list[str]:
        """Everything that is ticked."""
        return self.value.split()

    @property
    def chosen(self) -> str:
        """What it is set to, in words."""
        words = dict(self.choices)
        if self.shape == "ticks":
            return ", ".join(words.get(value, value) for value in self.values)
        return words.get(self.value, self.value)


class Row(NamedTuple):
    """Fields that belong together, and what they come to; `ours` is what the shop's own table says."""

    title: str
    fields: tuple[Field, ...]
    ours: str

    @property
    def state(self) -> State:
        """Whether the caller said it, the shop's own table does, or nobody."""
        return "said" if any(field.value for field in self.fields) else "ours" if self.ours else "open"

    @property
    def is_wrong(self) -> bool:
        """Whether something in it cannot be used."""
        return any(field.mistake for field in self.fields)

    @property
    def chip(self) -> str:
        """What is known, in as few words as there is room for."""
        told = [field for field in self.fields if field.value and field.name not in UNTOLD]
        if any(field.shape == "slider" for field in told):
            return "set"
        if len(told) > 1 and all(field.chosen == "no" for field in told):
            return "neither"
        return " · ".join(_in_short(field, len(self.fields)) for field in told) or self.ours or OPEN

    @property
    def told(self) -> str:
        """The same away from its title: a bare *none* or *yes* needs it."""
        return f"{self.title.rstrip('?').lower()}: {self.chip}" if self.chip in BARE else self.chip


def _in_short(field: Field, among: int) -> str:
    """A yes or no among several needs the name of what it answers."""
    if field.name.endswith("_c"):
        return celsius(field.value) if IS_NUMBER(field.value) else field.value
    if field.name.endswith("_l"):
        return f"{field.value} litres"
    if among == 1 or field.chosen not in dict(YES_NO).values():
        return field.chosen
    name = field.name.replace("_", " ")
    return name if field.chosen == "yes" else f"no {name}"


def rows_of(
    job: str,
    values: Mapping[str, str],
    base: KnowledgeBase,
    shop: Shop,
    ours: Mapping[str, str] | None = None,
    mistakes: Mapping[str, str] | None = None,
) -> tuple[Row, ...]:
    """The rows of a job, `box` or one of `rows.toml`, filled in as the address says.

    `ours` is what a box of the shop fills in, `mistakes` what is wrong with a value, each by its field. What only the
    shop could fill in is left out without one.
    """
    choices, wrong = _choices(base, shop), mistakes or {}

    def field(name: str, legend: str, shape: str, *within: float, value: str = "") -> Field:
        offered = choices.get("family" if shape == FAMILY else name, ())
        if name == "other_facing":
            offered = tuple(one for one in offered if one.value in value or one.value != values.get("facing"))
        if shape in ONE_OF:
            if value and shape != "degrees" and value not in dict(offered):
                offered = (*offered, Choice(value, value))
            offered = (Choice("", DONT_KNOW), *offered)
        return Field(name, legend, shape, offered, name in base.unknowns, value, wrong.get(name), within)

    def row(title: str, fields: Mapping[str, list[Any]]) -> Row:
        known, said = (
            tuple(field(name, *shown, value=(given or {}).get(name, "")) for name, shown in fields.items())
            for given in (ours, values)
        )
        from_shop = Row(title, known, "")
        return Row(title, said, from_shop.chip if from_shop.state == "said" else "")

    shown = JOBS[job]
    titles = ORDER if job == "box" else tuple(shown)
    missing = {name for name, of_shop in (("box_ref", shop.boxes), ("shelf_ref", shop.shelf)) if not of_shop}
    return tuple(row(title, shown[title]) for title in titles if missing.isdisjoint(shown[title]))


def legends(rows: Iterable[Row]) -> dict[str, str]:
    """How each field is called on the page."""
    return {field.name: field.legend for row in rows for field in row.fields}


def _choices(base: KnowledgeBase, shop: Shop) -> dict[str, tuple[Choice, ...]]:
    """What may be chosen in each field."""
    offered: dict[str, Iterable[tuple[str, str]]] = {
        "box_ref": ((box.id, box.name) for box in shop.boxes.values()),
        "shelf_ref": ((jug.id, jug.name or jug.id) for jug in shop.shelf.values()),
        "facing": (*((row.id, row.words) for row in base.facings.values()), ("none", "no rings")),
        "other_facing": ((row.id, row.words) for row in base.facings.values()),
        "duty": ((row.id, row.words) for row in base.duties.values()),
        "coldest_start_c": ((f"{start_c}", celsius(start_c)) for start_c in USUAL_STARTS_C),
        "box_kind": ((row.id, row.words) for row in base.rows(BoxKindRow)),
        "symptoms": ((row.id, row.words.removesuffix(".")) for row in base.rows(SymptomRow)),
        "family": ((row.id, row.label) for row in base.families.values()),
        "fluid": ((oil.id, oil.short_name) for oil in base.lubricants),
        "ring_gap_worn_when": (("smaller", "smaller"), ("larger", "larger")),
        **{
            name: ((value, value.replace("-", " ")) for value in get_args(kinds.__value__))
            for name, kinds in (
                ("final_drive", FinalDrive), ("when", When), ("gears", Gears), ("fluid_state", FluidState),
                ("grip_test", GripTest),
            )
        },
        **dict.fromkeys(ASKED_YES_OR_NO, YES_NO),
        **{
            name: [(row.value, row.words) for row in base.plausible_values if row.field == name]
            for name in ("condition", "body", "cones")
        },
    }  # fmt: skip
    return {name: tuple(Choice(*one) for one in pairs) for name, pairs in offered.items()}
