"""Masks over axes of unequal weights fold into the weights that counting case by case gives."""

from itertools import product
from math import prod

import numpy as np
import pytest
from knowledge.judging.fold import Escape, Mask, weighed

from knowledge.box.axes import FIELDS_OF_AXES, Axis

LUBRICANTS = 3
SIZES = (5, 1, 2, 3, 4)


def axes(chance: np.random.Generator) -> tuple[Axis, ...]:
    """Axes whose alternatives weigh differently."""
    return tuple(
        Axis(fields, ((),) * size, chance.integers(1, 6, size).astype(float), ())
        for fields, size in zip(FIELDS_OF_AXES, SIZES, strict=True)
    )


def mask(chance: np.random.Generator) -> Mask:
    """A mask that changes along some axes, with fewer entries than alternatives."""
    entries = [int(chance.integers(1, size + 1)) if chance.random() < 0.6 else 1 for size in SIZES]
    places = tuple(
        None if entry == 1 else chance.permutation(np.arange(size) % entry)
        for entry, size in zip(entries, SIZES, strict=True)
    )
    return Mask(chance.random((*entries, int(chance.choice([1, LUBRICANTS])))) < 0.3, places)


def holds(one: Mask, case: tuple[int, ...], lubricant: int) -> bool:
    """Whether a mask holds in a case."""
    at = tuple(0 if places is None else int(places[place]) for places, place in zip(one.places, case, strict=True))
    return bool(one.flags[at][lubricant if one.flags.shape[-1] > 1 else 0])


@pytest.mark.parametrize("seed", range(12))
def test_what_no_mask_holds_weighs_what_its_cases_weigh(seed: int) -> None:
    chance = np.random.default_rng(seed)
    along = axes(chance)
    masks = tuple(mask(chance) for _ in range(seed % 4))
    escape = Escape(along, masks, LUBRICANTS)
    cases = list(product(*map(range, SIZES)))
    weight = {case: prod(axis.weights[place] for axis, place in zip(along, case, strict=True)) for case in cases}
    free = {(case, one) for case in cases for one in range(LUBRICANTS) if not any(holds(m, case, one) for m in masks)}
    everything = range(LUBRICANTS)
    assert escape.weight == pytest.approx(
        [sum(weight[case] for case in cases if (case, one) in free) for one in everything]
    )
    for place, axis in enumerate(along):
        here = [[case for case in cases if case[place] == value] for value in range(axis.size)]
        assert escape.weight_along(place) == pytest.approx(
            np.array(
                [[sum(weight[case] for case in some if (case, one) in free) for one in everything] for some in here]
            )
            / axis.weights[:, None]
        )
        assert escape.any_share_along(place) == pytest.approx(
            [
                sum(weight[case] for case in some if any((case, one) in free for one in everything))
                / sum(weight[case] for case in some)
                for some in here
            ]
        )
        for one in masks:
            found = np.broadcast_to(one.any_along(place), (axis.size, one.flags.shape[-1]))
            for value, some in enumerate(here):
                for lubricant in range(one.flags.shape[-1]):
                    assert found[value, lubricant] == any(holds(one, case, lubricant) for case in some)


def test_a_weighted_sum_leaves_the_axis_that_is_kept_and_the_last() -> None:
    chance = np.random.default_rng(0)
    values, weights = chance.random((2, 3, 4, 5)), [chance.random(size) for size in (2, 3, 4)]
    expected = np.einsum("abcl,a,c->bl", values, weights[0], weights[2])
    assert weighed(values, weights, 1) == pytest.approx(expected)
    assert weighed(values, weights, None)[0] == pytest.approx(weights[1] @ expected)
