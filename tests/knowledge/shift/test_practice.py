"""What the trade knows of rings, on the real figures; common practice, no published source."""

import pytest

from tests.knowledge.shift.asked import BASE, SHIFT, ask, finding


def test_common_practice_a_smaller_double_ring_out_grips_a_larger_plain_one() -> None:
    """Common practice, no source: a double set with about 14 % more working surface, each cone smaller."""
    plain = {**SHIFT, "facing": "sintered", "mean_radius_mm": 36, "face_width_mm": 9, "spline_radius_mm": 42}
    width = 1.14 * 36 * 9 / (30 + 27)
    double = {**plain, "cones": 2, "mean_radius_mm": [30, 27], "face_width_mm": width}
    assert ask(**double).cone_torque_nm > 1.4 * ask(**plain).cone_torque_nm
    assert ask(**double).blocking_reserve > ask(**plain).blocking_reserve
    assert ask(**double).power_mean_w_mm2 / ask(**plain).power_mean_w_mm2 == pytest.approx(9 / width, rel=1e-3)


def test_common_practice_a_larger_cone_within_the_same_sleeve_grips_harder() -> None:
    """Common practice, no source."""
    small, large = (
        ask(**SHIFT, facing="bronze", spline_radius_mm=40, mean_radius_mm=radius) for radius in (32.0, 35.0)
    )
    assert large.cone_torque_nm > small.cone_torque_nm
    assert large.blocking_reserve > small.blocking_reserve
    assert large.index_torque_nm == small.index_torque_nm


def test_common_practice_flattened_crests_cannot_cut_a_cold_film() -> None:
    """Common practice, no source: the same ring and gap, only the crests are flat; time goes with width cubed."""
    cold = {**SHIFT, "facing": "bronze", "fluid": "gl-4-80w-90", "start_c": -15, "speed_difference_rpm": 800}
    new, worn = ask(**cold, condition="new"), ask(**cold, condition="worn")
    assert worn.wiping_time_s == pytest.approx(27 * new.wiping_time_s, rel=0.01)
    assert worn.wiping_time_s > BASE.limit("wiping-time-baulk-from") > new.wiping_time_s
    assert worn.verdict == "fits-with-care"
    assert "film" in worn.summary


def test_a_ring_of_unknown_angle_is_taken_to_fit_the_cone_that_was_measured() -> None:
    found = ask(**SHIFT, facing="bronze", cone_half_angle_deg=7.0)
    assert found.facings[0].half_angle_deg == 7.0
    assert finding(found, "ring-and-cone-must-share-their-angle").effect == "supports"
    assert any(item.pointer == "/half_angle_deg" and "cone" in item.reason for item in found.question.assumed)
