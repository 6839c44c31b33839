"""What rules come to for the classes over every value that is tried: worked out once for each edition and looked up."""

from collections.abc import Mapping, Sequence
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from knowledge.base import KnowledgeBase
from knowledge.box.cases import Cases
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

FIELDS_BESIDE = tuple(tuple({BESIDE[fact] for fact in rule.reads if fact in BESIDE}) for rule in RULES)


class Tabled:
    """The codes of the outcomes of every rule over the values tried for its facts, and all classes.

    As nobody names them, or as if each were named by its family.
    """

    def __init__(self, base: KnowledgeBase, *, are_named: bool) -> None:
        cases, ready, known = Cases.of(FillQuestion(), base), prepared(base), outcomes_of(base)
        x = BoxColumns(cases, ready.classes, ready)
        x.is_named = np.full(ready.classes.size, are_named)
        codes = [of.resolve(rule.decide(x)) for rule, of in zip(RULES, known.of_rules, strict=True)]
        self._outcomes = known.of_rules
        self._codes = [code.reshape((1,) * (AXES + 1 - code.ndim) + code.shape) for code in codes]
        self._worst = [_worst(of.effects[code]) for of, code in zip(self._outcomes, self._codes, strict=True)]
        facts = {fact for rule in RULES for _, fact in rule.facts_on_axes}
        self._values = {fact: cases.values(fact) for fact in facts}
        self._places = {fact: {value: at for at, value in enumerate(of)} for fact, of in self._values.items()}
        self._flags = {sort: [self._flags_of(rule, sort) for rule in range(len(RULES))] for sort in SORTS}

    def _flags_of(self, rule: int, sort: Sort) -> OnAxes | None:
        """Where an outcome is of a sort, over the values tried for each fact; None where none ever is."""
        flags = self._outcomes[rule].is_of[sort][self._codes[rule]]
        places: list[NDArray[np.intp] | None] = [None] * AXES
        for axis, fact in RULES[rule].facts_on_axes:
            places[axis] = np.arange(len(self._values[fact]))
        return OnAxes.of(flags, tuple(places)) if flags.any() else None

    def _others(self, rule: int, cases: Cases) -> dict[int, list[int]] | None:
        """The places of what was tried, along each axis along which these cases have other values.

        None where they have what was not tried.
        """
        if any(getattr(cases.question, field) is not None for field in FIELDS_BESIDE[rule]):
            return None
        found: dict[int, list[int]] = {}
        for axis, fact in RULES[rule].facts_on_axes:
            values = cases.values(fact)
            if values != self._values[fact]:
                known = self._places[fact]
                found[axis] = [known.get(value, -1) for value in values]
                if -1 in found[axis]:
                    return None
        return found

    def codes(self, rule: int, cases: Cases) -> NDArray[np.int8] | None:
        """The codes of a rule in some cases; None where these have what was not tried."""
        others = self._others(rule, cases)
        return None if others is None else self._codes_at(rule, others)

    def _codes_at(self, rule: int, others: Mapping[int, list[int]]) -> NDArray[np.int8]:
        found = self._codes[rule]
        for axis, places in others.items():
            if found.shape[axis] > 1:
                found = found[BEFORE[axis] + (places if len(places) > 1 else slice(places[0], places[0] + 1),)]
        return found

    def worst(self, rule: int, cases: Cases) -> NDArray[np.int8] | None:
        """The worst effect of a rule in any of some cases, by class or one for all; None as with codes."""
        others = self._others(rule, cases)
        if others is None:
            return None
        return _worst(self._outcomes[rule].effects[self._codes_at(rule, others)]) if others else self._worst[rule]

    def where(self, sort: Sort, rule: int, cases: Cases) -> Sequence[OnAxes] | None:
        """Where an outcome of a rule is of a sort, nothing where it never is; None as with codes."""
        others, known = self._others(rule, cases), self._flags[sort][rule]
        if others is None:
            return None
        if known is None:
            return ()
        values = {axis: cases.fact(fact).value_of for axis, fact in RULES[rule].facts_on_axes}
        if not others:
            along = (None if places is None else places[values[axis]] for axis, places in enumerate(known.places))
            return (OnAxes(known.values, tuple(along)),)
        flags = self._outcomes[rule].is_of[sort][self._codes_at(rule, others)]
        return (OnAxes.of(flags, tuple(map(values.get, range(AXES)))),) if flags.any() else ()


def _worst(effects: NDArray[np.int8]) -> NDArray[np.int8]:
    return effects.reshape(-1, effects.shape[-1]).min(axis=0)


@lru_cache(maxsize=4)
def tabled(base: KnowledgeBase, *, are_named: bool) -> Tabled:
    """The outcomes to look up; kept, since every answer needs them."""
    return Tabled(base, are_named=are_named)
