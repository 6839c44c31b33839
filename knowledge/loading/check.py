"""What must hold within and between tables by what their row models declare: keys, references, standings, use."""

from collections.abc import Callable, Collection, Iterable, Iterator
from functools import cache
from itertools import product
from typing import Any, get_args

from pydantic import ValidationError

from knowledge.errors import Fault
from knowledge.loading.cells import Placed, Tables
from knowledge.loading.schema import CautionRow, DrawnRow, Key, Row, SourceRow
from knowledge.parts.provenance import STANDINGS_FROM_STRONGEST, Citation
from knowledge.parts.references import Refers, references
from knowledge.text import nearest

Ids = Callable[[str], Collection[str]]


def declared_faults(tables: Tables, ids: Ids) -> Iterator[Fault]:
    """Every fault against the keys and references that the row models declare; `ids` gives those of a table."""
    ids = cache(ids)  # asked once for each reference
    yield from key_faults(tables, ids)
    for model in tables.models.values():
        for placed in tables.placed[model]:
            yield from _dangling(placed, ids)
            if isinstance(placed.row, DrawnRow):
                yield from _undrawable(placed)


def key_faults(tables: Tables, ids: Ids) -> Iterator[Fault]:
    """Every fault against the keys that the row models declare."""
    for file, model in tables.models.items():
        for key in model.keys:
            yield from _key_faults(file, model, key, tables.placed[model], ids)


def provenance_faults(tables: Tables, cited: Collection[tuple[str, Citation]]) -> Iterator[Fault]:
    """The standings that are better than their sources, and the sources and cautions that nothing uses.

    `cited` are the citations of the rules, each with the id of its rule.
    """
    items = [placed for model in tables.models.values() for placed in tables.placed[model]]
    named = {(found.refers.table, found.value) for placed in items for found in references(placed.row)}
    standings = {row.id: row.standing for row in tables.rows(SourceRow)}
    for placed in items:
        yield from _overstated(placed, standings)
    for source in tables[SourceRow]:
        if ("sources", source.row.id) not in named and source.row.id not in {citation.id for _, citation in cited}:
            yield source.fault("id", f"no table and no rule uses the source {source.row.id!r}")
    for rule, citation in cited:
        if citation.id not in standings:
            yield Fault("sources.toml", 1, 1, f"the rule {rule!r} cites {citation.id!r}, which is not here")
    for caution in tables[CautionRow]:
        if not caution.row.when and ("cautions", caution.row.id) not in named:
            yield caution.fault("when", f"no circumstance and no other table calls for the caution {caution.row.id!r}")


def not_one_each(
    file: str, columns: tuple[str, ...], wanted: Iterable[tuple[Any, ...]], items: Iterable[Placed[Any]]
) -> Iterator[Fault]:
    """The wanted keys that have no row, and the rows that nobody looks for."""
    left = dict.fromkeys(wanted)
    for placed in items:
        key = _values(placed, columns)
        if key not in left:
            yield placed.fault(columns[-1], f"a row for {_in_words(key)} is of no use here")
        left.pop(key, None)
    yield from (Fault(file, 1, 1, f"no row for {_in_words(key)}") for key in left)


def no_such(value: str, known: Collection[str], where: str) -> str:
    """That a value is nowhere to be found, with the nearest one that is."""
    hint = nearest(value, known)
    return f"{value!r} {where}" + (f"; did you mean {hint!r}?" if hint else "")


def _dangling(placed: Placed[Any], ids: Ids) -> Iterator[Fault]:
    for found in references(placed.row):
        known = ids(found.refers.table)
        if found.value not in known:
            field, where = str(found.path[0]), f"is not in the table {found.refers.table!r}"
            yield placed.fault(field, f"{field}: {no_such(found.value, known, where)}")


def _undrawable(placed: Placed[DrawnRow]) -> Iterator[Fault]:
    """Spreads that say nothing, and figures that would be impossible at an end of theirs; odds always give shares."""
    row = placed.row
    spreads = {name: spread for name in row.drawn.values() if (spread := getattr(row, name)) is not None}
    if bool(spreads) != (row.distribution is not None):
        yield placed.fault("distribution", "distribution: stands beside a spread, and a spread beside it")
    for name, spread in spreads.items():
        if row.distribution in ("times", "odds") and spread <= 1:
            yield placed.fault(name, f"{name}: {row.distribution} takes a spread above 1")
    if row.distribution == "odds":
        return
    ends = {name: row.drawn_from_to(name) for name in row.drawn if getattr(row, name) is not None}
    undrawn = {**row.model_dump(exclude=set(ends)), **dict.fromkeys((*row.drawn.values(), "distribution"))}
    for values in product(*ends.values()) if spreads else ():
        try:
            type(row).model_validate({**undrawn, **dict(zip(ends, values, strict=True))})
        except ValidationError as error:
            first = error.errors(include_url=False)[0]
            column = str(first["loc"][0])
            yield placed.fault(column, f"{column}: impossible at an end of what is drawn: {first['msg']}")
            return


def _key_faults(file: str, model: type[Row], key: Key, items: tuple[Placed[Any], ...], ids: Ids) -> Iterator[Fault]:
    lines: dict[tuple[Any, ...], int] = {}
    which = "chosen " if key.of_chosen else ""
    for placed in items:
        if key.of_chosen:
            begins = "Chosen" if placed.row.chosen else "Not chosen"
            if not (placed.row.note or "").startswith(begins):
                yield placed.fault("note", f"note must begin with {begins!r} and say why")
            if not placed.row.chosen:
                continue
        values = _values(placed, key.columns)
        if lines.setdefault(values, placed.line) != placed.line:
            name = f"{key.columns[0]} {values[0]!r}" if len(values) == 1 else _in_words(values)
            already = "already as chosen" if key.of_chosen else "already"
            yield placed.fault(key.columns[-1], f"{name} stands {already} in line {lines[values]}")
    if key.is_complete:
        for wanted in product(*(_possible(model, column, ids) for column in key.columns)):
            if wanted not in lines:
                yield Fault(file, 1, 1, f"no {which}row for {_in_words(wanted)}")


def _possible(model: type[Row], column: str, ids: Ids) -> tuple[str, ...]:
    """What a column of a complete key may hold: the ids of the table it refers to, or the words it may be."""
    field = model.model_fields[column]
    for mark in field.metadata:
        if isinstance(mark, Refers):
            return (*mark.also, *ids(mark.table))
    return get_args(getattr(field.annotation, "__value__", field.annotation))


def _overstated(placed: Placed[Any], standings: dict[str, Any]) -> Iterator[Fault]:
    standing = getattr(placed.row, "standing", None)
    if standing is None:
        return
    named = (found.value for found in references(placed.row) if found.refers.table == "sources")
    cited = [standings[source] for source in named if source in standings]
    best = min(cited, key=STANDINGS_FROM_STRONGEST.index, default=standing)
    if STANDINGS_FROM_STRONGEST.index(standing) < STANDINGS_FROM_STRONGEST.index(best):
        yield placed.fault("standing", f"standing must not be better than {best!r}, which is the best of its sources")


def _values(placed: Placed[Any], columns: tuple[str, ...]) -> tuple[Any, ...]:
    return tuple(getattr(placed.row, column) for column in columns)


def _in_words(key: tuple[Any, ...]) -> str:
    """A key as it is written; a blank part belongs to every row."""
    return " / ".join(str(part) for part in key if part)
