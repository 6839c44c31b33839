"""Mixtures against another blending rule and a root finder; leftovers against pouring litre by litre."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import brentq

from knowledge.physics import blending
from knowledge.physics.blending import blended_viscosity_mm2_s, rounds_to_share, share_left

viscosities = st.floats(0.3, 2e6)
oils = st.floats(2.5, 2000.0)
shares = st.floats(0.0, 1.0)
drained = st.floats(0.001, 1.0)


def refutas(share: float, first: float, second: float) -> float:
    """Another rule for mixtures, for shares by mass (Maples 2000): blending numbers add up."""
    numbers = [14.534 * math.log(math.log(v + 0.8)) + 10.975 for v in (first, second)]
    mean = share * numbers[0] + (1 - share) * numbers[1]
    return math.exp(math.exp((mean - 10.975) / 14.534)) - 0.8


def by_root_finding(share: float, first: float, second: float) -> float:
    """The D7152 mixture with natural logarithms, its inverse found by scipy; above 2 mm²/s, where Z is v + 0.7."""
    wanted = share * math.log(math.log(first + 0.7)) + (1 - share) * math.log(math.log(second + 0.7))
    return brentq(lambda v: math.log(math.log(v + 0.7)) - wanted, 2.0, 2e6, xtol=1e-12, rtol=1e-12)


@given(share=shares, first=oils, second=oils)
def test_a_mixture_agrees_with_the_root_of_its_equation(share, first, second):
    found = blended_viscosity_mm2_s(first_share=share, first_kv_mm2_s=first, second_kv_mm2_s=second)
    assert found == pytest.approx(by_root_finding(share, first, second), rel=1e-8)


@given(share=shares, first=st.floats(5, 500), ratio=st.floats(1, 5))
def test_another_rule_for_mixtures_comes_within_a_hundredth(share, first, ratio):
    found = blended_viscosity_mm2_s(first_share=share, first_kv_mm2_s=first, second_kv_mm2_s=first * ratio)
    assert found == pytest.approx(refutas(share, first, first * ratio), rel=0.01)


@given(share=shares, first=viscosities, second=viscosities)
def test_a_mixture_lies_between_its_components(share, first, second):
    found = blended_viscosity_mm2_s(first_share=share, first_kv_mm2_s=first, second_kv_mm2_s=second)
    assert min(first, second) <= found <= max(first, second)
    turned = blended_viscosity_mm2_s(first_share=1 - share, first_kv_mm2_s=second, second_kv_mm2_s=first)
    assert turned == pytest.approx(found, rel=2e-3)


@given(less=shares, more=shares, thin=viscosities, thick=viscosities)
def test_more_of_the_thicker_oil_never_thins_a_mixture(less, more, thin, thick):
    thin, thick = sorted((thin, thick))
    less, more = sorted((less, more))
    mixtures = [
        blended_viscosity_mm2_s(first_share=share, first_kv_mm2_s=thick, second_kv_mm2_s=thin) for share in (less, more)
    ]
    assert mixtures[0] <= mixtures[1] * (1 + 1e-12)


@given(drained=drained, rounds=st.integers(0, 20))
def test_what_is_left_is_what_pouring_round_by_round_leaves(drained, rounds):
    capacity, old = 2.0, 2.0
    for _ in range(rounds):
        old -= drained * capacity * (old / capacity)
    assert share_left(drained_share=drained, rounds=rounds) == pytest.approx(old / capacity, abs=1e-12)


@given(drained=drained, wanted=st.floats(1e-6, 0.999999))
def test_the_rounds_needed_are_the_fewest_that_do(drained, wanted):
    rounds = rounds_to_share(drained_share=drained, wanted_share=wanted)
    assert rounds >= 1
    assert share_left(drained_share=drained, rounds=rounds) <= wanted * (1 + 1e-6)
    assert share_left(drained_share=drained, rounds=rounds - 1) > wanted


@given(drained=st.floats(0.01, 1.0), pieces=st.integers(2, 10))
def test_for_the_same_litres_one_large_drain_leaves_less_than_several_small_ones(drained, pieces):
    one = share_left(drained_share=drained, rounds=1)
    several = share_left(drained_share=drained / pieces, rounds=pieces)
    assert one < several


def test_a_trickle_takes_very_many_rounds_and_not_for_ever():
    assert rounds_to_share(drained_share=1e-18, wanted_share=0.5) > 1e17
    assert blending.share_left(drained_share=1.0, rounds=1) == 0
