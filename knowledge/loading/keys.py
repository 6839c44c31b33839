"""Rows that code finds by a key made of several columns: each wanted key once, and none that nobody looks for."""

from collections.abc import Iterable, Iterator
from typing import Any

from knowledge.errors import Fault
from knowledge.loading.cells import Placed

Key = tuple[Any, ...]


def key_of(placed: Placed, columns: tuple[str, ...]) -> Key:
    """The key of a row."""
    return tuple(getattr(placed.row, column) for column in columns)


def words_of(key: Key) -> str:
    """A key as it is told; a blank part belongs to every row."""
    return " / ".join(str(part) for part in key if part)


def not_one_each(
    table: str, columns: tuple[str, ...], wanted: Iterable[Key], items: Iterable[Placed], which: str = ""
) -> Iterator[Fault]:
    """The wanted keys that have no row, and the rows that stand twice or are looked for by nobody."""
    left = dict.fromkeys(wanted)
    for placed in items:
        key = key_of(placed, columns)
        if key not in left:
            yield placed.fault(columns[-1], f"a {which}row for {words_of(key)} stands twice or is of no use here")
        left.pop(key, None)
    for key in left:
        yield Fault(f"{table}.csv", 1, 1, f"no {which}row for {words_of(key)}")


def doubled(columns: tuple[str, ...], items: Iterable[Placed]) -> Iterator[Fault]:
    """The rows whose key an earlier row has already."""
    lines: dict[Key, int] = {}
    for placed in items:
        key = key_of(placed, columns)
        if lines.setdefault(key, placed.line) != placed.line:
            yield placed.fault(columns[-1], f"{words_of(key)} stands already in line {lines[key]}")
