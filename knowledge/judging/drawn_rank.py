"""Who leads a box in each draw of its figures: the order of `rank.py` over cases and draws at once."""

from collections.abc import Iterator, Sequence
from functools import cached_property, reduce
from typing import Any

import numpy as np
from numpy.typing import NDArray

from knowledge.box.axes import DRAWS
from knowledge.box.drawn_cases import DrawnCases
from knowledge.judging.columns import Flags, Floats
from knowledge.judging.custom import HEAT_AT
from knowledge.judging.drawn_grid import DrawnGrid
from knowledge.judging.grid import OnAxes, joint_weight
from knowledge.judging.measures import CARE_AT, CONFLICT, NAMED_AT, NOTHING, REFUSED_AT
from knowledge.judging.rank import Lead, Ranking, typical

Bits = NDArray[np.int32]

CELLS_AT_ONCE = 100_000


class DrawnRanking:
    """The lead in each draw, from a ranking of the box in all of them."""

    def __init__(self, ranking: Ranking, cases: DrawnCases, draws: int) -> None:
        self._ranking = ranking
        self._custom = ranking.custom
        self._axes = cases.axes
        self._size = ranking.lubricants.size
        self._draws = draws
        self._weights = cases.weights()
        self._limit = cases.limit
        self._rows = ranking.custom.rows[cases.question.box_kind]

    def leads(self) -> list[Lead]:
        """The lead in each draw."""
        leaders, led = self._leaders.ravel(), []
        for draw in range(self._draws):
            weights = self._grid.weights_in(draw, self._of_draw(draw))
            kept = [np.nonzero(along)[0] for along in weights]
            left = [along[cells] for along, cells in zip(weights, kept, strict=True)]
            cells = np.ravel_multi_index(np.ix_(*kept), self._grid.shape).ravel()
            led.append(self._ranking.led(leaders[cells], joint_weight(left)))
        harm = [self._harm(draw, of) for draw, of in enumerate(led)]
        return self._ranking.leads_of(np.array(led), np.array(harm), self._typical, self._limit)

    def _of_draw(self, draw: int) -> Sequence[Floats]:
        return [along[draw % len(along)] for along in self._weights]

    @cached_property
    def _grid(self) -> DrawnGrid:
        ranking = self._ranking
        graves = ranking.graves if ranking.is_named.any() else []
        return DrawnGrid.of(self._axes, [*ranking.refusals, *ranking.cares, *graves, self._rows, *self._custom_items])

    @property
    def _custom_items(self) -> list[OnAxes]:
        return [self._custom.heat, *([self._custom.hard] if self._custom.hard else [])]

    @cached_property
    def _leaders(self) -> NDArray[np.intp]:
        """The lubricant that leads in each cell, as `Ranking.leaders`.

        One lubricant after another is held against the best so far, since few of its measures follow from all axes,
        and over few cells at a time, so that they stay in the processor's cache.
        """
        ranking, shape = self._ranking, self._grid.shape
        found, is_named_refused = np.full(shape, NOTHING), np.ones(shape, bool)
        named, step = ranking.is_named.tolist(), max(1, CELLS_AT_ONCE * shape[0] // found.size)
        for start in range(0, shape[0], step):
            here = slice(start, start + step)
            best = np.full(found[here].shape, 1 << REFUSED_AT, np.int32)
            for at, parts in enumerate(self._measures(here)):
                measures = _joint(parts)
                if measures is not None:
                    np.copyto(found[here], at, where=measures < best)
                    np.minimum(best, measures, out=best)
                    if named[at]:
                        is_named_refused[here] &= measures >= 1 << REFUSED_AT
        if ranking.graves and any(named):
            is_grave = reduce(np.logical_or, map(self._grid.spread, ranking.graves))
            found[is_named_refused & is_grave[..., ranking.is_named].any(axis=-1)] = CONFLICT
        return found

    @cached_property
    def _flags(self) -> list[Bits]:
        """Refusals and cares as bits of the measures, lubricants first; those of the same axes are one array."""
        found: dict[tuple[int, ...], Bits] = {}
        for items, bit in ((self._ranking.refusals, REFUSED_AT), (self._ranking.cares, CARE_AT)):
            for item in items:
                values = self._grid.spread(item).astype(np.int32) << bit
                values = np.moveaxis(np.broadcast_to(values, (*values.shape[:-1], self._size)), -1, 0)
                found[values.shape] = found[values.shape] | values if values.shape in found else values
        return list(found.values())

    @cached_property
    def _spread(self) -> tuple[Bits, NDArray[np.intp], Flags]:
        """Heat as bits of the measures, the row of custom, and where its first choice is surely hard to shift."""
        grid, custom = self._grid, self._custom
        row = grid.spread(self._rows)[..., 0]
        hard = np.zeros((1,) * row.ndim, bool)
        if custom.hard is not None:
            hard = self._of_first(grid.spread(custom.hard), custom.order.first[row])
        return grid.spread(custom.heat).astype(np.int32) << HEAT_AT, row, hard

    def _measures(self, here: slice) -> Iterator[list[Bits]]:
        """The measures of each lubricant in some cells of the first axis, in parts that make one number together.

        Each part changes along the axes that it follows from.
        """
        order = self._custom.order
        excess, row, hard = (of[here] if len(of) > 1 else of for of in self._spread)
        flags = [of[:, here] if of.shape[1] > 1 else of for of in self._flags]
        places, place_of = order.usual_and_colder, row + len(order.usual) * hard
        of_first = self._of_first(excess, order.first[row]) if excess.any() else None
        named = (self._ranking.named_place << NAMED_AT).reshape(-1, *(1,) * row.ndim)
        for at in range(self._size):
            parts = [*(of[at] for of in flags), places[:, at][place_of], named[at]]
            if of_first is not None:
                is_other = ~order.is_kin[:, at][row]
                parts.append(np.maximum(excess[..., at], of_first * is_other) if is_other.any() else excess[..., at])
            yield parts

    def _of_first(self, values: NDArray[Any], first: NDArray[np.intp]) -> NDArray[Any]:
        """The values of what custom names first in each cell; none where it names nothing."""
        shape = np.broadcast_shapes(first.shape, values.shape[:-1])
        found = np.take_along_axis(
            np.broadcast_to(values, (*shape, self._size)), np.broadcast_to(first[..., None], (*shape, 1)), axis=-1
        )[..., 0]
        return found * (first >= 0)

    @cached_property
    def _graves(self) -> tuple[DrawnGrid, Flags]:
        grid = DrawnGrid.of(self._axes, self._ranking.graves)
        found = reduce(np.logical_or, map(grid.spread, self._ranking.graves))
        return grid, np.broadcast_to(found, (*grid.shape, self._size)).reshape(-1, self._size)

    def _harm(self, draw: int, led: Floats) -> Floats:
        """In how much of the cases each lubricant that leads in some does lasting harm."""
        harm = np.zeros(self._size)
        if self._ranking.graves:
            grid, grave = self._graves
            harmful = (led[: self._size] > 0) & grave.any(axis=0)
            if harmful.any():
                harm[harmful] = joint_weight(grid.weights_in(draw, self._of_draw(draw))) @ grave[:, harmful]
        return harm

    @cached_property
    def _places(self) -> tuple[DrawnGrid, Bits]:
        grid = DrawnGrid.of(self._axes, [self._rows, *self._custom_items])
        return grid, self._custom.places(grid, self._rows)

    def _typical(self, draw: int) -> Floats:
        """The place of each lubricant by custom and heat, in the middle of all cases."""
        grid, places = self._places
        return typical(places, grid.weights_in(draw, self._of_draw(draw)))


def _joint(parts: list[Bits]) -> Bits | None:
    """The measures of a lubricant from their parts; None where it is refused everywhere, whatever is drawn."""
    still = reduce(np.bitwise_or, sorted((part for part in parts if part.shape[DRAWS] == 1), key=np.size))
    if still.min() >= 1 << REFUSED_AT:
        return None
    return reduce(np.bitwise_or, sorted((part for part in parts if part.shape[DRAWS] > 1), key=np.size), still)
