"""What must hold of the figures that code asks for by name: all there, in their units, none idle and none absurd."""

from collections.abc import Iterator, Mapping
from itertools import product

from pydantic import ValidationError

from knowledge.box.axes import TRIED, UNKNOWNS, pointer_of
from knowledge.box.named_figures import ASSUMED_ALWAYS, ASSUMED_FOR_A_QUESTION, BANDS, LOAD_OF_A_SHIFT, THRESHOLDS, Kind
from knowledge.box.possible import NO_RINGS
from knowledge.box.question import FlatFillQuestion
from knowledge.errors import Fault
from knowledge.loading.cells import Placed, Tables
from knowledge.loading.keys import doubled, not_one_each
from knowledge.parts.request_model import whole
from knowledge.parts.units import unit_of
from knowledge.rings.shift_question import ShiftQuestion
from knowledge.text import plain, value_text

# Of these fields every id of the table is tried: what is known in the trade may be in the box.
TABLES_OF_IDS = {"rings": "facings", "facing": "facings", "body": "bodies", "duty": "duties"}


def figure_contradictions(tables: Tables) -> Iterator[Fault]:
    """Every fault of thresholds, defaults, duties, unknowns and the values tried for them."""
    yield from _threshold_faults(tables["thresholds"])
    yield from _default_faults(tables["defaults"])
    for placed in tables["duties"]:
        if placed.row.sump_low_c > placed.row.sump_high_c:
            yield placed.fault("sump_high_c", "sump_high_c must not be below sump_low_c")
    yield from _unknown_faults(tables["unknowns"])
    yield from _tried_faults(tables)


def _threshold_faults(items: tuple[Placed, ...]) -> Iterator[Fault]:
    yield from not_one_each("thresholds", ("id",), product(THRESHOLDS), items)
    rows = {placed.row.id: placed for placed in items}
    for id, placed in rows.items():
        if id in THRESHOLDS:
            yield from _not_of_its_kind(placed, THRESHOLDS[id])
    for lower, upper in BANDS:
        if lower in rows and upper in rows and rows[lower].row.value >= rows[upper].row.value:
            yield rows[lower].fault("value", f"value must be below that of {upper}")


def _default_faults(items: tuple[Placed, ...]) -> Iterator[Fault]:
    asked = ((part, name) for part, (_, names) in ASSUMED_FOR_A_QUESTION.items() for name in names)
    yield from not_one_each("defaults", ("part", "quantity"), (*asked, *ASSUMED_ALWAYS), items)
    rows = {(placed.row.part, placed.row.quantity): placed for placed in items}
    for key, placed in rows.items():
        if key in ASSUMED_ALWAYS:
            yield from _not_of_its_kind(placed, ASSUMED_ALWAYS[key])
        elif placed.row.unit != (unit := unit_of(placed.row.quantity)):
            yield placed.fault("unit", f"unit must be {unit}")
    for part in ASSUMED_FOR_A_QUESTION:
        yield from _unaskable(part, {name: placed for (of, name), placed in rows.items() if of == part})


def _not_of_its_kind(placed: Placed, kind: Kind) -> Iterator[Fault]:
    if placed.row.unit != kind.unit:
        yield placed.fault("unit", f"unit must be {kind.unit}")
    if not kind.least <= placed.row.value <= kind.most:
        yield placed.fault("value", f"value must be from {plain(kind.least)} to {plain(kind.most)}")


def _unaskable(part: str, rows: Mapping[str, Placed]) -> Iterator[Fault]:
    """The values of a part that no question could state; what is assumed has to be such as could be asked."""
    model, names = ASSUMED_FOR_A_QUESTION[part]
    given = {name: whole(rows[name].row.value) for name in names if name in rows}
    try:
        model.model_validate({**(LOAD_OF_A_SHIFT if model is ShiftQuestion else {}), **given})
    except ValidationError as error:
        for item in error.errors(include_url=False):
            if (name := str(item["loc"][0])) in rows:
                yield rows[name].fault("value", f"value is not one that {name} can have: {item['msg']}")


def _unknown_faults(items: tuple[Placed, ...]) -> Iterator[Fault]:
    asked = {placed.row.id: placed for placed in items}
    for name in UNKNOWNS:
        if name not in asked:
            yield Fault("unknowns.toml", 1, 1, f"no table for {name}")
    for name, placed in asked.items():
        if name not in UNKNOWNS:
            yield placed.fault("id", f"{name!r} is nothing that is ever asked; known are {', '.join(UNKNOWNS)}")
        elif placed.row.pointer != pointer_of(name):
            yield placed.fault("pointer", f"pointer must be {pointer_of(name)}")


def _tried_faults(tables: Tables) -> Iterator[Fault]:
    items = tables["plausible_values"]
    of_ids = [(field, placed.row.id) for field, table in TABLES_OF_IDS.items() for placed in tables[table]]
    yield from not_one_each(
        "plausible_values",
        ("field", "value"),
        (("rings", NO_RINGS), *of_ids),
        [placed for placed in items if placed.row.field in TABLES_OF_IDS],
    )
    yield from doubled(("field", "value"), [placed for placed in items if placed.row.field not in TABLES_OF_IDS])
    for placed in items:
        field, value = placed.row.field, placed.row.value
        if field not in TRIED:
            yield placed.fault("field", f"field: values of {field!r} are not tried from this table")
        elif not _can_be_asked(field, value):
            yield placed.fault("value", f"value: {value!r} is not one that {field} can have, or not as it is spelt")
    for name in TRIED:
        if name not in {placed.row.field for placed in items}:
            yield Fault("plausible_values.csv", 1, 1, f"no value to try for {name}")


def _can_be_asked(field: str, value: str) -> bool:
    """Whether a link could state this value, spelt as an answer spells it."""
    name = "facing" if field == "rings" else field
    try:
        asked = FlatFillQuestion.model_validate_strings({name: value})
    except ValidationError:
        return False
    return value_text(getattr(asked, name)) == value
