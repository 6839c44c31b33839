"""Custom over the cases of a box: the row of it that holds in each, and the place of each lubricant by it."""

from collections.abc import Iterable
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from knowledge.box.axes import DRAWS, DUTY
from knowledge.box.weights import kinds_to_reply
from knowledge.judging.drawn_grid import DrawnGrid
from knowledge.judging.grid import AXES, Grid, OnAxes
from knowledge.judging.judge import Judged
from knowledge.judging.rules import RULES
from knowledge.judging.usual import (
    AXES_OF_CUSTOM,
    FACTS_OF_CUSTOM,
    CustomOrder,
    custom_order,
    custom_order_of_classes,
    is_told_apart,
    usual_rows,
)

FIRST_SHIFTS = next(place for place, rule in enumerate(RULES) if rule.id == "cold-first-shifts-need-the-film-wiped")
SURELY_HARD = ("surely-hard", "not-computable")

# A place by custom stands in the lowest bits of the measures of a lubricant, above it the heat it does not bear.
CUSTOM_BITS, HEAT_BITS = 10, 7
HEAT_AT = CUSTOM_BITS


class Custom:
    """What is usual for the cases of a box, or for the same box under other figures."""

    def __init__(self, judged: Judged, region: str | None, custom_of: "Custom | None") -> None:
        self.judged = judged
        self.cases = judged.cases
        self.lubricants = judged.lubricants
        self.region = region
        self._same_as = custom_of

    def on_axes(self) -> Iterable[OnAxes]:
        """All that tells cases apart."""
        return self.heat, *([self.hard] if self.hard else []), *self.rows.values()

    @cached_property
    def rows(self) -> dict[str | None, OnAxes]:
        """The row of custom in each case, in a box of its kind, and of classes of each kind that may be replied."""
        kind, base = self.cases.question.box_kind, self.cases.base
        if self._same_as:
            return self._same_as.rows
        rows = {kind: self._rows_of(kind)}
        if self.judged.of_classes and not self.judged.single:
            is_apart = is_told_apart(kind, base)
            for reply in kinds_to_reply(kind, base):
                rows[reply] = self._rows_of(reply) if is_apart or is_told_apart(reply, base) else rows[kind]
        return rows

    def _rows_of(self, kind: str | None) -> OnAxes:
        rows = usual_rows(self.cases, kind)
        shape = [1] * (AXES + 1)
        places: list[NDArray[np.intp] | None] = [None] * AXES
        for axis, fact, size in zip(AXES_OF_CUSTOM, FACTS_OF_CUSTOM, rows.shape, strict=True):
            shape[axis], places[axis] = size, self.cases.fact(fact).value_of
        return OnAxes.of(rows.reshape(shape), tuple(places))

    def places(self, grid: Grid | DrawnGrid, rows: OnAxes) -> NDArray[np.int32]:
        """The place of each lubricant by custom, over the cells of a grid, where some rows hold.

        Where first shifts with the first choice are surely hard, the next thinner grade stands before it.
        """
        if self.judged.single:
            return self._places_in_one(int(rows.values.item())).reshape(*grid.shape, -1)
        row, order = grid.spread(rows)[..., 0], self.order
        heat = self._heat_beyond_first(grid, row) << HEAT_AT if self.heat.values.any() else 0
        if self.hard is None:
            return order.usual[row] + heat
        first, hard = order.first[row][..., None], grid.spread(self.hard)
        shape = np.broadcast_shapes(row.shape, hard.shape[:-1])
        of_first = np.take_along_axis(
            np.broadcast_to(hard, (*shape, self.lubricants.size)), np.broadcast_to(first, (*shape, 1)), axis=-1
        )
        is_hard = (of_first & (first >= 0))[..., 0]
        return order.usual_and_colder[row + len(order.usual) * is_hard] + heat

    def _places_in_one(self, row: int) -> NDArray[np.int32]:
        """The place of each lubricant by custom where there is one case."""
        order, excess = self.order, self.heat.values.reshape(-1)
        first = int(order.first[row])
        is_hard = self.judged.outcomes.of_rules[FIRST_SHIFTS].has_any(SURELY_HARD)
        is_colder = first >= 0 and is_hard[self.judged.only_outcome(FIRST_SHIFTS, first)[0]]
        found = order.colder[row] if is_colder else order.usual[row]
        if not excess.any():
            return found
        of_first = excess[first] if first >= 0 else 0
        heat = np.where(order.is_kin[row], excess, np.maximum(excess, of_first))
        return found + (heat.astype(np.int32) << HEAT_AT)

    def _heat_beyond_first(self, grid: Grid | DrawnGrid, row: NDArray[np.intp]) -> NDArray[np.int32]:
        """How far the sump is beyond what each lubricant bears; leaving the family of the first choice gains none."""
        order, excess = self.order, grid.spread(self.heat)
        first = order.first[row][..., None]
        shape = *np.broadcast_shapes(row.shape, excess.shape[:-1]), self.lubricants.size
        of_first = np.take_along_axis(np.broadcast_to(excess, shape), np.broadcast_to(first, (*shape[:-1], 1)), axis=-1)
        found = np.where(order.is_kin[row], excess, np.maximum(excess, np.where(first >= 0, of_first, 0)))
        return found.astype(np.int32)

    @cached_property
    def order(self) -> CustomOrder:
        """The place of each lubricant in the order of each row of custom."""
        base = self.cases.base
        if self._same_as:
            return self._same_as.order
        if self.judged.of_classes:
            return custom_order_of_classes(base, self.region)
        used = {row for of in self.rows.values() for row in of.values.ravel().tolist()}
        return custom_order(self.lubricants.rows, base, self.region, used)

    @cached_property
    def hard(self) -> OnAxes | None:
        """Where the first shifts are surely hard with a first choice that then gives way; None where they never are."""
        order, column = self.order, self.judged.column(FIRST_SHIFTS)
        rows = np.unique(np.concatenate([of.values.ravel() for of in self.rows.values()]))
        gives_way = np.zeros(self.lubricants.size + 1, bool)
        gives_way[order.first[rows[order.gives_way[rows]]]] = True
        is_hard = gives_way[:-1] & column.outcomes.has_any(SURELY_HARD)[column.code]
        return OnAxes.of(is_hard, column.places) if is_hard.any() else None

    @cached_property
    def heat(self) -> OnAxes:
        """How far a stated sump is beyond what each lubricant bears for long [°C]."""
        if self.cases.question.sump_hot_c is None:
            return OnAxes(np.zeros((1,) * (AXES + 1), np.int32), (None,) * AXES)
        _, stated_c, value_of = self.cases.fact("sump_hot_c")
        beyond = np.array(stated_c)[:, None, None] - self.lubricants.long_sump_c
        # fmax takes the number where no heat is known that an oil bears.
        excess = np.fmin(np.fmax(beyond, 0), 2**HEAT_BITS - 1).astype(np.int32)
        places: list[NDArray[np.intp] | None] = [None] * AXES
        places[DUTY], places[DRAWS] = value_of, np.arange(self.cases.axes[DRAWS].size)
        return OnAxes.of(excess.reshape(*(1,) * DUTY, len(stated_c), -1, self.lubricants.size), tuple(places))
