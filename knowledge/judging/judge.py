"""Every rule on every lubricant in every case, as columns, and what that comes to."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property, lru_cache, reduce
from operator import or_
from typing import Any

import numpy as np
from numpy.typing import NDArray

from knowledge.base import KnowledgeBase
from knowledge.box.cases import Cases
from knowledge.judging.box_columns import AXES, BoxColumns
from knowledge.judging.column_rule import CAUTIONS, EXCLUDES, NOTE, ColumnRule, Outcomes
from knowledge.judging.columns import Flags, Floats, LubricantColumns
from knowledge.judging.fold import Escape, Mask, Places
from knowledge.judging.prepared import Prepared, prepared
from knowledge.judging.rules import RULES
from knowledge.parts.lubricant_name import Verdict


@dataclass(frozen=True, slots=True, eq=False)
class RuleColumn:
    """What one rule comes to: an outcome for every lubricant in every case.

    `softened` is where service data that names a lubricant turned a refusal into a warning.
    """

    rule: ColumnRule
    outcomes: Outcomes
    places: Places
    code: NDArray[np.int8]
    effect: NDArray[np.int8]
    softened: Flags | None
    margin: Floats | None
    tie_break: Floats | None

    def mask(self, flags: Flags) -> Mask:
        """Flags of the shape of its outcomes, as a mask; an axis along which nothing changes is left out."""
        for axis in range(AXES):
            if flags.shape[axis] > 1:
                first = flags[(slice(None),) * axis + (slice(0, 1),)]
                if (flags == first).all():
                    flags = first
        return Mask(flags, self.places)

    @property
    def warns(self) -> Flags:
        """Where it cautions with more than a note."""
        return (self.effect == CAUTIONS) & (self.outcomes.severities[self.code] != NOTE)


@lru_cache(maxsize=2)
def outcomes_of(base: KnowledgeBase) -> tuple[Outcomes, ...]:
    """The outcomes of every rule, in the order of RULES."""
    return tuple(Outcomes.of([row for row in base.outcomes if row.rule == rule.id]) for rule in RULES)


class Judged:
    """Some lubricants under every rule in every case of a box."""

    def __init__(self, cases: Cases, lubricants: LubricantColumns, ready: Prepared) -> None:
        self.cases = cases
        self.lubricants = lubricants
        self.x = BoxColumns(cases, lubricants, ready)
        known = outcomes_of(cases.base)
        self.columns = tuple(self._column(rule, outcomes) for rule, outcomes in zip(RULES, known, strict=True))

    @classmethod
    def classes(cls, cases: Cases) -> "Judged":
        """Every lubricant class under every rule."""
        ready = prepared(cases.base)
        return cls(cases, ready.classes, ready)

    @classmethod
    def of(cls, cases: Cases, lubricants: LubricantColumns) -> "Judged":
        """Other lubricants under every rule."""
        return cls(cases, lubricants, prepared(cases.base))

    def _column(self, rule: ColumnRule, outcomes: Outcomes) -> RuleColumn:
        decision = rule.decide(self.x)
        code = _over_axes(outcomes.resolve(decision))
        effect = outcomes.effects[code]
        softened = None
        if rule.yields_to_service_data and self.cases.named.family is not None:
            excused: Flags = (effect == EXCLUDES) & self.x.is_named
            if self.cases.named.grades is None:
                excused = excused & ~outcomes.is_of_grade[code]
            if excused.any():
                softened, effect = excused, np.where(excused, np.int8(CAUTIONS), effect)
        places = [None] * AXES
        for axis, fact in rule.facts_on_axes.items():
            places[axis] = self.cases.fact(fact).value_of
        margin = None if decision.margin is None else _over_axes(decision.margin)
        tie_break = margin if decision.tie_break is None else _over_axes(decision.tie_break)
        return RuleColumn(rule, outcomes, tuple(places), code, effect, softened, margin, tie_break)

    @cached_property
    def worst(self) -> NDArray[np.int8]:
        """The worst effect of each rule on each lubricant in any case, of shape (rules, lubricants)."""
        found = np.empty((len(self.columns), self.lubricants.size), np.int8)
        for row, column in enumerate(self.columns):
            found[row] = column.effect.reshape(-1, column.effect.shape[-1]).min(axis=0)
        return found

    @cached_property
    def refused(self) -> Escape:
        """The cases in which no rule refuses."""
        return self._escape([column.mask(column.effect == EXCLUDES) for column in self._columns_with(EXCLUDES)])

    @cached_property
    def warned(self) -> Escape:
        """The cases in which no rule cautions with more than a note."""
        return self._escape([column.mask(column.warns) for column in self._columns_with(CAUTIONS)])

    @cached_property
    def cared(self) -> tuple[Mask, ...]:
        """Where each rule that cautions does so."""
        return tuple(column.mask(column.effect == CAUTIONS) for column in self._columns_with(CAUTIONS))

    def _columns_with(self, effect: int) -> list[RuleColumn]:
        held = (self.worst <= effect).any(axis=1)
        return [column for column, is_held in zip(self.columns, held, strict=True) if is_held]

    def _escape(self, masks: Sequence[Mask]) -> Escape:
        held = tuple(mask for mask in masks if mask.flags.any())
        return Escape(self.cases.axes, held, self.lubricants.size)

    @cached_property
    def serves(self) -> Floats:
        """The weight of the cases in which nothing refuses each lubricant."""
        if self.cases.count == 1:
            return (self.worst.min(axis=0) != EXCLUDES).astype(float) * self.cases.weight
        return self.refused.weight

    @cached_property
    def warned_weight(self) -> Floats:
        """The weight of the cases in which each lubricant is warned of."""
        if self.cases.count == 1:
            held = reduce(or_, [column.warns.reshape(-1) for column in self._columns_with(CAUTIONS)], False)
            return np.broadcast_to(np.asarray(held, float), self.lubricants.size) * self.cases.weight
        return self.cases.weight - self.warned.weight

    @cached_property
    def needs_care(self) -> Flags:
        """Whether some rule cautions in some case."""
        if self.cases.count == 1:
            return (self.worst == CAUTIONS).any(axis=0)
        none = np.zeros(self.lubricants.size, bool)
        return reduce(or_, [mask.flags.reshape(-1, mask.flags.shape[-1]).any(axis=0) for mask in self.cared], none)

    @cached_property
    def verdicts(self) -> tuple[Verdict, ...]:
        """The verdict on each lubricant over all cases."""
        found: list[Verdict] = []
        for serves, care in zip(self.serves.tolist(), self.needs_care.tolist(), strict=True):
            if not serves:
                found.append("does-not-fit")
            elif serves != self.cases.weight:
                found.append("depends")
            else:
                found.append("fits-with-care" if care else "fits")
        return tuple(found)


def _over_axes(column: Any) -> Any:
    """A column in the shape of all axes and the lubricants."""
    found = np.asarray(column)
    if found.ndim == AXES + 1:
        return found
    return found.reshape((1,) * AXES + (-1,))
