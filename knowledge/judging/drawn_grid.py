"""Every case of a box in every draw of its figures, on a grid on which what nothing tells apart is one cell.

What changes with the draws and along an axis stands along that axis: each of its cells is an alternative in some draws.
Axes along which something changes together with the draws become one. Most draws share their cells with others.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from knowledge.box.axes import DRAWS, Axis
from knowledge.judging.columns import Floats
from knowledge.judging.grid import AXES, Grid, OnAxes, joint_weight

ONE = np.ones(1)

Places = NDArray[np.intp]


@dataclass(frozen=True, slots=True, eq=False)
class JoinedAxes:
    """Some axes as one: the cell of each of their cells in each draw, and where each of these first occurs.

    `at_first` are places along every axis, 0 along the others.
    """

    axes: tuple[int, ...]
    cell_of: Places
    at_first: tuple[Places, ...]

    @classmethod
    def of(cls, axes: tuple[int, ...], plain: Grid, undrawn: Grid, drawn: Sequence[OnAxes]) -> "JoinedAxes":
        """Axes of a plain grid as one on which these have one value in each cell, and the undrawn grid one cell."""
        along = *axes, DRAWS
        shape = tuple(plain.shape[axis] for axis in along)
        of_axes = [plain.of_cells(axis, undrawn.cells[axis]) for axis in axes]
        codes = np.ravel_multi_index(np.ix_(*of_axes), [undrawn.shape[axis] for axis in axes])[..., None]
        for item in drawn:
            ids = _ids(item.values).reshape([item.values.shape[axis] for axis in along])
            for at, axis in enumerate(along):
                places = item.places[axis]
                if ids.shape[at] > 1 and places is not None:
                    ids = ids.take(plain.of_cells(axis, places), at)
            both = codes * (int(ids.max()) + 1) + ids
            codes = np.unique(both, return_inverse=True)[1].reshape(both.shape)
        _, first, cell_of = np.unique(np.broadcast_to(codes, shape), return_index=True, return_inverse=True)
        firsts = dict(zip(along, np.unravel_index(first, shape), strict=True))
        at_first = tuple(firsts.get(axis, np.zeros_like(first)) for axis in range(AXES))
        return cls(axes, cell_of.reshape(shape), at_first)


@dataclass(frozen=True, slots=True, eq=False)
class DrawnGrid:
    """Cells over cases and draws: those of joined axes stand along the first of them, along the others there is one.

    `plain` has the cells along each axis by itself; `joined` are by the axis along which they stand.
    """

    plain: Grid
    joined: Mapping[int, JoinedAxes]

    @classmethod
    def of(cls, axes: tuple[Axis, ...], told_apart_by: Sequence[OnAxes]) -> "DrawnGrid":
        """The coarsest such grid on which all of these have one value in each cell."""
        plain = Grid.of(axes, told_apart_by)
        undrawn = Grid.of(axes, [item for item in told_apart_by if item.values.shape[DRAWS] == 1])
        drawn = [item for item in told_apart_by if item.values.shape[DRAWS] > 1]
        joined = {}
        for together in _joined([_changes_along(item) for item in drawn]):
            of_these = [item for item in drawn if _is_within(item, together)]
            place = together[0] if together else DRAWS
            joined[place] = JoinedAxes.of(together, plain, undrawn, of_these)
        return cls(plain, joined)

    @property
    def shape(self) -> tuple[int, ...]:
        """How many cells there are along each axis."""
        return tuple(len(self.joined[axis].at_first[axis]) if axis in self.joined else 1 for axis in range(AXES))

    def weights_in(self, draw: int, of_alternatives: Sequence[Floats]) -> list[Floats]:
        """The weights of the cells along each axis in one draw, from those of the alternatives of each axis in it."""
        found = [ONE] * AXES
        for place, joined in self.joined.items():
            weight = joint_weight([self.plain.weights_of(axis, of_alternatives[axis]) for axis in joined.axes])
            cells = joined.cell_of[..., self.plain.cells[DRAWS][draw]].ravel()
            found[place] = np.bincount(cells, weight, len(joined.at_first[place])).astype(float)
        return found

    def spread(self, item: OnAxes) -> Any:
        """Values with an entry for each cell along each axis that they change along."""
        values = item.values
        index = [np.zeros((1,) * AXES, np.intp)] * AXES
        for place, joined in self.joined.items():
            for axis in (*joined.axes, DRAWS):
                is_here = axis != DRAWS or _is_within(item, joined.axes)
                places = item.places[axis]
                if values.shape[axis] > 1 and is_here and places is not None:
                    of_cells = self.plain.of_cells(axis, places)[joined.at_first[axis]]
                    index[axis] = of_cells.reshape([-1 if other == place else 1 for other in range(AXES)])
        return values[tuple(index)]


def _changes_along(item: OnAxes) -> tuple[int, ...]:
    """The axes along which values change, but for the draws."""
    return tuple(axis for axis, size in enumerate(item.values.shape[:-1]) if size > 1 and axis != DRAWS)


def _is_within(item: OnAxes, axes: tuple[int, ...]) -> bool:
    """Whether values change along some of these axes and no others, or along none as these are none."""
    along = _changes_along(item)
    return set(along) <= set(axes) if along else not axes


def _joined(groups: Sequence[tuple[int, ...]]) -> list[tuple[int, ...]]:
    """The axes, those that are in one group together, and none for what changes along no axis."""
    found = [{axis} for axis in range(AXES) if axis != DRAWS]
    for group in groups:
        met = [one for one in found if one & set(group)]
        if met:
            found = [one for one in found if one not in met] + [set.union(*met)]
    return [(), *(tuple(sorted(one)) for one in found)]


def _ids(values: NDArray[Any]) -> Places:
    """A number for each different row of the last axis."""
    rows = values.reshape(-1, values.shape[-1])
    if rows.dtype == bool:
        rows = np.packbits(rows, axis=1)
    as_bytes = np.ascontiguousarray(rows).view(np.uint8)
    words = np.zeros((len(rows), -(-as_bytes.shape[1] // 8) * 8), np.uint8)
    words[:, : as_bytes.shape[1]] = as_bytes
    ids = np.zeros(len(rows), np.intp)
    for word in words.view(np.uint64).T:
        of_word = np.unique(word, return_inverse=True)[1]
        ids = np.unique(ids * (int(of_word.max()) + 1) + of_word, return_inverse=True)[1]
    return ids.reshape(values.shape[:-1])
