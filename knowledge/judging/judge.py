"""Every rule on every lubricant in every case, as columns, and what that comes to."""

from collections.abc import Collection, Iterator, Sequence
from copy import copy
from dataclasses import dataclass
from functools import cached_property
from math import isinf, isnan
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from knowledge.box.axes import DRAWS
from knowledge.box.cases import Cases
from knowledge.judging.box_columns import AXES, BoxColumns
from knowledge.judging.column_rule import CAUTIONS, EXCLUDES, NOTE, SUPPORTS, ColumnRule, Decision, FigureColumn
from knowledge.judging.columns import Flags, Floats, LubricantColumns
from knowledge.judging.grid import OnAxes, Places, weighed
from knowledge.judging.outcomes import Outcomes, Sort, outcomes_of
from knowledge.judging.prepared import prepared
from knowledge.judging.rules import RULES
from knowledge.judging.tabled import LookedUp, tabled
from knowledge.text import significant

# Margins are told in four digits: those that are told alike differ by less.
TOLD_ALIKE = 1e-3

# By rules and lubricants.
OF_JUG = np.array([rule.is_of_jug for rule in RULES])[:, None]


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

    def where(self, sort: Sort) -> Sequence[OnAxes]:
        """Where an outcome is of a sort; nothing where it never is. A refusal that is softened is care."""
        flags = self.outcomes.is_of[sort][self.code]
        if self.softened is not None and sort != "wary":
            flags = flags | self.softened if sort == "cared" else flags & ~self.softened
        return (OnAxes.of(flags, self.places),) if flags.any() else ()


@dataclass(frozen=True, eq=False)
class SingleCase:
    """What all rules come to where there is one case, by rules and lubricants.

    That of rules that only tell is of no matter, and they have no codes.
    """

    effects: NDArray[np.int8]
    severities: NDArray[np.int8]
    is_grave: Flags
    codes: dict[int, list[int]]
    is_softened: list[list[bool]] | None

    @cached_property
    def gravest_refusals(self) -> list[int]:
        """The rule that refuses each lubricant most gravely, the first of equals; of no matter where none refuses."""
        return np.where(self.effects == EXCLUDES, self.severities, NOTE + 1).argmin(axis=0).tolist()


class SpannedFigure(NamedTuple):
    """A figure of a rule, its ends over all cases and whether it is for screening: by lubricant or one for all."""

    figure: FigureColumn
    least: NDArray[np.float64]
    most: NDArray[np.float64]
    is_screening: Flags

    @classmethod
    def of(cls, figure: FigureColumn) -> "SpannedFigure":
        """A figure over all cases."""
        low, high = figure.span
        is_screening = _over_cases(np.logical_or, figure.screening)
        return cls(figure, _over_cases(np.fmin, low), _over_cases(np.fmax, high), is_screening)

    def at(self, lubricant: int) -> tuple[float, float, bool] | None:
        """Its ends for one lubricant, and whether it is for screening; None where no case can be computed."""
        least, most, is_screening = (
            column[lubricant if len(column) > 1 else 0].item() for column in (self.least, self.most, self.is_screening)
        )
        return None if isnan(least) or isnan(most) else (least, most, is_screening)


class Judged:
    """Some lubricants under every rule in every case of a box."""

    def __init__(self, x: BoxColumns, told_by: "Judged | None" = None, looked_up: LookedUp | None = None) -> None:
        """Outcomes may be looked up; those of rules that refuse nothing and give no care may be taken over.

        `told_by` is the same box under other figures.
        """
        self.x = x
        self.cases = x.cases
        self.lubricants = x.lubricants
        self.outcomes = outcomes_of(x.base)
        self._taken_over: dict[int, Judged] = {} if told_by is None else dict.fromkeys(self._only_told, told_by)
        self._looked_up = looked_up
        self._decisions: dict[int, Decision] = {}
        self.shown: dict[Any, Any] = {}
        self.notes: dict[Any, Any] = {}
        self._columns: dict[int, RuleColumn] = {}
        self._shares: dict[int, list[float]] = {}
        self._margins: dict[int, list[float]] = {}
        self._figures: dict[int, tuple[SpannedFigure, ...]] = {}
        self._codes: dict[int, NDArray[np.int8]] = {}
        self._worst: dict[int, NDArray[np.int8]] = {}

    @classmethod
    def of(cls, cases: Cases, lubricants: LubricantColumns | None = None) -> "Judged":
        """Some lubricants under every rule; without them every class."""
        ready = prepared(cases.base)
        x = BoxColumns(cases, lubricants or ready.classes, ready)
        can_look_up = lubricants is None and not cases.named.pairs
        return cls(x, looked_up=LookedUp(tabled(cases.base, are_named=False), cases) if can_look_up else None)

    @cached_property
    def of_classes(self) -> bool:
        """Whether it is the classes that are judged."""
        return self.lubricants is self.x.prepared.classes

    @cached_property
    def as_if_named(self) -> "Judged":
        """The same as if each lubricant were named by its family, without what that excuses."""
        x = copy(self.x)
        x.is_named = np.ones(self.lubricants.size, bool)
        return Judged(x, looked_up=LookedUp(tabled(x.base, are_named=True), x.cases) if self._looked_up else None)

    @cached_property
    def single(self) -> SingleCase | None:
        return _single_case(self) if self.cases.count == 1 and not self.x.is_drawn else None

    def column(self, rule: int) -> RuleColumn:
        """What a rule comes to."""
        if rule not in self._columns:
            taken_over = self._taken_over.get(rule)
            self._columns[rule] = taken_over.column(rule) if taken_over else self._column(rule)
        return self._columns[rule]

    @property
    def _only_told(self) -> Iterator[int]:
        return (place for place in range(len(RULES)) if place not in self.outcomes.deciding)

    def _codes_of(self, rule: int) -> NDArray[np.int8]:
        if rule in self._taken_over:
            return self._taken_over[rule].codes(rule)
        found = self._looked_up.codes(rule) if self._looked_up else None
        return self.outcomes.of_rules[rule].resolve(self.decision(rule)) if found is None else found

    def decision(self, rule: int) -> Decision:
        """What a rule decides, with its margin."""
        if rule in self._taken_over:
            return self._taken_over[rule].decision(rule)
        if rule not in self._decisions:
            self._decisions[rule] = RULES[rule].decide(self.x)
        return self._decisions[rule]

    def tie_break(self, rule: int) -> Floats | None:
        """What orders an outcome of a rule in different cases, over all axes; None where nothing does."""
        decision = self.decision(rule)
        found = decision.margin if decision.tie_break is None else decision.tie_break
        return None if found is None else _over_axes(found)

    def codes(self, rule: int) -> NDArray[np.int8]:
        """The outcome codes of a rule: a scalar, one a lubricant, or an array over all axes."""
        if rule not in self._codes:
            self._codes[rule] = self._codes_of(rule)
        return self._codes[rule]

    def only_outcome(self, rule: int, lubricant: int) -> tuple[int, bool]:
        """The code of the outcome of a rule in the only case, and whether service data softened it."""
        single = self.single
        if single is None or rule not in single.codes:
            code = self.codes(rule)
            return int(code.reshape(-1)[lubricant if code.size > 1 else 0]), False
        is_softened = single.is_softened is not None and single.is_softened[rule][lubricant]
        return single.codes[rule][lubricant], is_softened

    def margin(self, rule: int, lubricant: int) -> float | None:
        """The least margin of a rule for a lubricant over all cases; None where there is none to tell."""
        return self.least_margin(rule, (lubricant,))

    def least_margin(self, rule: int, lubricants: Sequence[int]) -> float | None:
        """The least margin of a rule for some lubricants; None where there is none to tell."""
        margins = self._margins_of(rule)
        known = [least for at in lubricants if not isnan(least := margins[at if len(margins) > 1 else 0])]
        return significant(min(known)) if known else None

    def nearest(self, rule: int, lubricants: Sequence[int]) -> int:
        """The first of some lubricants that has their least margin, as it is told."""
        margins, least = self._margins_of(rule), self.least_margin(rule, lubricants)
        if len(lubricants) == 1 or len(margins) == 1 or least is None or isinf(least):
            return lubricants[0]
        near = (at for at in lubricants if abs(margins[at] - least) <= abs(least) * TOLD_ALIKE)
        return next(at for at in near if significant(margins[at]) == least)

    def _margins_of(self, rule: int) -> list[float]:
        if rule not in self._margins:
            margin = self.decision(rule).margin
            self._margins[rule] = _over_cases(np.fmin, np.nan if margin is None else margin).tolist()
        return self._margins[rule]

    def figures(self, rule: int) -> tuple[SpannedFigure, ...]:
        """What a rule computed, over all cases."""
        if rule not in self._figures:
            of = RULES[rule].figures
            self._figures[rule] = tuple(map(SpannedFigure.of, of(self.x))) if of else ()
        return self._figures[rule]

    def is_softened(self, rule: int, lubricant: int) -> bool:
        """Whether a refusal of a rule only warns in some case, since the service data names the lubricant."""
        if not self.x.is_named[lubricant]:
            return False
        softened = self.column(rule).softened
        return softened is not None and bool(softened[..., lubricant].any())

    def _column(self, rule: int) -> RuleColumn:
        outcomes, of_rule = self.outcomes.of_rules[rule], RULES[rule]
        code = _over_axes(self.codes(rule))
        effect = outcomes.effects[code]
        softened = None
        named = self.cases.named
        if named.pairs and not of_rule.is_of_jug:
            excused: Flags = (effect == EXCLUDES) & self.x.is_named
            if named.is_family_alone:
                excused = excused & ~outcomes.is_of_grade[code]
            if not named.is_vouched_for:
                excused = excused & ~outcomes.is_grave[code]
            if excused.any():
                softened, effect = excused, np.where(excused, np.int8(CAUTIONS), effect)
        places: list[NDArray[np.intp] | None] = [None] * AXES
        for axis, fact in of_rule.facts_on_axes:
            places[axis] = self.cases.fact(fact).value_of
        if self.x.is_drawn:
            places[DRAWS] = np.arange(self.cases.axes[DRAWS].size)
        return RuleColumn(of_rule, outcomes, tuple(places), code, effect, softened)

    @cached_property
    def worst(self) -> NDArray[np.int8]:
        """The worst effect of each rule on each lubricant in any case, of shape (rules, lubricants)."""
        found = np.empty((len(RULES), self.lubricants.size), np.int8)
        for rule in range(len(RULES)):
            found[rule] = self.worst_of(rule)
        return found

    @cached_property
    def worst_that_decides(self) -> NDArray[np.int8]:
        """The same of the rules that decide; the others support."""
        if self.single:
            return self.single.effects
        found = np.full((len(RULES), self.lubricants.size), SUPPORTS, np.int8)
        for rule in self.outcomes.deciding:
            found[rule] = self.worst_of(rule)
        return found

    def worst_of(self, rule: int) -> NDArray[np.int8]:
        """The worst effect of one rule in any case, by lubricant or one for all."""
        if rule not in self._worst:
            found = self._looked_up.worst(rule) if self._looked_up else None
            if found is None:
                effect = self.column(rule).effect
                found = effect.reshape(-1, effect.shape[-1]).min(axis=0)
            self._worst[rule] = found
        return self._worst[rule]

    def worst_on(self, rule: int, lubricant: int) -> int:
        """The worst effect of one rule on one lubricant in any case."""
        if self.single:
            code, is_softened = self.only_outcome(rule, lubricant)
            return CAUTIONS if is_softened else int(self.outcomes.of_rules[rule].effects[code])
        worst = self.worst_of(rule)
        return int(worst[lubricant if len(worst) > 1 else 0])

    def shares(self, rule: int) -> list[float]:
        """The share of the cases in which a rule has its worst effect, by lubricant or one for all."""
        if rule not in self._shares:
            self._shares[rule] = _share_of_worst(self.column(rule), self.cases).tolist()
        return self._shares[rule]

    def share_of_outcomes(self, rule: int, lubricant: int, outcomes: Collection[str]) -> float:
        """The share of the cases in which a rule has one of some outcomes on a lubricant."""
        if self.single:
            return float(self.outcomes.of_rules[rule].rows[self.only_outcome(rule, lubricant)[0]].outcome in outcomes)
        column = self.column(rule)
        codes = [column.outcomes.codes[name] for name in outcomes]
        found = _share_where(np.isin(_over_axes(column.code), codes), column, self.cases)
        return float(found[lubricant if len(found) > 1 else 0])

    def where(self, sort: Sort, but: int | None = None) -> list[OnAxes]:
        """Where an outcome of each rule is of a sort, without those of which none ever is and without one rule."""
        found: list[OnAxes] = []
        for rule in self.outcomes.deciding:
            if rule != but:
                known = self._looked_up.where(sort, rule) if self._looked_up else None
                found += self.column(rule).where(sort) if known is None else known
        return found

    def columns_with(self, effect: int) -> list[RuleColumn]:
        """The columns of the rules that have an effect, or a worse one, on some lubricant in some case."""
        return [self.column(rule) for rule in self.outcomes.deciding if self.worst_of(rule).min() <= effect]


def _over_cases(of: np.ufunc, column: Any) -> NDArray[Any]:
    """What a column comes to over all cases, by lubricant or one for all."""
    found = np.asarray(column)
    if found.size > 1 and found.size > found.shape[-1]:
        found = of.reduce(found.reshape(-1, found.shape[-1]))
    return found.reshape(-1)


def _single_case(judged: Judged) -> SingleCase:
    known, named = judged.outcomes, judged.cases.named
    codes = np.zeros((len(RULES), judged.lubricants.size), np.intp)
    for rule in known.deciding:
        code = judged.codes(rule)
        codes[rule] = code.reshape(-1) if code.ndim > 1 else code
    places = codes + known.offsets
    effects, severities = known.effects[places], known.severities[places]
    softened = None
    if named.pairs:
        excused = (effects == EXCLUDES) & judged.x.is_named & ~OF_JUG
        if named.is_family_alone:
            excused &= ~known.is_of_grade[places]
        if not named.is_vouched_for:
            excused &= ~known.is_grave[places]
        effects[excused] = CAUTIONS
        softened = excused.tolist()
    of_rules = {rule: codes[rule].tolist() for rule in known.deciding}
    return SingleCase(effects, severities, known.is_grave[places], of_rules, softened)


def _share_of_worst(column: RuleColumn, cases: Cases) -> Floats:
    """The share of the cases, by weight, in which the effect of a rule is its worst, for each lubricant."""
    effect = column.effect
    flat = effect.reshape(-1, effect.shape[-1])
    if len(flat) == 1:
        return np.ones(1)
    return _share_where((flat == flat.min(axis=0)).reshape(effect.shape), column, cases)


def _share_where(flags: Flags, column: RuleColumn, cases: Cases) -> Floats:
    """The share of the cases, by weight, in which something is so that a rule finds, for each lubricant."""
    shares: list[Floats | None] = []
    for axis, places in zip(cases.axes, column.places, strict=True):
        share = None if places is None else np.bincount(places, weights=axis.weights) / axis.weights.sum()
        shares.append(share if share is not None and flags.shape[len(shares)] > 1 else None)
    return weighed(flags.astype(float), shares)


def _over_axes(column: Any) -> Any:
    """A column in the shape of all axes and the lubricants."""
    found = np.asarray(column)
    return found.reshape((1,) * (AXES + 1 - found.ndim) + found.shape)
