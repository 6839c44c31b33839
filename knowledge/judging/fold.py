"""Masks over the axes of a box folded into weights: in how much of all cases does none of them hold?"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property, reduce
from operator import or_

import numpy as np
from numpy.typing import NDArray

from knowledge.box.axes import FIELDS_OF_AXES, RINGS, Axis
from knowledge.judging.columns import Flags, Floats

Places = tuple[NDArray[np.intp] | None, ...]

AXES = range(len(FIELDS_OF_AXES))
OTHER_AXES = tuple(tuple(other for other in AXES if other != axis) for axis in AXES)


@dataclass(frozen=True, slots=True)
class Mask:
    """Where something holds, over all axes and the lubricants; `places` say which entry each alternative has."""

    flags: Flags
    places: Places

    def any_along(self, axis: int) -> Flags:
        """Whether it holds in any case with an alternative, of shape (alternatives or 1, lubricants)."""
        found: Flags = np.logical_or.reduce(self.flags, axis=OTHER_AXES[axis])
        places = self.places[axis]
        return found if len(found) == 1 or places is None else found[places]


@dataclass(frozen=True)
class Escape:
    """The cases in which none of some masks holds.

    Along each axis the alternatives that differ in none of the masks are one cell, which weighs what they weigh.
    """

    axes: tuple[Axis, ...]
    masks: tuple[Mask, ...]
    lubricants: int

    @cached_property
    def _cells(self) -> tuple[tuple[NDArray[np.intp], Floats], ...]:
        """For each axis the cell of each alternative, and the weight of each cell."""
        return tuple(_cells_along(place, axis, self.masks) for place, axis in enumerate(self.axes))

    @cached_property
    def is_free(self) -> Flags:
        """Whether no mask holds, by the cells of each axis and the lubricants."""
        taken = [_in_cells(mask, self._cells) for mask in self.masks]
        held = reduce(or_, taken, np.zeros((1,) * len(self.axes) + (self.lubricants,), bool))
        return ~held

    @cached_property
    def weight(self) -> Floats:
        """The weight of the free cases of each lubricant."""
        return weighed(self._over_rings, (None, *self._weights[1:]), None)[0]

    def weight_along(self, axis: int) -> Floats:
        """The same for each alternative of an axis, without its own weight; shape (alternatives, lubricants)."""
        if axis == RINGS:
            found = weighed(self.is_free.astype(float), self._weights, axis)
        else:
            found = weighed(self._over_rings, (None, *self._weights[1:]), axis)
        return self._by_alternative(found, axis)

    def any_share_along(self, axis: int) -> Floats:
        """For each alternative of an axis, the share of its cases that are free for any lubricant."""
        shares = [weights / weights.sum() for weights in self._weights]
        is_any = self.is_free.any(axis=-1, keepdims=True).astype(float)
        return self._by_alternative(weighed(is_any, shares, axis), axis)[:, 0]

    def _by_alternative(self, found: Floats, axis: int) -> Floats:
        size = self.axes[axis].size
        return np.repeat(found, size, axis=0) if len(found) == 1 else found[self._cells[axis][0]]

    @cached_property
    def _over_rings(self) -> Floats:
        """The weights of the free cases summed over the largest axis, which most sums share."""
        weights = self._weights[RINGS]
        free = self.is_free.reshape(len(weights), -1).astype(float)
        return (weights @ free).reshape((1, *self.is_free.shape[1:]))

    @cached_property
    def _weights(self) -> list[Floats]:
        return [
            weights if size > 1 else weights.sum(keepdims=True)
            for (_, weights), size in zip(self._cells, self.is_free.shape, strict=False)
        ]


def _cells_along(place: int, axis: Axis, masks: Sequence[Mask]) -> tuple[NDArray[np.intp], Floats]:
    distinct = {id(mask.places[place]): mask.places[place] for mask in masks if mask.flags.shape[place] > 1}
    cells = np.zeros(axis.size, np.intp)
    for places in distinct.values():
        assert places is not None, "a mask that changes along an axis has places on it"
        cells = np.unique(cells * (int(places.max()) + 1) + places, return_inverse=True)[1]
    return cells, np.bincount(cells, weights=axis.weights).astype(float)


def _in_cells(mask: Mask, cells: Sequence[tuple[NDArray[np.intp], Floats]]) -> Flags:
    """A mask with an entry for each cell along each axis that it changes along."""
    flags = mask.flags
    for axis, (cell_of, weights) in enumerate(cells):
        places = mask.places[axis]
        if flags.shape[axis] > 1 and places is not None:
            place_of_cell = np.empty(len(weights), np.intp)
            place_of_cell[cell_of] = places
            if len(place_of_cell) != flags.shape[axis] or (place_of_cell != np.arange(len(place_of_cell))).any():
                flags = flags.take(place_of_cell, axis)
    return flags


def weighed(values: Floats, weights: Sequence[Floats | None], keep: int | None) -> Floats:
    """A weighted sum over every axis but one and the last, of shape (entries of that axis or 1, last).

    Axes without weights are summed already. Each is summed where it lies, so that nothing large is copied.
    """
    sizes, front = values.shape, 1
    for axis, along in enumerate(weights):
        if axis == keep:
            front = sizes[axis]
        elif along is not None:
            values = along @ values.reshape(front, sizes[axis], -1)
    return values.reshape(front, sizes[-1])
