"""Bearing viscosity: the shape of the ISO 281 equations; values are in tests/golden/bearing.toml."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from knowledge.physics.bearing import reference_viscosity_mm2_s


@given(speed=st.floats(10, 20000), diameter=st.floats(10, 500), faster_by=st.floats(1.001, 5))
def test_faster_bearings_need_thinner_oil(speed, diameter, faster_by):
    slow = reference_viscosity_mm2_s(speed_rpm=speed, pitch_diameter_mm=diameter)
    assert reference_viscosity_mm2_s(speed_rpm=speed * faster_by, pitch_diameter_mm=diameter) < slow


# 45000·1000^-0.83 over 4500·1000^-0.5 is 10^0.01 = 1.0233, by hand.
def test_branches_step_down_by_2_3_percent_at_1000():
    below = reference_viscosity_mm2_s(speed_rpm=999.999999, pitch_diameter_mm=55)
    assert below / reference_viscosity_mm2_s(speed_rpm=1000, pitch_diameter_mm=55) == pytest.approx(1.0233, rel=1e-4)


@given(diameter=st.floats(10, 500), speed=st.floats(10, 20000))
def test_four_times_the_diameter_halves_the_viscosity_needed(diameter, speed):
    small = reference_viscosity_mm2_s(speed_rpm=speed, pitch_diameter_mm=diameter)
    assert reference_viscosity_mm2_s(speed_rpm=speed, pitch_diameter_mm=4 * diameter) == pytest.approx(small / 2)


def test_of_many_bearings_each_has_its_own_viscosity():
    speeds = np.array([200.0, 999.0, 1000.0, 5000.0])
    found = reference_viscosity_mm2_s(speed_rpm=speeds, pitch_diameter_mm=55)
    alone = [reference_viscosity_mm2_s(speed_rpm=speed, pitch_diameter_mm=55) for speed in speeds.tolist()]
    assert found.tolist() == pytest.approx(alone, rel=1e-12)
