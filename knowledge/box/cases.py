"""Every way the unknowns of a question could turn out: the combinations of the alternatives of independent axes.

A fact is worked out once for each different value of the fields it follows from, never once for each combination.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from functools import cached_property, lru_cache, partial
from math import prod
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from knowledge.base import KnowledgeBase
from knowledge.box.axes import AXIS_OF, FIELDS_OF_AXES, RINGS, Axis, OpenField, axis_of
from knowledge.box.facts import FACTS
from knowledge.box.named import Named, understood
from knowledge.box.question import FillQuestion

ONE_VALUE = np.zeros(1, np.intp)


class FactValues(NamedTuple):
    """The different values of a fact, and which of them each alternative of its axis has; no axis: the one value."""

    axis: int | None
    values: tuple[Any, ...]
    value_of: NDArray[np.intp]


@dataclass(frozen=True)
class Cases:
    """All cases of one question."""

    question: FillQuestion
    base: KnowledgeBase
    tried: Mapping[int, Axis] = field(default_factory=dict, hash=False)

    @classmethod
    def of(cls, question: FillQuestion, base: KnowledgeBase, tried: Mapping[int, Axis] | None = None) -> "Cases":
        """The cases of a question, with its service data read as people write it; `tried` axes in place of its own."""
        service_data = understood(question.service_data, base)
        if service_data is not question.service_data:
            question = question.model_copy(update={"service_data": service_data})
        return cls(question, base, tried or {})

    @cached_property
    def named(self) -> Named:
        """What the maker of the rings or of the box names."""
        return Named.of(self.question, self.base)

    @cached_property
    def axes(self) -> tuple[Axis, ...]:
        """The axes, in the order of `FIELDS_OF_AXES`."""
        rings = _rings_axis(self.question, self.base)
        places = range(1, len(FIELDS_OF_AXES))
        return (rings, *(self.tried.get(place) or axis_of(place, self.question, self.base) for place in places))

    @cached_property
    def count(self) -> int:
        """How many cases there are."""
        return prod(axis.size for axis in self.axes)

    @cached_property
    def open(self) -> tuple[tuple[int, OpenField], ...]:
        """The fields that the caller left out, each with its axis, in the order of the question."""
        return tuple((place, field) for place, axis in enumerate(self.axes) for field in axis.open)

    @cached_property
    def _facts(self) -> dict[str, FactValues]:
        return {}

    def fact(self, name: str) -> FactValues:
        """The different values of a fact."""
        if name not in self._facts:
            self._facts[name] = self._fact(name)
        return self._facts[name]

    def _fact(self, name: str) -> FactValues:
        question, base = self.question, self.base
        reads = FACTS[name].reads
        if reads and AXIS_OF[reads[0]] == RINGS and question.rings is None and question.ring_geometry is None:
            return self._facts_of_rings[name]
        return fact_values(name, self.axes, question, base)

    @cached_property
    def _facts_of_rings(self) -> Mapping[str, FactValues]:
        return _facts_of_unknown_rings(self.base, _of_rings(self.question))

    def limit(self, id: str) -> Any:
        """The value of a threshold."""
        return self.base.limit(id)

    def values(self, fact: str) -> tuple[Any, ...]:
        """The different values of a fact."""
        return self.fact(fact).values

    def likeliest(self, fact: str) -> Any:
        """The value of a fact that weighs most."""
        axis, values, value_of = self.fact(fact)
        if axis is None or len(values) == 1:
            return values[0]
        return values[int(np.bincount(value_of, self.axes[axis].weights).argmax())]


def fact_values(name: str, axes: tuple[Axis, ...], question: FillQuestion, base: KnowledgeBase) -> FactValues:
    """The different values of a fact over the alternatives of its axis."""
    return values_along(axes, FACTS[name].reads, partial(FACTS[name].of, question, base))


def values_along(axes: tuple[Axis, ...], reads: tuple[str, ...], of: Callable[..., Any]) -> FactValues:
    """The different values of what follows from some fields of one axis."""
    if not reads:
        return FactValues(None, (of(),), ONE_VALUE)
    place = AXIS_OF[reads[0]]
    axis = axes[place]
    columns = [axis.fields.index(field) for field in reads]
    if axis.size == 1:
        value = of(*[axis.alternatives[0][column] for column in columns])
        return FactValues(place, (value,), ONE_VALUE)
    found: dict[tuple[Any, ...], Any] = {}
    places: dict[Any, int] = {}
    value_of = np.empty(axis.size, np.intp)
    for index, alternative in enumerate(axis.alternatives):
        given = tuple([alternative[column] for column in columns])
        if given not in found:
            found[given] = of(*given)
        value_of[index] = places.setdefault(found[given], len(places))
    return FactValues(place, tuple(places), value_of)


def _rings_axis(question: FillQuestion, base: KnowledgeBase) -> Axis:
    if question.rings is None:
        return _unknown_rings(base, _of_rings(question))
    return axis_of(RINGS, question, base)


def _of_rings(question: FillQuestion) -> FillQuestion:
    """The part of a question that bears on what rings it has, where nothing is known of them."""
    return FillQuestion.model_construct(
        yellow_metal=question.yellow_metal,
        box_kind=question.box_kind,
        final_drive=question.final_drive,
        duty=question.duty,
    )


# Of rings nothing is known in most first questions, and those are alike in what may be in the box.
@lru_cache(maxsize=64)
def _unknown_rings(base: KnowledgeBase, question: FillQuestion) -> Axis:
    return axis_of(RINGS, question, base)


@lru_cache(maxsize=64)
def _facts_of_unknown_rings(base: KnowledgeBase, question: FillQuestion) -> Mapping[str, FactValues]:
    axes = (_unknown_rings(base, question),)
    on_axis = [name for name, fact in FACTS.items() if fact.reads and AXIS_OF[fact.reads[0]] == RINGS]
    return {name: fact_values(name, axes, question, base) for name in on_axis}
