"""What rules come to for the classes over every value that is tried: worked out once for each edition and looked up."""

from collections.abc import Mapping, Sequence
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from knowledge.base import KnowledgeBase
from knowledge.box.axes import AXIS_OF
from knowledge.box.cases import Cases
from knowledge.box.facts import FACTS
from knowledge.box.question import FillQuestion
from knowledge.judging.box_columns import AXES, BoxColumns
from knowledge.judging.grid import OnAxes
from knowledge.judging.outcomes import SORTS, Sort, outcomes_of
from knowledge.judging.prepared import prepared
from knowledge.judging.rules import RULES

# Fields of the question that rules may read beside the value of a fact.
BESIDE: Mapping[str, str] = {
    "sump_hot_c": "sump_hot_c",
    "duty_and_sump": "sump_hot_c",
    "sized_rings": "ring_geometry",
    "bearing": "bearing",
    "mesh": "mesh",
}
# Indices of everything along the axes before one.
BEFORE = tuple((slice(None),) * axis for axis in range(AXES))


class Tabled:
    """The codes of the outcomes of every rule over the values tried for its facts, and all classes.

    As nobody names them, or as if each were named by its family.
    """

    def __init__(self, base: KnowledgeBase, *, are_named: bool) -> None:
        cases, ready = Cases.of(FillQuestion(), base), prepared(base)
        x = BoxColumns(cases, ready.classes, ready)
        x.is_named = np.full(ready.classes.size, are_named)
        self.outcomes = outcomes_of(base).of_rules
        codes = [of.resolve(rule.decide(x)) for rule, of in zip(RULES, self.outcomes, strict=True)]
        self.codes = [code.reshape((1,) * (AXES + 1 - code.ndim) + code.shape) for code in codes]
        for code in self.codes:
            code.setflags(write=False)
        self.worst = [_worst(of.effects[code]) for of, code in zip(self.outcomes, self.codes, strict=True)]
        self.values = {fact: cases.values(fact) for rule in RULES for fact in rule.reads}
        self.places = {fact: {value: at for at, value in enumerate(of)} for fact, of in self.values.items()}
        self.flags = {sort: [self._flags(rule, sort) for rule in range(len(RULES))] for sort in SORTS}

    def _flags(self, rule: int, sort: Sort) -> OnAxes | None:
        """Where an outcome is of a sort, over the values tried for each fact; None where none ever is."""
        flags = self.outcomes[rule].is_of[sort][self.codes[rule]]
        places: list[NDArray[np.intp] | None] = [None] * AXES
        for axis, fact in RULES[rule].facts_on_axes:
            places[axis] = np.arange(len(self.values[fact]))
        return OnAxes.of(flags, tuple(places)) if flags.any() else None


class LookedUp:
    """What the table has of some cases; each comes to None where these have what was not tried."""

    def __init__(self, table: Tabled, cases: Cases) -> None:
        self.table = table
        self.cases = cases
        self._places: dict[str, Sequence[int] | None] = {}

    def codes(self, rule: int) -> NDArray[np.int8] | None:
        """The codes of a rule."""
        others = self._others(rule)
        return None if others is None else self._codes_at(rule, others)

    def worst(self, rule: int) -> NDArray[np.int8] | None:
        """The worst effect of a rule in any case, by class or one for all."""
        others, table = self._others(rule), self.table
        if others is None:
            return None
        return _worst(table.outcomes[rule].effects[self._codes_at(rule, others)]) if others else table.worst[rule]

    def where(self, sort: Sort, rule: int) -> Sequence[OnAxes] | None:
        """Where an outcome of a rule is of a sort; nothing where it never is."""
        others, known = self._others(rule), self.table.flags[sort][rule]
        if others is None:
            return None
        if known is None:
            return ()
        values = {axis: self.cases.fact(fact).value_of for axis, fact in RULES[rule].facts_on_axes}
        if not others:
            along = (None if places is None else places[values[axis]] for axis, places in enumerate(known.places))
            return (OnAxes(known.values, tuple(along)),)
        flags = self.table.outcomes[rule].is_of[sort][self._codes_at(rule, others)]
        return (OnAxes.of(flags, tuple(map(values.get, range(AXES)))),) if flags.any() else ()

    def _codes_at(self, rule: int, others: Mapping[int, Sequence[int]]) -> NDArray[np.int8]:
        found = self.table.codes[rule]
        for axis, places in others.items():
            if found.shape[axis] > 1:
                found = found[BEFORE[axis] + (places if len(places) > 1 else slice(places[0], places[0] + 1),)]
        return found

    def _others(self, rule: int) -> dict[int, Sequence[int]] | None:
        """The places of what was tried, along each axis along which these cases have other values."""
        found = {}
        for fact in RULES[rule].reads:
            if fact not in self._places:
                self._places[fact] = self._places_of(fact)
            places = self._places[fact]
            if places is None:
                return None
            if places:
                found[AXIS_OF[FACTS[fact].reads[0]]] = places
        return found

    def _places_of(self, fact: str) -> Sequence[int] | None:
        """Which of the values tried a fact has; none where it has them all, in their order."""
        if fact in BESIDE and getattr(self.cases.question, BESIDE[fact]) is not None:
            return None
        values = self.cases.values(fact)
        if values == self.table.values[fact]:
            return ()
        places = [self.table.places[fact].get(value, -1) for value in values]
        return None if -1 in places else places


def _worst(effects: NDArray[np.int8]) -> NDArray[np.int8]:
    return effects.reshape(-1, effects.shape[-1]).min(axis=0)


@lru_cache(maxsize=4)
def tabled(base: KnowledgeBase, *, are_named: bool) -> Tabled:
    """The outcomes to look up; kept, since every answer needs them."""
    return Tabled(base, are_named=are_named)
