"""Every case of a box on a grid: along each axis, the alternatives that nothing tells apart are one cell."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property, reduce
from typing import Any

import numpy as np
from numpy.typing import NDArray

from knowledge.box.axes import FIELDS_OF_AXES, Axis
from knowledge.judging.columns import Flags, Floats

Places = tuple[NDArray[np.intp] | None, ...]

AXES = len(FIELDS_OF_AXES)

ONE_CELL = np.zeros(1, np.intp)


@dataclass(frozen=True, slots=True)
class OnAxes:
    """Values over all axes and the lubricants; `places` say which entry each alternative of an axis has."""

    values: Any
    places: Places

    @classmethod
    def of(cls, values: Any, places: Places) -> "OnAxes":
        """With one entry for those along an axis that are alike in everything."""
        along = list(places)
        for axis in range(AXES):
            if values.shape[axis] > 1:
                entries = values.swapaxes(axis, 0)
                different: dict[bytes, int] = {}
                alike = [different.setdefault(entry.tobytes(), len(different)) for entry in entries]
                if len(different) < len(alike):
                    firsts = [alike.index(entry) for entry in range(len(different))]
                    values = values.take(firsts, axis)
                    of = along[axis]
                    along[axis] = None if of is None or len(different) == 1 else np.array(alike)[of]
        return cls(values, tuple(along))


@dataclass(frozen=True, eq=False)
class Grid:
    """The cells along each axis: which one each alternative is in, and what each weighs; all weigh 1 together."""

    axes: tuple[Axis, ...]
    cells: tuple[NDArray[np.intp], ...]
    weights: tuple[Floats, ...]

    @classmethod
    def of(cls, axes: tuple[Axis, ...], told_apart_by: Sequence[OnAxes]) -> "Grid":
        """The coarsest grid on which all of these have one value in each cell."""
        cells = tuple(_cells(place, axis, told_apart_by) for place, axis in enumerate(axes))
        pairs = zip(cells, axes, strict=True)
        weights = tuple(np.bincount(of, weights=axis.weights).astype(float) for of, axis in pairs)
        return cls(axes, cells, weights)

    @classmethod
    def of_one_cell(cls, axes: tuple[Axis, ...]) -> "Grid":
        """The grid of the only case, which has one alternative along each axis."""
        return cls(axes, (ONE_CELL,) * AXES, tuple(axis.weights for axis in axes))

    def refined(self, told_apart_by: Sequence[OnAxes]) -> tuple["Grid", NDArray[np.intp]]:
        """The coarsest finer grid on which these have one value in each cell too, and the old cell of each, flat."""
        finer = Grid.of(self.axes, [*self._as_items(), *told_apart_by])
        if finer.shape == self.shape:
            return self, np.arange(len(self.weight))
        of_cells = (finer.of_cells(axis, cells) for axis, cells in enumerate(self.cells))
        return finer, np.ravel_multi_index(np.ix_(*of_cells), self.shape).ravel()

    def of_cells(self, axis: int, of_alternatives: NDArray[np.intp]) -> NDArray[np.intp]:
        """For each cell of an axis what all of its alternatives have."""
        found = np.empty(len(self.weights[axis]), np.intp)
        found[self.cells[axis]] = of_alternatives
        return found

    def _as_items(self) -> Iterator[OnAxes]:
        """Values that tell its own cells apart."""
        for axis, size in enumerate(self.shape):
            if size > 1:
                shape = [size if other == axis else 1 for other in range(AXES)]
                places = [self.cells[axis] if other == axis else None for other in range(AXES)]
                yield OnAxes(np.arange(size).reshape(*shape, 1), tuple(places))

    @property
    def shape(self) -> tuple[int, ...]:
        """How many cells there are along each axis."""
        return tuple(len(weights) for weights in self.weights)

    @cached_property
    def weight(self) -> Floats:
        """The weight of each cell of the grid, flat."""
        return joint_weight(self.weights)

    def weights_of(self, axis: int, of_alternatives: Floats) -> Floats:
        """The weights of the cells of an axis from those of its alternatives."""
        return np.bincount(self.cells[axis], weights=of_alternatives, minlength=len(self.weights[axis])).astype(float)

    def spread(self, item: OnAxes) -> Any:
        """Values with an entry for each cell along each axis that they change along."""
        values = item.values
        for axis, places in enumerate(item.places):
            if values.shape[axis] > 1 and places is not None:
                values = values.take(self.of_cells(axis, places), axis)
        return values

    def any_along(self, items: Sequence[OnAxes]) -> Flags:
        """Where any of some flags holds, with an entry for each cell along each axis that any of them changes along."""
        # What holds along few axes is gathered before it is spread over all of them.
        nowhere = np.zeros((1,) * (AXES + 1), bool)
        found: Flags = reduce(np.logical_or, sorted(map(self.spread, items), key=np.size), nowhere)
        return found

    def any_of(self, items: Sequence[OnAxes], lubricants: int) -> Flags:
        """Where any of some flags holds, of shape (cells of the grid, lubricants)."""
        return np.broadcast_to(self.any_along(items), (*self.shape, lubricants)).reshape(-1, lubricants)

    def along(self, axis: int, of_cells: NDArray[np.intp], count: int) -> Floats:
        """How much of what each cell of an axis weighs has each number below `count`, of shape (cells, numbers)."""
        size = len(self.weights[axis])
        place = np.broadcast_to(
            np.arange(size).reshape([-1 if other == axis else 1 for other in range(AXES)]), self.shape
        ).ravel()
        found = np.bincount(place * count + of_cells, weights=self.weight, minlength=size * count)
        return found.reshape(size, count).astype(float)


def joint_weight(weights: Sequence[Floats]) -> Floats:
    """The weight of each combination of cells of some axes, flat."""
    found: Floats = reduce(np.multiply.outer, weights, np.ones(())).ravel()
    return found


def _cells(place: int, axis: Axis, items: Sequence[OnAxes]) -> NDArray[np.intp]:
    distinct: dict[bytes, NDArray[np.intp]] = {}
    for item in items:
        if item.values.shape[place] > 1:
            places = item.places[place]
            assert places is not None, "what changes along an axis has places on it"
            distinct.setdefault(places.tobytes(), places)
    # Axes are short, so that sorting tuples takes less than np.unique.
    told = list(zip(*(places.tolist() for places in distinct.values()), strict=True)) or [()] * axis.size
    cell_of = {entries: cell for cell, entries in enumerate(sorted(set(told)))}
    return np.array([cell_of[entries] for entries in told])


def weighed(values: Floats, weights: Sequence[Floats | None]) -> Floats:
    """A weighted sum over every axis but the last. Axes without weights have one entry."""
    for size, along in zip(values.shape, weights, strict=False):
        values = values.reshape(size, -1)
        values = values[0] if along is None else along @ values
    return values
