"""Every way the unknowns of a question could turn out, held as bits: world i is bit i of an integer.

A set of worlds is one integer, so "and", "or" and counting are single operations however many worlds
there are. A fact is evaluated once for each distinct value of the fields it depends on, never once per world.
"""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property
from itertools import product
from typing import Any, NamedTuple

from knowledge.base import KnowledgeBase
from knowledge.box.axes import Axis, axes_of
from knowledge.box.facts import FACTS, POSSIBILITIES
from knowledge.box.named import Named, understood
from knowledge.box.question import FillQuestion


class Part(NamedTuple):
    """One value and the worlds that have it."""

    value: Any
    worlds: int


class Field(NamedTuple):
    """A field the caller left out, with the values tried for it."""

    name: str
    axis: str
    pointer: str
    parts: tuple[Part, ...]


@dataclass(frozen=True)
class Worlds:
    """All worlds of one question."""

    question: FillQuestion
    base: KnowledgeBase
    axes: Mapping[str, Axis]

    @classmethod
    def of(cls, question: FillQuestion, base: KnowledgeBase) -> "Worlds":
        """The worlds of a question: every plausible combination of what it leaves out."""
        question = question.model_copy(update={"service_data": understood(question.service_data, base)})
        return cls(question, base, {axis.name: axis for axis in axes_of(question, base)})

    @cached_property
    def named(self) -> Named:
        """What the service data names."""
        return Named.of(self.question.service_data, self.base)

    @cached_property
    def every(self) -> int:
        """The worlds that can occur."""
        possible = self._all
        for reads, holds in POSSIBILITIES:
            for values, worlds in self._combinations(reads):
                if not holds(self.question, self.base, *values):
                    possible &= ~worlds
        return possible

    @cached_property
    def count(self) -> int:
        """How many worlds can occur."""
        return self.every.bit_count()

    @cached_property
    def unknown(self) -> tuple[Field, ...]:
        """The fields the caller left out, in the order of the question, each with its possible values."""
        fields = []
        for axis in self.axes.values():
            for name, pointer, part_of in axis.unknown:
                found: dict[Any, int] = {}
                for value, mask in zip(axis.values, self._masks[axis.name]):
                    key = part_of(value)
                    found[key] = found.get(key, 0) | mask & self.every
                parts = tuple(Part(value, worlds) for value, worlds in found.items() if worlds)
                if all(isinstance(part.value, float) for part in parts):
                    parts = tuple(sorted(parts))
                if len(parts) > 1:
                    fields.append(Field(name, axis.name, pointer, parts))
        return tuple(fields)

    def parts(self, fact: str) -> tuple[Part, ...]:
        """The distinct values of a fact, each with the worlds that have it."""
        if fact not in self._parts:
            found: dict[Any, int] = {}
            reads, derive = FACTS[fact]
            for values, worlds in self._combinations(reads):
                if possible := worlds & self.every:
                    value = derive(self.question, self.base, *values)
                    found[value] = found.get(value, 0) | possible
            self._parts[fact] = tuple(Part(value, worlds) for value, worlds in found.items())
        return self._parts[fact]

    def cells(self, facts: Iterable[str]) -> Iterator[tuple[dict[str, Any], int]]:
        """Each combination of values of some facts that can occur, with the worlds that have it."""
        names = tuple(facts)
        if self.count == 1:
            yield {name: self.parts(name)[0].value for name in names}, self.every
            return
        for parts in product(*(self.parts(name) for name in names)):
            worlds = self.every
            for part in parts:
                worlds &= part.worlds
            if worlds:
                yield {name: part.value for name, part in zip(names, parts)}, worlds

    @cached_property
    def _parts(self) -> dict[str, tuple[Part, ...]]:
        return {}

    @cached_property
    def _size(self) -> int:
        size = 1
        for axis in self.axes.values():
            size *= len(axis.values)
        return size

    @cached_property
    def _all(self) -> int:
        return (1 << self._size) - 1

    @cached_property
    def _masks(self) -> Mapping[str, tuple[int, ...]]:
        masks = {}
        stride = 1
        for axis in self.axes.values():
            period = stride * len(axis.values)
            first = _repeated((1 << stride) - 1, period, self._size // period)
            masks[axis.name] = tuple(first << stride * index for index in range(len(axis.values)))
            stride = period
        return masks

    def _combinations(self, names: tuple[str, ...]) -> Iterator[tuple[tuple[Any, ...], int]]:
        for choice in product(*(zip(self.axes[name].values, self._masks[name]) for name in names)):
            worlds = self._all
            for _, mask in choice:
                worlds &= mask
            yield tuple(value for value, _ in choice), worlds


def _repeated(bits: int, period: int, times: int) -> int:
    """Some bits, again after each period, so many times."""
    have = 1
    while have < times:
        more = min(have, times - have)
        bits |= (bits & ((1 << period * more) - 1)) << period * have
        have += more
    return bits
