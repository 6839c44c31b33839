"""What rules come to for the classes over every value that is tried: worked out once for each edition and looked up."""

from collections.abc import Mapping
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from knowledge.base import KnowledgeBase
from knowledge.box.cases import Cases
from knowledge.box.question import FillQuestion
from knowledge.judging.box_columns import AXES, BoxColumns
from knowledge.judging.outcomes import outcomes_of
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
        cases, ready = Cases.of(FillQuestion(), base), prepared(base)
        x = BoxColumns(cases, ready.classes, ready)
        x.is_named = np.full(ready.classes.size, are_named)
        codes = [known.resolve(rule.decide(x)) for rule, known in zip(RULES, outcomes_of(base).of_rules, strict=True)]
        self._codes = [code.reshape((1,) * (AXES + 1 - code.ndim) + code.shape) for code in codes]
        facts = {fact for rule in RULES for _, fact in rule.facts_on_axes}
        self._values = {fact: cases.values(fact) for fact in facts}
        self._places = {fact: {value: at for at, value in enumerate(of)} for fact, of in self._values.items()}

    def codes(self, rule: int, cases: Cases) -> NDArray[np.int8] | None:
        """The codes of a rule in some cases; None where these have what is not tried."""
        if any(getattr(cases.question, field) is not None for field in FIELDS_BESIDE[rule]):
            return None
        found = self._codes[rule]
        for axis, fact in RULES[rule].facts_on_axes:
            values = cases.values(fact)
            if values == self._values[fact]:
                continue
            known = self._places[fact]
            places = [known.get(value, -1) for value in values]
            if -1 in places:
                return None
            if found.shape[axis] > 1:
                found = found[BEFORE[axis] + (places if len(places) > 1 else slice(places[0], places[0] + 1),)]
        return found


@lru_cache(maxsize=4)
def tabled(base: KnowledgeBase, *, are_named: bool) -> Tabled:
    """The outcomes to look up; kept, since every answer needs them."""
    return Tabled(base, are_named=are_named)
