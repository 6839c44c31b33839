"""The fields of the counter page: for each a legend, the choices with *don't know* first, and how to find out."""

from collections.abc import Iterator, Mapping
from typing import NamedTuple, get_args

from knowledge.base import KnowledgeBase
from knowledge.parts.request_model import FinalDrive
from knowledge.shop.shop import Shop

COLDEST_C = range(-50, 31, 5)
HOTTEST_C = range(60, 151, 10)
DONT_KNOW = "don't know"


class Choice(NamedTuple):
    """One thing a field may be set to; the blank value is *don't know*."""

    value: str
    words: str


class Field(NamedTuple):
    """One field: `chips` are all in sight, a `list` opens, a `line` is written in."""

    name: str
    legend: str
    shape: str
    choices: tuple[Choice, ...] = ()
    how_to_tell: str | None = None
    value: str = ""


YES_NO = (Choice("true", "yes"), Choice("false", "no"))
FINAL_DRIVES = tuple(Choice(kind, kind) for kind in get_args(FinalDrive.__value__))


class Group(NamedTuple):
    """Fields that belong together; those tucked away open by themselves once one of them is set."""

    title: str
    fields: tuple[Field, ...]
    is_tucked_away: bool = False

    @property
    def is_set(self) -> bool:
        """Whether any of its fields says something."""
        return any(field.value for field in self.fields)


def counter_form(values: Mapping[str, str], base: KnowledgeBase, shop: Shop) -> tuple[Group, ...]:
    """The form, filled in as the address says."""
    make = _Maker(values, base)
    boxes = tuple(Choice(box.id, box.name) for box in shop.boxes.values())
    families = tuple(
        Choice(row.id, row.name if row.name == row.label else f"{row.label}: {row.name}")
        for row in base.families.values()
    )
    ours = (make.listed("box_ref", "A box we know", boxes),) if boxes else ()
    return (
        Group(
            "The gearbox",
            (
                *ours,
                make.chips("facing", "Synchronizer ring facing", choices=_facings(base)),
                make.chips("duty", "It is used for", choices=_duties(base)),
                make.listed("coldest_start_c", "Coldest start", _temperatures(COLDEST_C)),
                make.chips("final_drive", "Final drive in the same oil", choices=FINAL_DRIVES),
                make.chips("yellow_metal", "Bronze or brass in the oil", choices=YES_NO),
            ),
        ),
        Group(
            "More, where it is known",
            (
                make.chips("condition", "The rings are"),
                make.chips("body", "Beneath the facing the ring is"),
                make.chips("cones", "The ring sets are"),
                make.listed("sump_hot_c", "Hottest oil", _temperatures(HOTTEST_C)),
                make.chips("limited_slip", "Limited-slip clutch in the same oil", choices=YES_NO),
                make.chips("wet_clutch", "Wet clutch in the same oil", choices=YES_NO),
            ),
            is_tucked_away=True,
        ),
        Group(
            "The manufacturer's service data",
            (
                make.listed("service_family", "Kind of fluid it names", families),
                make.line("service_grade", "Grade it names", _grades(base)),
                make.line("service_note", "Where it is printed"),
            ),
        ),
    )


def legends(form: tuple[Group, ...]) -> dict[str, str]:
    """How each field is called on the page."""
    return {field.name: field.legend for group in form for field in group.fields}


class _Maker(NamedTuple):
    values: Mapping[str, str]
    base: KnowledgeBase

    def chips(self, name: str, legend: str, choices: tuple[Choice, ...] = ()) -> Field:
        return self._field(name, legend, "chips", choices or tuple(self._tried(name)))

    def listed(self, name: str, legend: str, choices: tuple[Choice, ...]) -> Field:
        return self._field(name, legend, "list", choices)

    def line(self, name: str, legend: str, choices: tuple[Choice, ...] = ()) -> Field:
        return Field(name, legend, "line", choices, value=self.values.get(name, ""))

    def _field(self, name: str, legend: str, shape: str, choices: tuple[Choice, ...]) -> Field:
        value = self.values.get(name, "")
        if value and value not in {choice.value for choice in choices}:
            choices = (*choices, Choice(value, f"{value} °C" if name.endswith("_c") else value))
        row = self.base.unknowns.get(name)
        return Field(name, legend, shape, (Choice("", DONT_KNOW), *choices), row.how_to_tell if row else None, value)

    def _tried(self, field: str) -> Iterator[Choice]:
        return (Choice(row.value, row.words) for row in self.base.plausible_values if row.field == field)


def _facings(base: KnowledgeBase) -> tuple[Choice, ...]:
    return (*(Choice(row.id, row.words) for row in base.facings.values()), Choice("none", "there are no rings"))


def _duties(base: KnowledgeBase) -> tuple[Choice, ...]:
    return tuple(Choice(row.id, row.words) for row in base.duties.values())


def _temperatures(celsius: range) -> tuple[Choice, ...]:
    return tuple(Choice(str(value), f"{value} °C") for value in celsius)


def _grades(base: KnowledgeBase) -> tuple[Choice, ...]:
    return tuple(Choice(grade, grade) for grade in dict.fromkeys(row.grade for row in base.lubricant_rows.values()))
