"""The rows of the counter page: what is known of the box, each with its choices and how to find out."""

import re
from collections.abc import Iterable, Mapping
from typing import Literal, NamedTuple, get_args

from api.rendering import celsius
from knowledge.base import KnowledgeBase
from knowledge.loading.custom_rows import BoxKindRow
from knowledge.parts.request_model import FinalDrive
from knowledge.shop.shop import Shop

DONT_KNOW = "not said"
OPEN = "?"
YES_NO = (("true", "yes"), ("false", "no"))
USUAL_STARTS_C = (-30, -20, -15, -10, 0, 10)
# What a row need not tell while it is closed.
UNTOLD = ("service_note", "service_interval_km", "body", "cones")
IS_NUMBER = re.compile(r"-?\d{1,3}(\.\d+)?").fullmatch
State = Literal["said", "ours", "open"]
# For each row its fields; for each field its legend and its shape: `chips` are all in sight, a `list` opens, a `line`
# is written in, `degrees` are chips and a line beside them.
ROWS = {
    "Our own table": {"box_ref": ("A box we know", "list")},
    "What kind of box": {"box_kind": ("It is out of", "list")},
    "The book names": {
        "service_family": ("Kind of fluid it names", "family"),
        "service_grade": ("Grade it names", "grade"),
        "service_note": ("Where it is printed", "line"),
        "service_interval_km": ("Change interval it names, km", "line"),
    },
    "Rings": {
        "facing": ("Synchronizer ring facing", "chips"),
        "cones": ("The ring sets are", "chips"),
        "body": ("Beneath the facing the ring is", "chips"),
    },
    "Used for": {"duty": ("It is used for", "chips")},
    "Coldest start": {"coldest_start_c": ("Coldest start", "degrees")},
    "Final drive in it": {"final_drive": ("Final drive in the same oil", "chips")},
    "Rings worn?": {"condition": ("The rings are", "chips")},
    "Rings changed?": {
        "replaced": ("The rings were changed", "chips"),
        "ring_fluid_family": ("Kind of fluid the rings' maker names", "family"),
        "ring_fluid_grade": ("Grade the rings' maker names", "grade"),
    },
    "Slip, wet clutch": {
        "limited_slip": ("Limited-slip clutch in the same oil", "chips"),
        "wet_clutch": ("Wet clutch in the same oil", "chips"),
    },
    "Brass or bronze": {"yellow_metal": ("Bronze or brass in the oil", "chips")},
    "Oil temperature": {"sump_hot_c": ("Hottest oil, where it was measured", "number")},
    "In it now": {
        "in_it_family": ("Kind of fluid that is in it", "family"),
        "in_it_grade": ("Grade that is in it", "grade"),
    },
}


class Choice(NamedTuple):
    """One thing a field may be set to; the blank value is *not said*."""

    value: str
    words: str


class Field(NamedTuple):
    """One field, as it is set."""

    name: str
    legend: str
    shape: str
    choices: tuple[Choice, ...]
    has_help: bool
    value: str
    mistake: str | None = None

    @property
    def chosen(self) -> str:
        """What it is set to, in words."""
        return next((choice.words for choice in self.choices if choice.value == self.value), self.value)


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
        said = [_in_short(field, len(self.fields)) for field in self.fields if field.value and field.name not in UNTOLD]
        return " · ".join(said) or self.ours or OPEN


def _in_short(field: Field, among: int) -> str:
    """A yes or no among several needs the name of what it answers."""
    if field.name.endswith("_c"):
        return celsius(field.value) if IS_NUMBER(field.value) else field.value
    if among == 1 or field.chosen not in dict(YES_NO).values():
        return field.chosen
    name = field.name.replace("_", " ")
    return name if field.chosen == "yes" else f"no {name}"


def counter_form(
    values: Mapping[str, str],
    base: KnowledgeBase,
    shop: Shop,
    ours: Mapping[str, str] | None = None,
    mistakes: Mapping[str, str] | None = None,
) -> tuple[Row, ...]:
    """The rows, filled in as the address says.

    `ours` is what a box of the shop fills in, `mistakes` what is wrong with a value, each by its field. Without a shop
    no box of it is asked for.
    """
    choices = _choices(base, shop)

    def field(name: str, legend: str, shape: str, value: str) -> Field:
        offered, row = choices.get(name, ()), base.unknowns.get(name)
        if shape in ("chips", "list", "degrees"):
            if value and shape != "degrees" and value not in dict(offered):
                offered = (*offered, Choice(value, value))
            offered = (Choice("", DONT_KNOW), *offered)
        return Field(name, legend, shape, offered, row is not None, value, (mistakes or {}).get(name))

    def row(title: str, fields: Mapping[str, tuple[str, str]]) -> Row:
        known = Row(title, tuple(field(name, *shown, (ours or {}).get(name, "")) for name, shown in fields.items()), "")
        said = tuple(field(name, *shown, values.get(name, "")) for name, shown in fields.items())
        return Row(title, said, known.chip if known.state == "said" else "")

    return tuple(row(title, fields) for title, fields in ROWS.items() if shop.boxes or "box_ref" not in fields)


def legends(form: tuple[Row, ...]) -> dict[str, str]:
    """How each field is called on the page."""
    return {field.name: field.legend for row in form for field in row.fields}


def _choices(base: KnowledgeBase, shop: Shop) -> dict[str, tuple[Choice, ...]]:
    """What may be chosen in each field."""
    families = tuple((row.id, row.label) for row in base.families.values())
    offered: dict[str, Iterable[tuple[str, str]]] = {
        "box_ref": ((box.id, box.name) for box in shop.boxes.values()),
        "facing": (*((row.id, row.words) for row in base.facings.values()), ("none", "no rings")),
        "duty": ((row.id, row.words) for row in base.duties.values()),
        "coldest_start_c": ((f"{start_c}", celsius(start_c)) for start_c in USUAL_STARTS_C),
        "final_drive": ((kind, kind) for kind in get_args(FinalDrive.__value__)),
        "box_kind": ((row.id, row.words) for row in base.rows(BoxKindRow)),
        **dict.fromkeys(("service_family", "ring_fluid_family", "in_it_family"), families),
        **dict.fromkeys(("yellow_metal", "limited_slip", "wet_clutch", "replaced"), YES_NO),
        **{
            name: [(row.value, row.words) for row in base.plausible_values if row.field == name]
            for name in ("condition", "body", "cones")
        },
    }
    return {name: tuple(Choice(*one) for one in pairs) for name, pairs in offered.items()}
