"""What must hold of the figures and circumstances that code asks for by name: all there, none idle, none absurd."""

from collections.abc import Iterator, Mapping
from itertools import product

from pydantic import ValidationError

from knowledge.box.axes import TRIED, UNKNOWNS, pointer_of
from knowledge.box.circumstances import CIRCUMSTANCES
from knowledge.box.named_figures import ASSUMED_ALWAYS, ASSUMED_FOR_A_QUESTION, BANDS, THRESHOLDS, Kind
from knowledge.box.question import FlatFillQuestion
from knowledge.errors import Fault
from knowledge.ids import WORDS
from knowledge.loading.cells import Placed, Tables
from knowledge.loading.check import no_such, not_one_each
from knowledge.loading.facing_rows import NO_RINGS
from knowledge.loading.fluid_rows import AliasRow
from knowledge.loading.scales import J306Row
from knowledge.loading.schema import CautionRow, DefaultRow, PlausibleValueRow, ThresholdRow, UnknownRow
from knowledge.parts.request_model import whole
from knowledge.rings.checks import LOAD_OF_A_SHIFT
from knowledge.rings.shift_question import ShiftQuestion
from knowledge.text import plain, squeezed, value_text

# Of these fields every row of a table is tried, so that none of its ids is listed again.
TRIED_BY_TABLE = frozenset({"rings", "facing", "body", "duty"})


def box_faults(tables: Tables) -> Iterator[Fault]:
    """Every fault of thresholds, defaults, unknowns, the values tried for them, and circumstances of cautions."""
    yield from _threshold_faults(tables[ThresholdRow])
    yield from _default_faults(tables[DefaultRow])
    yield from _unknown_faults(tables[UnknownRow])
    yield from _tried_faults(tables[PlausibleValueRow])
    yield from _alias_faults(tables)
    for placed in tables[CautionRow]:
        for name in placed.row.when:
            if name not in CIRCUMSTANCES:
                yield placed.fault("when", f"when: {name!r} is not one of {', '.join(CIRCUMSTANCES)}")


def _alias_faults(tables: Tables) -> Iterator[Fault]:
    """Words for what is not there, and words that are read as one that stands above them."""
    words: dict[tuple[str, str], str] = {}
    for placed in tables[AliasRow]:
        row = placed.row
        if (first := words.setdefault((row.kind, squeezed(row.word)), row.word)) != row.word:
            yield placed.fault("word", f"word: is read as {first!r}, which stands above")
        known = (*WORDS.get(row.kind, ()), *([NO_RINGS] if row.kind == "facings" else []))
        if row.kind == "grades":
            known = tuple(grade.grade for grade in tables.rows(J306Row))
        elif row.kind not in WORDS:
            known += tables.ids(row.kind)
        for id in row.ids.split():
            if id not in known:
                yield placed.fault("ids", f"ids: {no_such(id, known, f'is not one of {row.kind}')}")


def _threshold_faults(items: tuple[Placed[ThresholdRow], ...]) -> Iterator[Fault]:
    yield from not_one_each("thresholds.csv", ("id",), product(THRESHOLDS), items)
    rows = {placed.row.id: placed for placed in items}
    for id, placed in rows.items():
        if id in THRESHOLDS:
            yield from _not_of_its_kind(placed, THRESHOLDS[id])
    for lower, upper in BANDS:
        if lower not in rows or upper not in rows:
            continue
        low, high = rows[lower], rows[upper]
        if low.row.value >= high.row.value:
            yield low.fault("value", f"value must be below that of {upper}")
        elif low.row.drawn_from_to()[1] >= high.row.drawn_from_to()[0]:
            yield low.fault("spread", f"spread: drawn at its most it would reach {upper} drawn at its least")


def _default_faults(items: tuple[Placed[DefaultRow], ...]) -> Iterator[Fault]:
    asked = ((part, name) for part, (_, names) in ASSUMED_FOR_A_QUESTION.items() for name in names)
    yield from not_one_each("defaults.csv", ("part", "quantity"), (*asked, *ASSUMED_ALWAYS), items)
    rows = {(placed.row.part, placed.row.quantity): placed for placed in items}
    for key, placed in rows.items():
        if key in ASSUMED_ALWAYS:
            yield from _not_of_its_kind(placed, ASSUMED_ALWAYS[key])
    for part in ASSUMED_FOR_A_QUESTION:
        yield from _unaskable(part, {name: placed for (of, name), placed in rows.items() if of == part})


def _not_of_its_kind(placed: Placed[ThresholdRow] | Placed[DefaultRow], kind: Kind) -> Iterator[Fault]:
    if placed.row.unit != kind.unit:
        yield placed.fault("unit", f"unit must be {kind.unit}")
    if not kind.least <= placed.row.value <= kind.most:
        yield placed.fault("value", f"value must be from {plain(kind.least)} to {plain(kind.most)}")
    elif not all(kind.least <= end <= kind.most for end in placed.row.drawn_from_to()):
        yield placed.fault("spread", f"spread: drawn it must stay from {plain(kind.least)} to {plain(kind.most)}")


def _unaskable(part: str, rows: Mapping[str, Placed[DefaultRow]]) -> Iterator[Fault]:
    """The values of a part that no question could state; what is assumed has to be such as could be asked."""
    model, names = ASSUMED_FOR_A_QUESTION[part]
    given = {name: whole(rows[name].row.value) for name in names if name in rows}
    try:
        model.model_validate({**(LOAD_OF_A_SHIFT if model is ShiftQuestion else {}), **given})
    except ValidationError as error:
        for item in error.errors(include_url=False):
            if (name := str(item["loc"][0])) in rows:
                yield rows[name].fault("value", f"value is not one that {name} can have: {item['msg']}")


def _unknown_faults(items: tuple[Placed[UnknownRow], ...]) -> Iterator[Fault]:
    asked = {placed.row.id: placed for placed in items}
    for name in UNKNOWNS:
        if name not in asked:
            yield Fault("unknowns.toml", 1, 1, f"no table for {name}")
    for name, placed in asked.items():
        if name not in UNKNOWNS:
            yield placed.fault("id", f"{name!r} is nothing that is ever asked; known are {', '.join(UNKNOWNS)}")
        elif placed.row.pointer != pointer_of(name):
            yield placed.fault("pointer", f"pointer must be {pointer_of(name)}")


def _tried_faults(items: tuple[Placed[PlausibleValueRow], ...]) -> Iterator[Fault]:
    for placed in items:
        field, value = placed.row.field, placed.row.value
        if field in ("service_data", "replaced"):
            continue
        if field not in TRIED or (field in TRIED_BY_TABLE and (field, value) != ("rings", NO_RINGS)):
            yield placed.fault("field", f"field: values of {field!r} are not tried from this table")
        elif not _can_be_asked(field, value):
            yield placed.fault("value", f"value: {value!r} is not one that {field} can have, or not as it is spelt")
    there = {placed.row.field for placed in items}
    for name in TRIED:
        if name not in there and (name == "rings" or name not in TRIED_BY_TABLE):
            yield Fault("plausible_values.csv", 1, 1, f"no value to try for {name}")


def _can_be_asked(field: str, value: str) -> bool:
    """Whether a link could state this value, spelt as an answer spells it."""
    name = "facing" if field == "rings" else field
    try:
        asked = FlatFillQuestion.model_validate_strings({name: value})
    except ValidationError:
        return False
    return value_text(getattr(asked, name)) == value and value in WORDS.get(f"{name}s", (value,))
