"""Who leads once more is known of a box: a value of a field, of two, a kind of box, or a family that its book names."""

from collections.abc import Iterable, Iterator, Sequence
from functools import cached_property
from itertools import combinations, islice

import numpy as np
from numpy.typing import NDArray

from knowledge.box.axes import OpenField
from knowledge.box.named import NOT_NAMED, Named
from knowledge.box.question import ServiceData
from knowledge.judging.columns import Floats
from knowledge.judging.grid import AXES, joint_weight
from knowledge.judging.measures import CONFLICT, NAMED_AT, REFUSED_AT, IfNamed, least
from knowledge.judging.rank import Lead, Ranking

# Who leads with some value, and the weight of that value.
Weighed = tuple[tuple[Lead, float], ...]


class LeadsIf:
    """Who leads over the cases of a ranking in which something is so that is open."""

    def __init__(self, ranking: Ranking) -> None:
        self.ranking = ranking
        self.cases = ranking.cases
        self._grid = ranking.grid
        self._known_along: dict[int, tuple[Floats, Floats]] = {}

    @cached_property
    def by_field(self) -> tuple[tuple[OpenField, Weighed], ...]:
        """For each open field who leads with each of its values."""
        values = [(axis, field.value_of, len(field.values)) for axis, field in self.cases.open]
        leads = self._leads_with_each(values)
        return tuple((field, of) for (_, field), of in zip(self.cases.open, leads, strict=True))

    def by_pair(self) -> Iterator[tuple[OpenField, OpenField, Weighed]]:
        """For each two open fields that hang together, the same for each pair of their values, those of the last next
        to each other.
        """
        pairs = [
            (axis, first, second)
            for (axis, first), (other, second) in combinations(self.cases.open, 2)
            if axis == other
        ]
        values = [
            (axis, one.value_of * len(other.values) + other.value_of, len(one.values) * len(other.values))
            for axis, one, other in pairs
        ]
        for (_, one, other), leads in zip(pairs, self._leads_with_each(values), strict=True):
            yield one, other, leads

    def _leads_with_each(self, values: Sequence[tuple[int, NDArray[np.intp], int]]) -> Iterator[Weighed]:
        """Who leads with each of some values along an axis.

        `values` are the axis, the value that each of its alternatives has, and how many there are.
        """
        weights, led_of_values, harm_of_values = [], [], []
        for axis, value_of, count in values:
            whole = self._grid.weights[axis]
            places = value_of * len(whole) + self._grid.cells[axis]
            of = np.bincount(places, weights=self.cases.axes[axis].weights, minlength=count * len(whole))
            of = of.reshape(count, -1)
            led, harm = self._along(axis)
            parts = of / whole
            led_of_values.append(parts @ led)
            harm_of_values.append(parts @ harm)
            weights.append(of.sum(axis=1).tolist())
        if not values:
            return
        leads = iter(self.ranking.leads_of(np.concatenate(led_of_values), np.concatenate(harm_of_values)))
        for of_values in weights:
            yield tuple(zip(islice(leads, len(of_values)), of_values, strict=True))

    def _along(self, axis: int) -> tuple[Floats, Floats]:
        """The weight of the cases that each lubricant leads in each cell of an axis, and of those it harms in."""
        if axis not in self._known_along:
            ranking, grid = self.ranking, self._grid
            count = ranking.lubricants.size + 2
            led = grid.along(axis, ranking.leaders % count, count)
            weighed = (grid.weight[:, None] * ranking.harm).reshape(*grid.shape, ranking.harm.shape[1])
            harm = weighed.sum(axis=tuple(other for other in range(AXES) if other != axis))
            self._known_along[axis] = led, harm
        return self._known_along[axis]

    def with_weights(self, each: Iterable[tuple[Sequence[Floats], str | None]]) -> list[Lead]:
        """Who leads with each of some other weights of the alternatives of each axis, in a box of some kind."""
        led, harm = [], []
        for weights, kind in each:
            weight = joint_weight([self._grid.weights_of(axis, of) for axis, of in enumerate(weights)])
            led.append(self.ranking.led(self._leaders_of_kind(kind), weight))
            harm.append(weight @ self.ranking.harm)
        return self.ranking.leads_of(np.array(led), np.array(harm))

    def _leaders_of_kind(self, kind: str | None) -> NDArray[np.intp]:
        custom = self.ranking.custom
        rows = custom.rows[kind]
        is_alike = rows is custom.rows[self.cases.question.box_kind]
        return self.ranking.leaders if is_alike else self.ranking.leaders_by(custom.places(self._grid, rows))

    def named(self, families: Sequence[str]) -> list[int | None]:
        """Which lubricant leads if the service data names each of some families without a grade; or None."""
        found: list[int | None] = [None] * len(families)
        rows = {at: row for at, family in enumerate(families) if (row := self._led_if_named(family))}
        if rows:
            led, harm = map(np.array, zip(*rows.values(), strict=True))
            for at, lead in zip(rows, self.ranking.leads_of(led, harm), strict=True):
                found[at] = lead.leader
        return found

    def _led_if_named(self, family: str) -> tuple[Floats, Floats] | None:
        """What leads, and what each does harm in, if a family is named; None where no class is of it."""
        question = self.cases.question.model_copy(update={"service_data": ServiceData(family=family)})
        named = Named.of(question, self.cases.base)
        place = self.ranking.places_in(named)
        members = np.nonzero(place < NOT_NAMED)[0]
        if not named.is_listed or not len(members):
            return None
        after, is_vouched_for = self._if_named, named.is_vouched_for
        small = place[members] << NAMED_AT
        measures = after.measures(members, is_of_grade_kept=named.is_family_alone, is_grave_kept=not is_vouched_for)
        leaders = members[(measures + small).argmin(axis=1)]
        nobody = measures.min(axis=1) >= 1 << REFUSED_AT
        grave = after.grave(members) & (not is_vouched_for)
        if nobody.any():
            leaders[nobody] = self._leaders_without(members, after.at[nobody])
            leaders[nobody & grave.any(axis=1)] = CONFLICT
        led, harm = self.ranking.led(leaders, after.grid.weight), self._grave_share.copy()
        harm[members] = after.grid.weight @ grave
        harm[led[: len(harm)] == 0] = 0.0
        return led, harm

    def _leaders_without(self, members: NDArray[np.intp], cells: NDArray[np.intp]) -> NDArray[np.intp]:
        """What leads in some cells of the grid if it is none of some lubricants."""
        found = self.ranking.leaders[cells]
        is_theirs = np.isin(found, members)
        if is_theirs.any():
            others = self.ranking.measures[cells[is_theirs]]
            others[:, members] = np.iinfo(np.int32).max
            found[is_theirs] = least(others)
        return found

    @cached_property
    def _if_named(self) -> IfNamed:
        return IfNamed(self.ranking.judged, self._grid, self.ranking.custom_places)

    @cached_property
    def _grave_share(self) -> Floats:
        grave = self.ranking.grave
        return np.zeros(self.ranking.lubricants.size) if grave is None else self._grid.weight @ grave
