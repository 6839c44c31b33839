"""The grid of cells that nothing tells apart comes to the same as every alternative of every axis tried by itself."""

from itertools import product
from math import prod

import numpy as np
import pytest

from knowledge.box.axes import DRAWS, FIELDS_OF_AXES, Axis
from knowledge.judging.drawn_grid import DrawnGrid
from knowledge.judging.grid import AXES, Grid, OnAxes, joint_weight, weighed

LUBRICANTS = 3


def some_axes(draw: np.random.Generator) -> tuple[Axis, ...]:
    """Axes of a few alternatives each, with weights."""
    found = []
    for fields in FIELDS_OF_AXES:
        size = int(draw.integers(1, 5))
        weights = draw.random(size) + 0.01
        found.append(Axis(fields, tuple((at,) for at in range(size)), weights / weights.sum(), ()))
    return tuple(found)


def some_flags(draw: np.random.Generator, axes: tuple[Axis, ...]) -> OnAxes:
    """Flags that follow from one or two axes, with fewer values than those have alternatives."""
    shape, places = [1] * AXES, [None] * AXES
    for axis in draw.choice(AXES, 2, replace=False).tolist():
        count = int(draw.integers(1, axes[axis].size + 1))
        places[axis] = np.concatenate([np.arange(count), draw.integers(0, count, axes[axis].size - count)])
        shape[axis] = count
    return OnAxes.of(draw.random((*shape, LUBRICANTS)) < 0.3, tuple(places))


def at(item: OnAxes, case: tuple[int, ...]) -> np.ndarray:
    """The values for one alternative of each axis."""
    places = zip(case, item.places, item.values.shape, strict=False)
    return item.values[tuple(of[one] if of is not None and size > 1 else 0 for one, of, size in places)]


@pytest.mark.parametrize("seed", range(15))
def test_a_share_over_the_cells_is_that_over_every_alternative(seed) -> None:
    draw = np.random.default_rng(seed)
    axes = some_axes(draw)
    items = [some_flags(draw, axes) for _ in range(4)]
    grid = Grid.of(axes, items)
    assert prod(grid.shape) <= prod(axis.size for axis in axes)
    assert grid.weight.sum() == pytest.approx(1)
    found = grid.any_of(items, LUBRICANTS)
    numbers = found @ (1 << np.arange(LUBRICANTS))
    whole, along = np.zeros(LUBRICANTS), [np.zeros((size, 1 << LUBRICANTS)) for size in grid.shape]
    for case in product(*(range(axis.size) for axis in axes)):
        weight = prod(axis.weights[one] for axis, one in zip(axes, case, strict=True))
        flags = np.any([at(item, case) for item in items], axis=0)
        cell = tuple(cells[one] for cells, one in zip(grid.cells, case, strict=True))
        assert (found[np.ravel_multi_index(cell, grid.shape)] == flags).all()
        whole += weight * flags
        for axis, one in enumerate(cell):
            along[axis][one, flags @ (1 << np.arange(LUBRICANTS))] += weight
    assert grid.weight @ found == pytest.approx(whole)
    for axis in range(AXES):
        assert grid.along(axis, numbers, 1 << LUBRICANTS) == pytest.approx(along[axis])


@pytest.mark.parametrize("seed", range(5))
def test_a_weighted_sum_over_axes_is_the_plain_one(seed) -> None:
    draw = np.random.default_rng(seed)
    shape = draw.integers(1, 4, AXES)
    values, weights = draw.random((*shape, LUBRICANTS)), [draw.random(size) for size in shape]
    plain = np.zeros(LUBRICANTS)
    for case in product(*map(range, shape)):
        plain += prod(weights[axis][one] for axis, one in enumerate(case)) * values[case]
    assert weighed(values, weights) == pytest.approx(plain)


@pytest.mark.parametrize("seed", range(15))
def test_in_each_draw_a_share_over_the_cells_is_that_over_every_alternative(seed) -> None:
    draw = np.random.default_rng(seed)
    axes = some_axes(draw)
    items = [some_flags(draw, axes) for _ in range(5)]
    grid = DrawnGrid.of(axes, items)
    found = [np.broadcast_to(grid.spread(item), (*grid.shape, LUBRICANTS)).reshape(-1, LUBRICANTS) for item in items]
    sizes = [axis.size for axis in axes]
    for one in range(sizes[DRAWS]):
        weights = [draw.random(size) for size in sizes]
        weight = joint_weight(grid.weights_in(one, weights))
        cases = product(*(range(size) if axis != DRAWS else [one] for axis, size in enumerate(sizes)))
        whole = np.zeros((len(items), LUBRICANTS))
        for case in cases:
            whole += prod(weights[axis][place] for axis, place in enumerate(case) if axis != DRAWS) * np.array(
                [at(item, case) for item in items]
            )
        assert np.array([weight @ flags for flags in found]) == pytest.approx(whole)
