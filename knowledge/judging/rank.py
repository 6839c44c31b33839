"""Who leads: in each case the usual fill among what nothing refuses, and over all cases who leads in most of them."""

from collections.abc import Callable, Sequence
from functools import cached_property
from typing import Literal, NamedTuple

import numpy as np
from numpy.typing import NDArray

from knowledge.box.named import NOT_NAMED, Named
from knowledge.judging.column_rule import CAUTIONS, EXCLUDES
from knowledge.judging.columns import Flags, Floats
from knowledge.judging.custom import Custom
from knowledge.judging.grid import AXES, Grid, OnAxes, joint_weight
from knowledge.judging.judge import Judged
from knowledge.judging.measures import CONFLICT, NAMED_AT, NOTHING, hindrances, least
from knowledge.judging.rules import RULES
from knowledge.parts.lubricant_name import Verdict

# Care that the order tells apart by degrees, among custom.
STATED_HEAT = next(place for place, rule in enumerate(RULES) if rule.id == "a-stated-sump-must-be-borne-for-long")
OTHER_CARE = np.arange(len(RULES)) != STATED_HEAT

ROUNDING = 1e-9

# Of a box with nothing left open they say nothing.
SHARES = RARE, ONLY_THE_BOOK = "rare-share-below", "only-the-book-from"

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
    """The order of judged lubricants; custom may be that of the same box under other figures."""

    def __init__(self, judged: Judged, region: str | None = None, custom_of: "Ranking | None" = None) -> None:
        self.judged = judged
        self.cases = judged.cases
        self.lubricants = judged.lubricants
        self.region = region
        self.custom: Custom = Custom(judged, region, custom_of.custom if custom_of else None)
        self.rare = judged.cases.base.limit(RARE)

    @cached_property
    def named_place(self) -> NDArray[np.int32]:
        """The place of each lubricant among what is named; NOT_NAMED for the others."""
        return self.places_in(self.cases.named)

    def places_in(self, named: Named) -> NDArray[np.int32]:
        """The same among what something else names."""
        if not named.pairs:
            return np.full(self.lubricants.size, NOT_NAMED, np.int32)
        return np.array([named.place(row) for row in self.lubricants.rows], np.int32)

    @cached_property
    def is_named(self) -> Flags:
        """Whether each lubricant is what is named, or of a family that is named alone."""
        return self.named_place < NOT_NAMED

    @property
    def groups(self) -> NDArray[np.intp]:
        """For each lubricant a number that it shares with those that do the same work at its grade."""
        return self.lubricants.groups

    @cached_property
    def refusals(self) -> list[OnAxes]:
        """Where a rule refuses which lubricants, for each rule that does."""
        return self.judged.where("refused")

    @cached_property
    def cares(self) -> list[OnAxes]:
        """Where a rule wants care with which, for each that does, but for a stated heat."""
        return self.judged.where("cared", but=STATED_HEAT)

    @cached_property
    def graves(self) -> list[OnAxes]:
        """Where a rule refuses which for what does lasting harm, for each that does."""
        return self.judged.where("grave")

    @cached_property
    def custom_places(self) -> NDArray[np.int32]:
        """The place of each lubricant by custom and heat, over the axes of the grid along which it changes."""
        return self.custom.places(self.grid, self.custom.rows[self.cases.question.box_kind])

    @cached_property
    def grid(self) -> Grid:
        """The cases that anything tells apart."""
        if self.judged.single:
            return Grid.of_one_cell(self.cases.axes)
        return Grid.of(self.cases.axes, [*self.refusals, *self.graves, *self.cares, *self.custom.on_axes()])

    @cached_property
    def refused(self) -> Flags:
        """Whether each lubricant is refused, by cases and lubricants."""
        if single := self.judged.single:
            return np.any(single.effects == EXCLUDES, axis=0, keepdims=True)
        return self.grid.any_of(self.refusals, self.lubricants.size)

    @cached_property
    def cared(self) -> Flags:
        """Whether each lubricant needs care, but for a stated heat, by cases and lubricants."""
        if single := self.judged.single:
            return np.any(single.effects[OTHER_CARE] == CAUTIONS, axis=0, keepdims=True)
        return self.grid.any_of(self.cares, self.lubricants.size)

    @cached_property
    def grave(self) -> Flags | None:
        """Whether each lubricant is refused for what does lasting harm; None where none ever is."""
        if single := self.judged.single:
            return np.any(single.is_grave & (single.effects == EXCLUDES), axis=0, keepdims=True)
        return self.grid.any_of(self.graves, self.lubricants.size) if self.graves else None

    @cached_property
    def leaders(self) -> NDArray[np.intp]:
        """The lubricant that leads in each case; NOTHING where all are refused, CONFLICT where the named one is."""
        return self.leaders_by(self.custom_places)

    def leaders_by(self, custom: NDArray[np.int32]) -> NDArray[np.intp]:
        """The same by other places of custom."""
        found, named = least(self._measures_by(custom)), self.is_named
        if self.grave is not None and named.any():
            found[(self.refused | ~named).all(axis=1) & self.grave[:, named].any(axis=1)] = CONFLICT
        return found

    @cached_property
    def measures(self) -> NDArray[np.int32]:
        """The measures of each lubricant in each case: the least leads."""
        return self._measures_by(self.custom_places)

    def _measures_by(self, custom: NDArray[np.int32]) -> NDArray[np.int32]:
        small = custom + (self.named_place << NAMED_AT) if self.is_named.any() else custom
        shape = *self.grid.shape, self.lubricants.size
        return (self._hindrances.reshape(shape) + small).reshape(-1, shape[-1])

    @cached_property
    def _hindrances(self) -> NDArray[np.int32]:
        return hindrances(self.refused, self.cared)

    @cached_property
    def whole(self) -> Lead:
        """Who leads over all cases."""
        if self.judged.single:
            return self._lead_of_one(int(self.leaders[0]))
        led, harm = self.led(self.leaders, self.grid.weight), self.grid.weight @ self.harm
        return self.leads_of(led[None], harm[None])[0]

    def _lead_of_one(self, leader: int) -> Lead:
        """Who leads where there is one case."""
        led = np.zeros(self.lubricants.size + 2)
        led[leader] = 1.0
        if leader in (NOTHING, CONFLICT):
            return Lead("conflict" if leader == CONFLICT else "none-suitable", None, 0.0, led)
        return Lead("settled", leader, 1.0, led)

    @cached_property
    def _harmful(self) -> NDArray[np.intp]:
        """The lubricants that lead in some case and do lasting harm in some."""
        if self.grave is None:
            return np.zeros(0, np.intp)
        led = self.led(self.leaders, np.ones(len(self.leaders)))
        return np.nonzero((led[: self.lubricants.size] > 0) & self.grave.any(axis=0))[0]

    @cached_property
    def harm(self) -> Floats:
        """1 where each of the harmful does lasting harm, by cases."""
        return np.zeros((len(self.leaders), 0)) if self.grave is None else self.grave[:, self._harmful].astype(float)

    def led(self, leaders: NDArray[np.intp], weight: Floats) -> Floats:
        """The weight of the cases that nothing leads, that are in conflict, and that each lubricant leads, in a row."""
        size = self.lubricants.size
        return np.bincount(leaders % (size + 2), weights=weight, minlength=size + 2).astype(float)

    def within(self, weights: Sequence[Floats]) -> Lead:
        """Who leads over some cases as if no others had been tried; `weights` are those of cells along each axis."""
        kept = [np.nonzero(along)[0] for along in weights]
        left = [along[cells] for along, cells in zip(weights, kept, strict=True)]
        cells = np.ravel_multi_index(np.ix_(*kept), self.grid.shape).ravel()
        weight = joint_weight(left)
        led, harm = self.led(self.leaders[cells], weight), np.zeros(self.lubricants.size)
        if self.grave is not None:
            grave = self.grave[cells]
            harmful = (led[: len(harm)] > 0) & grave.any(axis=0)
            harm[harmful] = weight @ grave[:, harmful]

        def typical_place(_: int) -> Floats:
            custom = self.custom_places
            for axis in sorted(range(AXES), key=lambda axis: len(kept[axis]) / custom.shape[axis]):
                custom = custom.take(kept[axis], axis) if custom.shape[axis] > 1 else custom
            return typical(custom, left)

        return self.leads_of(led[None], harm[None], typical_place)[0]

    def leads_of(
        self,
        led: Floats,
        harm: Floats,
        typical_place: Callable[[int], Floats] | None = None,
        limit: Callable[[str], Floats | float] | None = None,
    ) -> list[Lead]:
        """Who leads in each row of what lubricants lead of some cases, and do harm in: all, or the harmful.

        `typical_place` has the places in a row, for where nothing else tells lubricants apart, and `limit` the
        thresholds of all rows or each; left out, those of all cases and of the knowledge hold.
        """
        rare, only_the_book = (np.broadcast_to((limit or self.cases.base.limit)(id), len(led)) for id in SHARES)
        size = self.lubricants.size
        of_groups = led[:, :size] @ self._is_same_group
        wholes = led.sum(axis=1)
        keys = [-of_groups.round(9), -led[:, :size].round(9)]
        if harm.shape[1]:
            of_all = np.zeros(of_groups.shape)
            of_all[:, self._harmful if harm.shape[1] < size else slice(None)] = harm.round(9)
            keys.insert(0, of_all)
        is_candidate = of_groups > wholes[:, None] * ROUNDING
        has_candidates = is_candidate.any(axis=1).tolist()
        for key in keys:
            key = np.where(is_candidate, key, np.inf)
            is_candidate &= key == key.min(axis=1, keepdims=True)
        for row in np.nonzero(is_candidate.sum(axis=1) > 1)[0].tolist():
            place = np.where(is_candidate[row], typical_place(row) if typical_place else self.typical_place, np.inf)
            is_candidate[row] = place == place.min()
        leaders: list[int] = is_candidate.argmax(axis=1).tolist()
        found = []
        for row, (whole, leader, conflict, nothing) in enumerate(
            zip(wholes.tolist(), leaders, led[:, CONFLICT].tolist(), led[:, NOTHING].tolist(), strict=True)
        ):
            if conflict + nothing >= only_the_book[row] * whole or not has_candidates[row]:
                found.append(Lead("conflict" if conflict >= nothing else "none-suitable", None, 0.0, led[row]))
                continue
            share = float(of_groups[row, leader]) / whole
            is_settled = bool(share >= 1 - rare[row] - ROUNDING)
            found.append(Lead("settled" if is_settled else "depends", leader, share, led[row]))
        return found

    @cached_property
    def _is_same_group(self) -> Floats:
        return (self.groups == self.groups[:, None]).astype(float)

    @cached_property
    def typical_place(self) -> Floats:
        """The place of each lubricant by custom and heat, in the middle of all cases."""
        return typical(self.custom_places, self.grid.weights)

    @cached_property
    def safest(self) -> int | None:
        """What does least harm: what is named, else the first that is refused in hardly more cases than any other.

        What is named is refused where it does lasting harm only. None where nothing leads.
        """
        if self.whole.leader is None:
            return None
        least = min(float(self.refused_share[at]) for at in self.order)
        return next(at for at in self.order if self.refused_share[at] - least <= self.rare + ROUNDING)

    @cached_property
    def refused_share(self) -> Floats:
        """The share of the cases in which each lubricant is refused."""
        return self._share_of(self.refused)

    @cached_property
    def care_share(self) -> Floats:
        """The share of the cases in which each lubricant is not refused and needs care."""
        single = self.judged.single
        is_too_hot = (single.effects[STATED_HEAT] if single else self.judged.worst_of(STATED_HEAT)) == CAUTIONS
        return self._share_of((self.cared | is_too_hot) & ~self.refused)

    def _share_of(self, flags: Flags) -> Floats:
        """The share of the cases in which something is so of each lubricant."""
        return flags[0].astype(float) if self.judged.single else self.grid.weight @ flags

    @cached_property
    def _kinds_of_twins(self) -> list[tuple[int, Verdict, bool]]:
        is_wary = self._share_of(self.cared) > self.rare + ROUNDING
        return list(zip(self.groups.tolist(), self.verdicts, is_wary.tolist(), strict=True))

    def is_twin(self, index: int, other: int) -> bool:
        """Whether two lubricants do the same work at one grade, and with the same care."""
        return self._kinds_of_twins[index] == self._kinds_of_twins[other]

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
        led, refused, typical = (
            found.round(6).tolist() for found in (self.whole.led, self.refused_share, self.typical_place)
        )

        def key(index: int) -> tuple[float, ...]:
            verdict = self.verdicts[index]
            return (
                index != leader,
                leader is None or not self.is_twin(index, leader),
                self.named_place[index],
                -led[index] if is_open else 0.0,
                FROM_BEST.index(verdict),
                refused[index] if verdict == "depends" else 0.0,
                typical[index],
            )

        serving = (index for index, verdict in enumerate(self.verdicts) if verdict != "does-not-fit" or index == leader)
        return tuple(sorted(serving, key=key))


def typical(custom: NDArray[np.int32], weights: Sequence[Floats]) -> Floats:
    """The weighed place of each lubricant; an axis along which places do not change has one entry, or one of each."""
    values = custom.astype(float)
    for axis, along in enumerate(weights):
        if values.shape[axis] > 1:
            values = np.expand_dims(np.tensordot(along, values, (0, axis)), axis)
    return values.reshape(-1)
