"""The fields of the counter page: for each a legend, the choices with *don't know* first, and how to find out."""

from collections.abc import Iterable, Mapping
from typing import NamedTuple, get_args

from knowledge.base import KnowledgeBase
from knowledge.loading.custom_rows import BoxKindRow
from knowledge.parts.request_model import FinalDrive
from knowledge.shop.shop import Shop

DONT_KNOW = "don't know"
YES_NO = (("true", "yes"), ("false", "no"))
# Groups of fields; for each field its legend and its shape: `chips` are all in sight, a `list` opens, a `line` is
# written in.
LAYOUT = {
    "The gearbox": {
        "box_ref": ("A box we know", "list"),
        "box_kind": ("It is out of", "list"),
        "facing": ("Synchronizer ring facing", "chips"),
        "duty": ("It is used for", "chips"),
        "coldest_start_c": ("Coldest start", "list"),
        "final_drive": ("Final drive in the same oil", "chips"),
        "yellow_metal": ("Bronze or brass in the oil", "chips"),
    },
    "More, where it is known": {
        "condition": ("The rings are", "chips"),
        "body": ("Beneath the facing the ring is", "chips"),
        "cones": ("The ring sets are", "chips"),
        "replaced": ("The rings were changed", "chips"),
        "ring_fluid_family": ("Kind of fluid the rings' maker names", "list"),
        "ring_fluid_grade": ("Grade the rings' maker names", "line"),
        "sump_hot_c": ("Hottest oil", "list"),
        "limited_slip": ("Limited-slip clutch in the same oil", "chips"),
        "wet_clutch": ("Wet clutch in the same oil", "chips"),
    },
    "The manufacturer's service data": {
        "service_family": ("Kind of fluid it names", "list"),
        "service_grade": ("Grade it names", "line"),
        "service_note": ("Where it is printed", "line"),
        "service_interval_km": ("Change interval it names, km", "line"),
    },
    "In it now": {
        "in_it_family": ("Kind of fluid that is in it", "list"),
        "in_it_grade": ("Grade that is in it", "line"),
    },
}
TUCKED_AWAY = "More, where it is known"


class Choice(NamedTuple):
    """One thing a field may be set to; the blank value is *don't know*."""

    value: str
    words: str


class Field(NamedTuple):
    """One field, as it is set."""

    name: str
    legend: str
    shape: str
    choices: tuple[Choice, ...]
    how_to_tell: str | None
    value: str


class Group(NamedTuple):
    """Fields that belong together; those tucked away open by themselves once one of them is set."""

    title: str
    fields: tuple[Field, ...]

    @property
    def is_tucked_away(self) -> bool:
        """Whether it is opened by whoever needs it."""
        return self.title == TUCKED_AWAY

    @property
    def is_set(self) -> bool:
        """Whether any of its fields says something."""
        return any(field.value for field in self.fields)


def counter_form(values: Mapping[str, str], base: KnowledgeBase, shop: Shop) -> tuple[Group, ...]:
    """The form, filled in as the address says; without a shop it asks for no box of it."""
    choices = _choices(base, shop)

    def field(name: str, legend: str, shape: str) -> Field:
        value, offered, row = values.get(name, ""), choices[name], base.unknowns.get(name)
        if shape != "line":
            if value and value not in dict(offered):
                offered = (*offered, Choice(value, f"{value} °C" if name.endswith("_c") else value))
            offered = (Choice("", DONT_KNOW), *offered)
        return Field(name, legend, shape, offered, row.how_to_tell if row and shape != "line" else None, value)

    return tuple(
        Group(title, tuple(field(name, *shown) for name, shown in fields.items() if name != "box_ref" or shop.boxes))
        for title, fields in LAYOUT.items()
    )


def legends(form: tuple[Group, ...]) -> dict[str, str]:
    """How each field is called on the page."""
    return {field.name: field.legend for group in form for field in group.fields}


def _choices(base: KnowledgeBase, shop: Shop) -> dict[str, tuple[Choice, ...]]:
    """What may be chosen in each field."""
    grades = dict.fromkeys(row.grade for row in base.lubricant_rows.values())
    families = [
        (row.id, row.name if row.name == row.label else f"{row.label}: {row.name}") for row in base.families.values()
    ]
    offered: dict[str, Iterable[tuple[str, str]]] = {
        "box_ref": ((box.id, box.name) for box in shop.boxes.values()),
        "facing": (*((row.id, row.words) for row in base.facings.values()), ("none", "there are no rings")),
        "duty": ((row.id, row.words) for row in base.duties.values()),
        "coldest_start_c": ((f"{celsius}", f"{celsius} °C") for celsius in range(-50, 31, 5)),
        "sump_hot_c": ((f"{celsius}", f"{celsius} °C") for celsius in range(60, 151, 10)),
        "final_drive": ((kind, kind) for kind in get_args(FinalDrive.__value__)),
        "box_kind": ((row.id, row.words) for row in base.rows(BoxKindRow)),
        **dict.fromkeys(("service_family", "ring_fluid_family", "in_it_family"), families),
        **dict.fromkeys(("service_grade", "ring_fluid_grade", "in_it_grade"), tuple(zip(grades, grades, strict=True))),
        **dict.fromkeys(("service_note", "service_interval_km"), ()),
        **dict.fromkeys(("yellow_metal", "limited_slip", "wet_clutch", "replaced"), YES_NO),
        **{
            name: [(row.value, row.words) for row in base.plausible_values if row.field == name]
            for name in ("condition", "body", "cones")
        },
    }
    return {name: tuple(Choice(*one) for one in pairs) for name, pairs in offered.items()}
