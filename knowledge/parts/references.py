"""Fields that hold the id of a row of some table, and the ids that a question or a row names in them."""

from collections.abc import Iterator, Mapping
from functools import cache
from typing import Any, NamedTuple

from pydantic import BaseModel

from knowledge.parts.provenance import Citation


class Refers(NamedTuple):
    """Marks a field whose value must be an id of a table.

    `also` are values that no table has. `if_none` is the advice for a caller who writes `none` there.
    """

    table: str
    also: tuple[str, ...] = ()
    if_none: str = ""


class Reference(NamedTuple):
    """An id that is named somewhere: where, by field names and places in lists, and of which table it must be."""

    path: tuple[str | int, ...]
    value: str
    refers: Refers

    @property
    def pointer(self) -> str:
        """The place as a JSON pointer."""
        return "".join(f"/{part}" for part in self.path)


SOURCES = Refers("sources")


def replaced(value: Any, changes: Mapping[tuple[str | int, ...], Any]) -> Any:
    """A model, or a list in one, with what stands at some paths changed; it is not validated again."""
    if () in changes:
        return changes[()]
    below: dict[str | int, dict[tuple[str | int, ...], Any]] = {}
    for (head, *rest), new in changes.items():
        below.setdefault(head, {})[tuple(rest)] = new
    if isinstance(value, tuple):
        return tuple([replaced(part, below[at]) if at in below else part for at, part in enumerate(value)])
    return value.model_copy(update={name: replaced(getattr(value, str(name)), new) for name, new in below.items()})


def references(model: BaseModel) -> Iterator[Reference]:
    """Every id that a model names in fields marked with `Refers`, and every source it cites, in the order of fields."""
    if isinstance(model, Citation):
        yield Reference(("id",), model.id, SOURCES)
    for name, mark in _marks(type(model)):
        yield from _within((name,), getattr(model, name), mark)


@cache
def _marks(model: type[BaseModel]) -> tuple[tuple[str, Refers | None], ...]:
    """The fields of a model with the tables they refer to; every question is walked, so they are looked up once."""
    return tuple(
        (name, next((mark for mark in field.metadata if isinstance(mark, Refers)), None))
        for name, field in model.model_fields.items()
    )


def _within(path: tuple[str | int, ...], value: Any, mark: Refers | None) -> Iterator[Reference]:
    if isinstance(value, tuple):
        for index, part in enumerate(value):
            yield from _within((*path, index), part, mark)
    elif isinstance(value, BaseModel):
        yield from (found._replace(path=(*path, *found.path)) for found in references(value))
    elif mark and isinstance(value, str) and value not in mark.also:
        yield Reference(path, value, mark)
