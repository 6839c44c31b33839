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
    """Common practice, no source: the same ring and gap, only the crests are flat and the grooves shallow."""
    cold = {**SHIFT, "facing": "bronze", "fluid": "gl-4-75w-90", "start_c": -20, "speed_difference_rpm": 800}
    cold |= {"direction": "up"}
    new, worn = ask(**cold, condition="new"), ask(**cold, condition="worn")
    assert new.wiping_time_s < BASE.limit("wiping-time-hard-from")
    assert worn.wiping_time_s is None
    assert "needs over 250 ms" in finding(worn, "film-must-be-wiped-before-the-ring-grips").text
    assert worn.verdict == "fits-with-care"
    assert "film" in worn.summary


def test_a_ring_of_unknown_angle_is_taken_to_fit_the_cone_that_was_measured() -> None:
    found = ask(**SHIFT, facing="bronze", cone_half_angle_deg=7.0)
    assert found.facings[0].half_angle_deg == 7.0
    assert finding(found, "ring-and-cone-must-share-their-angle").effect == "supports"
    assert any(item.pointer == "/half_angle_deg" and "cone" in item.reason for item in found.question.assumed)


def test_drag_of_warm_oil_grows_in_the_cold_until_it_wins_a_downshift() -> None:
    """igf-16458, abstract: losses go with operating viscosity; an upshift is helped by it (naunheimer-2011)."""
    stated = {**SHIFT, "facing": "bronze", "fluid": "gl-4-80w-90", "drag_nm": 1.5}
    (warm, cold), (warm_up, cold_up) = (
        [ask(**{**stated, "direction": direction, "start_c": start_c}) for start_c in (90, -25)]
        for direction in ("down", "up")
    )
    assert cold.sync_time_s is None
    assert "oil of -25 °C" in finding(cold, "drag-must-not-outweigh-the-cones").text
    assert finding(cold, "drag-must-not-outweigh-the-cones").effect == "cautions"
    assert warm_up.sync_time_s < warm.sync_time_s
    assert cold_up.sync_time_s < warm_up.sync_time_s


def test_common_practice_no_ring_is_refused_for_what_only_cold_oil_does() -> None:
    """Common practice, no source: a stiff first shift condemns no ring, and one overworked warm stays refused."""
    order = ("fits", "fits-with-care", "does-not-fit")
    for facing in ("bronze", "molybdenum", "sintered", "paper", "carbon"):
        for speed in (400, 1500, 4000):
            stated = {
                **SHIFT,
                "facing": facing,
                "fluid": "mtf-75w-80",
                "direction": "down",
                "speed_difference_rpm": speed,
            }
            warm, *colder = (ask(**{**stated, "start_c": start_c}).verdict for start_c in (90, 0, -20, -35))
            refused = [verdict == "does-not-fit" for verdict in (warm, *colder)]
            assert len(set(refused)) == 1, (facing, speed)
            assert all(order.index(verdict) >= order.index(warm) for verdict in colder), (facing, speed)
