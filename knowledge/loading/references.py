"""References between tables: every id named must exist."""

from collections.abc import Callable, Collection, Iterable, Iterator

from knowledge.errors import Fault
from knowledge.loading.cells import Placed
from knowledge.loading.schema import Refers
from knowledge.parts.provenance import Citation
from knowledge.text import nearest


def dangling_references(items: Iterable[Placed], known: Callable[[str], Collection[str]]) -> Iterator[Fault]:
    """The cells that name an id which the table they refer to does not have; `known` gives the ids of a table."""
    for placed in items:
        for field, value, table in references(placed):
            ids = known(table)
            if value not in ids:
                hint = nearest(value, ids)
                also = f"; did you mean {hint!r}?" if hint else ""
                yield placed.fault(field, f"{field}: {value!r} is not in the table {table!r}{also}")


def references(placed: Placed) -> Iterator[tuple[str, str, str]]:
    for field, info in type(placed.row).model_fields.items():
        value = getattr(placed.row, field)
        marks = [mark for mark in info.metadata if isinstance(mark, Refers)]
        for part in value if isinstance(value, tuple) else (value,):
            if isinstance(part, Citation):
                yield field, part.id, "sources"
            elif marks and isinstance(part, str):
                yield field, part, marks[0].table
