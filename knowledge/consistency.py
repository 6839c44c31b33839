"""What must hold between tables: references resolve, bands are possible, nothing lies about unused."""

from collections.abc import Callable, Collection, Iterable, Iterator, Mapping
from typing import TYPE_CHECKING

from knowledge.answers import Citation
from knowledge.band_consistency import band_contradictions
from knowledge.box.axes import NO_RINGS
from knowledge.box.circumstances import CIRCUMSTANCES
from knowledge.errors import Fault
from knowledge.rows import Refers
from knowledge.rules import EVERY_RULE
from knowledge.shifts.consistency import shift_contradictions
from knowledge.spelling import nearest
from knowledge.symptoms.consistency import complaint_contradictions

if TYPE_CHECKING:
    from knowledge.placed_tables import Placed

UNKNOWNS = (
    "rings",
    "facing",
    "body",
    "cones",
    "condition",
    "yellow_metal",
    "final_drive",
    "limited_slip",
    "wet_clutch",
    "coldest_start_c",
    "duty",
    "sump_hot_c",
)
TABLES_OF_IDS = {"rings": "facings", "facing": "facings", "body": "bodies", "duty": "duties"}

Tables = Mapping[str, "tuple[Placed, ...]"]


def contradictions(tables: Tables) -> Iterator[Fault]:
    """Every fault that no single row can show by itself."""
    for items in tables.values():
        yield from dangling_references(items, lambda name: _ids(tables, name))
    yield from band_contradictions(tables)
    yield from _untried_unknowns(tables)
    yield from _unknown_circumstances(tables)
    yield from _gaps_in_matrices(tables)
    yield from complaint_contradictions(tables)
    yield from shift_contradictions(tables)
    yield from _unused_sources(tables)


def _ids(tables: Tables, name: str) -> tuple[str, ...]:
    key = "rating" if name == "copper_strip" else "id"
    return tuple(getattr(placed.row, key) for placed in tables[name])


def dangling_references(items: "Iterable[Placed]", known: Callable[[str], Collection[str]]) -> Iterator[Fault]:
    """The cells that name an id which the table they refer to does not have; `known` gives the ids of a table."""
    for placed in items:
        for field, value, table in _references(placed):
            ids = known(table)
            if value not in ids:
                hint = nearest(value, ids)
                also = f"; did you mean {hint!r}?" if hint else ""
                yield placed.fault(field, f"{field}: {value!r} is not in the table {table!r}{also}")


def _references(placed: "Placed") -> Iterator[tuple[str, str, str]]:
    for field, info in type(placed.row).model_fields.items():
        value = getattr(placed.row, field)
        marks = [mark for mark in info.metadata if isinstance(mark, Refers)]
        for part in value if isinstance(value, tuple) else (value,):
            if isinstance(part, Citation):
                yield field, part.id, "sources"
            elif marks and isinstance(part, str):
                yield field, part, marks[0].table


def _unknown_circumstances(tables: Tables) -> Iterator[Fault]:
    for placed in tables["cautions"]:
        for name in placed.row.when:
            if name not in CIRCUMSTANCES:
                yield placed.fault("when", f"when: {name!r} is not one of {', '.join(CIRCUMSTANCES)}")


def _untried_unknowns(tables: Tables) -> Iterator[Fault]:
    asked = _ids(tables, "unknowns")
    tried = {(placed.row.field, placed.row.value): placed for placed in tables["plausible_values"]}
    for name in UNKNOWNS:
        if name not in asked:
            yield Fault("unknowns.toml", 1, 1, f"no table for {name}")
        if name != "sump_hot_c" and name not in {field for field, _ in tried}:
            yield Fault("plausible_values.csv", 1, 1, f"no value to try for {name}")
    for (field, value), placed in tried.items():
        table = TABLES_OF_IDS.get(field)
        if table and value != NO_RINGS and value not in _ids(tables, table):
            yield placed.fault("value", f"{value!r} is not in the table {table!r}")


def _gaps_in_matrices(tables: Tables) -> Iterator[Fault]:
    facings = _ids(tables, "facings")
    _require = {
        "facing_families": {(facing, family) for facing in ("none", *facings) for family in _ids(tables, "families")},
        "ring_lands": {(facing, condition) for facing in facings for condition in ("new", "worn")},
    }
    columns = {"facing_families": ("facing", "family"), "ring_lands": ("facing", "condition")}
    for name, wanted in _require.items():
        for placed in tables[name]:
            pair = tuple(getattr(placed.row, column) for column in columns[name])
            if pair not in wanted:
                yield placed.fault(columns[name][0], f"{' / '.join(pair)} stands twice or names nothing known")
            wanted.discard(pair)
        for pair in sorted(wanted):
            yield Fault(f"{name}.csv", 1, 1, f"no row for {' / '.join(pair)}")


def _unused_sources(tables: Tables) -> Iterator[Fault]:
    used = {
        value
        for items in tables.values()
        for placed in items
        for _, value, table in _references(placed)
        if table == "sources"
    }
    used |= {citation.id for rule in EVERY_RULE for citation in rule.sources}
    for placed in tables["sources"]:
        if placed.row.id not in used:
            yield placed.fault("id", f"no table and no rule uses the source {placed.row.id!r}")
    for rule in EVERY_RULE:
        for citation in rule.sources:
            if citation.id not in _ids(tables, "sources"):
                yield Fault("sources.toml", 1, 1, f"the rule {rule.id!r} cites {citation.id!r}, which is not here")
