"""Who leads: in each case the usual fill among what nothing refuses, and over all cases who leads in most of them."""

from collections.abc import Iterator, Sequence
from functools import cached_property
from typing import Literal, NamedTuple

import numpy as np
from numpy.typing import NDArray

from knowledge.box.axes import OpenField
from knowledge.box.named import NOT_NAMED, Named
from knowledge.box.question import ServiceData
from knowledge.judging.column_rule import CAUTIONS, EXCLUDES
from knowledge.judging.columns import Flags, Floats
from knowledge.judging.grid import AXES, Grid, OnAxes
from knowledge.judging.judge import Judged, RuleColumn
from knowledge.judging.rules import RULES
from knowledge.judging.usual import (
    AXES_OF_CUSTOM,
    FACTS_OF_CUSTOM,
    TWINS,
    CustomOrder,
    custom_order,
    custom_order_of_classes,
    is_told_apart,
    usual_rows,
)
from knowledge.parts.lubricant_name import Verdict

FIRST_SHIFTS = next(place for place, rule in enumerate(RULES) if rule.id == "cold-first-shifts-need-the-film-wiped")
SURELY_HARD = ("surely-hard", "not-computable")

# The measures of one lubricant in one case stand in one number, the weightiest in the highest bits.
CUSTOM_BITS, HEAT_BITS, CARE_BITS, NAMED_BITS = 10, 7, 1, 4
HEAT_AT = CUSTOM_BITS
CARE_AT = HEAT_AT + HEAT_BITS
NAMED_AT = CARE_AT + CARE_BITS
REFUSED_AT = NAMED_AT + NAMED_BITS

# What leads in a case where no lubricant does.
NOTHING, CONFLICT = -1, -2

ROUNDING = 1e-9

FROM_BEST: tuple[Verdict, ...] = ("fits", "fits-with-care", "depends", "does-not-fit")


LeadOutcome = Literal["settled", "depends", "conflict", "none-suitable"]


class Lead(NamedTuple):
    """Who leads over some cases, and the share of them that it leads, those of equal work counted together."""

    outcome: LeadOutcome
    leader: int | None
    share: float
    led: Floats

    def differs(self, other: "Lead", groups: NDArray[np.intp]) -> bool:
        """Whether another lubricant leads, or none, or it is settled where it was not."""
        if self.outcome != other.outcome or (self.leader is None) != (other.leader is None):
            return True
        return self.leader is not None and other.leader is not None and groups[self.leader] != groups[other.leader]


class Ranking:
    """The order of judged lubricants."""

    def __init__(self, judged: Judged, region: str | None = None) -> None:
        self.judged = judged
        self.cases = judged.cases
        self.lubricants = judged.lubricants
        self.region = region
        self.rare = judged.cases.base.limit("rare-share-below")

    @cached_property
    def named_place(self) -> NDArray[np.int32]:
        """The place of each lubricant among what is named; NOT_NAMED for the others."""
        named = self.cases.named
        return np.array([named.place(row) for row in self.lubricants.rows], np.int32)

    @cached_property
    def is_named(self) -> Flags:
        """Whether each lubricant is what is named, or of a family that is named alone."""
        return self.named_place < NOT_NAMED

    @cached_property
    def groups(self) -> NDArray[np.intp]:
        """For each lubricant a number that it shares with those that do the same work at its grade."""
        keys = [(row.grade if row.family.id in TWINS else row.id) for row in self.lubricants.rows]
        place = {key: at for at, key in enumerate(dict.fromkeys(keys))}
        return np.array([place[key] for key in keys])

    @cached_property
    def _refusals(self) -> list[OnAxes]:
        return [column.where(column.effect == EXCLUDES) for column in self.judged.columns_with(EXCLUDES)]

    @cached_property
    def _cares(self) -> list[OnAxes]:
        return [column.where(column.effect == CAUTIONS) for column in self.judged.columns_with(CAUTIONS)]

    @cached_property
    def _graves(self) -> list[OnAxes]:
        return [
            column.where((column.effect == EXCLUDES) & column.outcomes.is_grave[column.code])
            for column in self.judged.columns_with(EXCLUDES)
        ]

    @cached_property
    def _of_grades(self) -> list[OnAxes]:
        return [
            column.where((column.effect == EXCLUDES) & column.outcomes.is_of_grade[column.code])
            for column in self.judged.columns_with(EXCLUDES)
        ]

    @cached_property
    def _wary_if_named(self) -> list[OnAxes]:
        """What wants care once its family is named; what only a name was wanted for is then well."""
        return [
            column.where(column.effect <= CAUTIONS)
            for column in self.judged.columns_with(CAUTIONS)
            if column.rule.speaks_of_grade or not column.rule.uses_service_data
        ]

    @cached_property
    def _order(self) -> CustomOrder:
        base = self.cases.base
        if self.lubricants is self.judged.of_classes:
            return custom_order_of_classes(base, self.region)
        return custom_order(self.lubricants.rows, base, self.region)

    @cached_property
    def _rows(self) -> OnAxes:
        return self._rows_of(self.cases.question.box_kind)

    def _rows_of(self, kind: str | None) -> OnAxes:
        """The row of custom in each case, in a box of some kind."""
        rows = usual_rows(self.cases, kind)
        shape = [1] * (AXES + 1)
        places: list[NDArray[np.intp] | None] = [None] * AXES
        for axis, fact, size in zip(AXES_OF_CUSTOM, FACTS_OF_CUSTOM, rows.shape, strict=True):
            shape[axis], places[axis] = size, self.cases.fact(fact).value_of
        return OnAxes.of(rows.reshape(shape), tuple(places))

    @cached_property
    def _custom(self) -> NDArray[np.int32]:
        return self._by_custom(self._rows)

    def _by_custom(self, rows: OnAxes) -> NDArray[np.int32]:
        """The place of each lubricant by custom, over the cells of the grid.

        Where first shifts with the first choice are surely hard, the next thinner grade stands before it.
        """
        row, order = self.grid.spread(rows)[..., 0], self._order
        heat = self._heat_by_row[row] << HEAT_AT if self.heat.any() else 0
        if self._hard is None:
            return order.usual[row] + heat
        first, hard = order.first[row][..., None], self.grid.spread(self._hard)
        shape = np.broadcast_shapes(row.shape, hard.shape[:-1])
        of_first = np.take_along_axis(
            np.broadcast_to(hard, (*shape, self.lubricants.size)), np.broadcast_to(first, (*shape, 1)), axis=-1
        )
        return np.where(of_first & (first >= 0), order.colder[row], order.usual[row]) + heat

    @cached_property
    def _heat_by_row(self) -> NDArray[np.int32]:
        """How far the sump is beyond what each lubricant bears; leaving the family of the first choice gains none."""
        order, excess = self._order, self.heat
        of_first = np.where(order.first >= 0, excess[order.first], 0)[:, None]
        return np.where(order.is_kin, excess, np.maximum(excess, of_first)).astype(np.int32)

    @cached_property
    def _hard(self) -> OnAxes | None:
        """Where the first shifts with each lubricant are surely hard; None where they never are."""
        column: RuleColumn = self.judged.columns[FIRST_SHIFTS]
        is_hard = np.isin(column.code, [column.outcomes.codes[name] for name in SURELY_HARD])
        return column.where(is_hard) if is_hard.any() else None

    @cached_property
    def heat(self) -> NDArray[np.int32]:
        """How far a stated sump is beyond what each lubricant bears for long [°C]."""
        stated_c = self.cases.question.sump_hot_c
        if stated_c is None:
            return np.zeros(self.lubricants.size, np.int32)
        beyond = np.nan_to_num(stated_c - self.lubricants.long_sump_c, nan=0.0)
        return np.clip(beyond, 0, 2**HEAT_BITS - 1).astype(np.int32)

    @cached_property
    def grid(self) -> Grid:
        """The cases that anything tells apart."""
        hard = [self._hard] if self._hard else []
        return Grid.of(
            self.cases.axes, [*self._refusals, *self._of_grades, *self._graves, *self._cares, *hard, self._rows]
        )

    @cached_property
    def refused(self) -> Flags:
        """Whether each lubricant is refused, by cases and lubricants."""
        return self.grid.any_of(self._refusals, self.lubricants.size)

    @cached_property
    def cared(self) -> Flags:
        """Whether each lubricant needs care, by cases and lubricants."""
        return self.grid.any_of(self._cares, self.lubricants.size)

    @cached_property
    def grave(self) -> Flags | None:
        """Whether each lubricant is refused for what does lasting harm; None where none ever is."""
        graves = [item for item in self._graves if item.values.any()]
        return self.grid.any_of(graves, self.lubricants.size) if graves else None

    @cached_property
    def leaders(self) -> NDArray[np.intp]:
        """The lubricant that leads in each case; NOTHING where all are refused, CONFLICT where the named one is."""
        return self._leaders_by(self._custom)

    def _leaders_by(self, custom: NDArray[np.int32]) -> NDArray[np.intp]:
        small = custom + (self.named_place << NAMED_AT)
        scores = self._scores(self.refused, self.cared, small)
        found = scores.argmin(axis=1)
        found[scores[np.arange(len(found)), found] >= 1 << REFUSED_AT] = NOTHING
        named = self.is_named
        if self.grave is not None and named.any():
            found[(self.refused | ~named).all(axis=1) & self.grave[:, named].any(axis=1)] = CONFLICT
        return found

    def _scores(self, refused: Flags, cared: Flags, small: NDArray[np.int32]) -> NDArray[np.int32]:
        """The measures of each lubricant in each case, less is better."""
        found = (refused.astype(np.int32) << REFUSED_AT) + (cared.astype(np.int32) << CARE_AT)
        found.reshape(*self.grid.shape, refused.shape[1])[...] += small
        return found

    @cached_property
    def whole(self) -> Lead:
        """Who leads over all cases."""
        harm = None if self._harm is None else self.grid.weight @ self._harm
        return self._lead_of(self._led(self.leaders, self.grid.weight), harm)

    @cached_property
    def _harm(self) -> Floats | None:
        """1 where a lubricant that leads in some case does lasting harm, by cases and lubricants."""
        if self.grave is None:
            return None
        leads = np.bincount(self.leaders % (self.lubricants.size + 2), minlength=self.lubricants.size + 2)
        ever = np.nonzero(leads[: self.lubricants.size])[0]
        harm = np.zeros(self.grave.shape)
        harm[:, ever] = self.grave[:, ever]
        return harm if harm.any() else None

    def _led(self, leaders: NDArray[np.intp], weight: Floats) -> Floats:
        """The weight of the cases that nothing leads, that are in conflict, and that each lubricant leads, in a row."""
        size = self.lubricants.size
        return np.bincount(leaders % (size + 2), weights=weight, minlength=size + 2).astype(float)

    def _lead_of(self, led: Floats, harm: Floats | None) -> Lead:
        size = self.lubricants.size
        whole = float(led.sum())
        conflict, nothing = float(led[CONFLICT]), float(led[NOTHING])
        of_groups = np.bincount(self.groups, weights=led[:size], minlength=size)[self.groups]
        candidates = np.nonzero(of_groups > whole * ROUNDING)[0]
        if conflict + nothing > (1 - self.rare) * whole or not len(candidates):
            return Lead("conflict" if conflict >= nothing else "none-suitable", None, 0.0, led)
        most_led = (-led[candidates].round(9), -of_groups[candidates].round(9))
        least_harm = () if harm is None else (harm[candidates].round(9),)
        leader = int(candidates[np.lexsort((self.typical_place[candidates], *most_led, *least_harm))[0]])
        share = float(of_groups[leader]) / whole
        return Lead("settled" if share >= 1 - self.rare - ROUNDING else "depends", leader, share, led)

    @cached_property
    def typical_place(self) -> Floats:
        """The place of each lubricant by custom and heat, in the middle of all cases."""
        values = self._custom.astype(float)
        for axis, weights in enumerate(self.grid.weights):
            if values.shape[axis] > 1:
                values = np.expand_dims(np.tensordot(weights, values, (0, axis)), axis)
        return values.reshape(-1)

    @cached_property
    def safest(self) -> int | None:
        """What does least harm: what is named, else what is refused in the fewest cases; None where nothing leads.

        The leader itself, unless another is refused in fewer cases by more than a rare share of them.
        """
        leader = self.whole.leader
        if leader is None or self.is_named[leader]:
            return leader
        least = min(self.order, key=lambda at: float(self.refused_share[at].round(6)))
        return least if self.refused_share[leader] - self.refused_share[least] > self.rare else leader

    @cached_property
    def by_field(self) -> tuple[tuple[OpenField, tuple[tuple[Lead, float], ...]], ...]:
        """For each open field who leads with each of its values, and the weight of that value."""
        return tuple((field, tuple(self._within(axis, field))) for axis, field in self.cases.open)

    def _within(self, axis: int, field: OpenField) -> Iterator[tuple[Lead, float]]:
        led, harm = self._along[axis]
        for place in range(len(field.values)):
            weights = self.grid.weights_of(axis, self.cases.axes[axis].weights * (field.value_of == place))
            part = weights / self.grid.weights[axis]
            yield self._lead_of(part @ led, None if harm is None else part @ harm), float(weights.sum())

    @cached_property
    def _along(self) -> "_Along":
        return _Along(self)

    def with_weights(self, weights: Sequence[Floats], kind: str | None) -> Lead:
        """Who leads with other weights of the alternatives of each axis, in a box of some kind."""
        cells = [self.grid.weights_of(axis, of) for axis, of in enumerate(weights)]
        weight = self.grid.weight_with(cells)
        base = self.cases.base
        now = self.cases.question.box_kind
        is_other = kind != now and (is_told_apart(kind, base) or is_told_apart(now, base))
        leaders = self._leaders_by(self._by_custom(self._rows_of(kind))) if is_other else self.leaders
        harm = None if self._harm is None else weight @ self._harm
        return self._lead_of(self._led(leaders, weight), harm)

    def if_named(self, family: str) -> int | None:
        """Which lubricant leads if the service data names that family without a grade; None where nothing does.

        What refuses it only warns then; what refuses a grade, or does lasting harm, holds all the same.
        """
        question = self.cases.question.model_copy(update={"service_data": ServiceData(family=family)})
        named = Named.of(question, self.cases.base)
        place = np.array([named.place(row) for row in self.lubricants.rows], np.int32)
        members = np.nonzero(place < NOT_NAMED)[0]
        if not len(members):
            return self.whole.leader
        graves = () if named.is_vouched_for else self._graves
        kept = [item.only(members) for item in (*(self._of_grades if named.is_family_alone else ()), *graves)]
        refused = self.grid.any_of([item for item in kept if item.values.any()], len(members))
        cared = self.grid.any_of([item.only(members) for item in self._wary_if_named], len(members))
        small = self._custom[..., members] + (place[members] << NAMED_AT)
        leaders = members[self._scores(refused, cared, small).argmin(axis=1)]
        nobody = refused.all(axis=1)
        leaders[nobody] = self.leaders[nobody]
        harm = None
        if self.grave is not None:
            harm = self.grid.weight @ self.grave
            if named.is_vouched_for:
                harm[members] = 0.0
            else:
                leaders[nobody & self.grave[:, members].any(axis=1)] = CONFLICT
        return self._lead_of(self._led(leaders, self.grid.weight), harm).leader

    @cached_property
    def refused_share(self) -> Floats:
        """The share of the cases in which each lubricant is refused."""
        return self.grid.weight @ self.refused

    @cached_property
    def care_share(self) -> Floats:
        """The share of the cases in which each lubricant is not refused and needs care."""
        return self.grid.weight @ (self.cared & ~self.refused)

    @cached_property
    def verdicts(self) -> tuple[Verdict, ...]:
        """The verdict on each lubricant; what is so in rare cases only changes none."""
        found: list[Verdict] = []
        for refused, care in zip(self.refused_share.tolist(), self.care_share.tolist(), strict=True):
            if refused > 1 - self.rare - ROUNDING:
                found.append("does-not-fit")
            elif refused > self.rare + ROUNDING:
                found.append("depends")
            else:
                found.append("fits-with-care" if care > self.rare + ROUNDING else "fits")
        return tuple(found)

    @cached_property
    def order(self) -> tuple[int, ...]:
        """The lubricants that are not refused, the leader and its twins first.

        Then, while it depends, what would lead in more of the cases; then what fits, by custom.
        """
        leader, is_open = self.whole.leader, self.whole.outcome == "depends"
        group = -1 if leader is None else self.groups[leader]

        def key(index: int) -> tuple[float, ...]:
            verdict = self.verdicts[index]
            is_alike = self.groups[index] == group and (leader is None or verdict == self.verdicts[leader])
            return (
                index != leader,
                not is_alike,
                self.named_place[index],
                -float(self.whole.led[index].round(6)) if is_open else 0.0,
                FROM_BEST.index(verdict),
                float(self.refused_share[index].round(6)) if verdict == "depends" else 0.0,
                float(self.typical_place[index].round(6)),
            )

        serving = (index for index, verdict in enumerate(self.verdicts) if verdict != "does-not-fit" or index == leader)
        return tuple(sorted(serving, key=key))


class _Along:
    """For each axis, the weight of the cases that each lubricant leads in each cell, and of those it harms in."""

    def __init__(self, ranking: Ranking) -> None:
        self._ranking = ranking
        self._found: dict[int, tuple[Floats, Floats | None]] = {}

    def __getitem__(self, axis: int) -> tuple[Floats, Floats | None]:
        if axis not in self._found:
            ranking, grid = self._ranking, self._ranking.grid
            count = ranking.lubricants.size + 2
            led = grid.along(axis, ranking.leaders % count, count)
            harm = None
            if ranking._harm is not None:
                weighed = (grid.weight[:, None] * ranking._harm).reshape(*grid.shape, -1)
                harm = weighed.sum(axis=tuple(other for other in range(AXES) if other != axis))
            self._found[axis] = led, harm
        return self._found[axis]
