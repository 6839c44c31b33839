"""Cones against force balances, integrals over the face, and what the trade knows."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad

from knowledge.physics.cone import (
    cone_torque_nm,
    contact_pressure_n_mm2,
    face_area_mm2,
    index_torque_nm,
    least_friction_to_block,
    locking_friction,
    mean_radius_mm,
    pull_off_force_n,
    sliding_speed_m_s,
    taper_gap_mm,
)
from knowledge.physics.limits import OutOfRange

forces = st.floats(10, 3000)
angles = st.floats(4, 15)
radii = st.lists(st.floats(15, 80), min_size=1, max_size=3)
frictions = st.floats(0.02, 0.3)
chamfers = st.fixed_dictionaries({"chamfer_included_deg": st.floats(90, 130), "chamfer_friction": st.floats(0.0, 0.2)})


def torque(force=600.0, angle=6.5, radii=(32.0,), friction=0.1):
    """Cone torque with one friction for all cones."""
    return cone_torque_nm(
        axial_force_n=force, half_angle_deg=angle, mean_radii_mm=radii, frictions=[friction] * len(radii)
    )


def force_and_torque_by_integration(pressure, outer, width, angle_deg, friction):
    """Axial force [N] and torque [N·mm] of a pressure over the radius [N/mm²], ring by ring along the face."""
    sine = math.sin(math.radians(angle_deg))
    inner = outer - width * sine

    def ring_area(radius):
        return 2 * math.pi * radius / sine

    force, _ = quad(lambda radius: pressure(radius) * sine * ring_area(radius), inner, outer)
    moment, _ = quad(lambda radius: friction * pressure(radius) * radius * ring_area(radius), inner, outer)
    return force, moment


@pytest.mark.parametrize(("outer", "width", "angle"), [(34, 8, 6.5), (60, 14, 10), (175, 65, 7.5)])
@pytest.mark.parametrize(("pressure", "tolerance"), [(lambda radius: 50.0 / radius, 1e-9), (lambda radius: 1.0, 1e-3)])
def test_torque_agrees_with_the_integral_over_the_face(outer, width, angle, pressure, tolerance):
    # exact when wear has settled (pressure falls with the radius), within a thousandth for even pressure
    force, moment = force_and_torque_by_integration(pressure, outer, width, angle, friction=0.1)
    radius = mean_radius_mm(outer_radius_mm=outer, face_width_mm=width, half_angle_deg=angle)
    assert torque(force, angle, [radius]) * 1000 == pytest.approx(moment, rel=tolerance)


@given(force=forces, chamfer=chamfers, radius=st.floats(20, 80))
def test_index_torque_agrees_with_the_force_balance_at_the_chamfers(force, chamfer, radius):
    flank = math.radians(chamfer["chamfer_included_deg"] / 2)
    normal, along = np.array([math.sin(flank), math.cos(flank)]), np.array([math.cos(flank), -math.sin(flank)])
    contact = normal + chamfer["chamfer_friction"] * along  # axial and tangential part for each newton of normal force
    axial_part, tangential_part = contact
    found = index_torque_nm(axial_force_n=force, spline_radius_mm=radius, **chamfer)
    assert found == pytest.approx(force / axial_part * tangential_part * radius / 1000, rel=1e-12)


@given(force=forces, angle=angles, radii=radii, chamfer=chamfers, share=st.floats(0.5, 1.5))
def test_ring_blocks_exactly_when_it_has_more_than_the_least_friction(force, angle, radii, chamfer, share):
    least = least_friction_to_block(mean_radii_mm=radii, half_angle_deg=angle, spline_radius_mm=38, **chamfer)
    index = index_torque_nm(axial_force_n=force, spline_radius_mm=38, **chamfer)
    assert torque(force, angle, radii, least) == pytest.approx(index, rel=1e-9)
    if abs(share - 1) > 1e-6:
        assert (torque(force, angle, radii, least * share) > index) == (share > 1)


@given(force=forces, angle=angles, friction=st.floats(0.05, 0.4))
def test_ring_has_to_be_pulled_exactly_when_static_friction_exceeds_the_tangent(force, angle, friction):
    pull = pull_off_force_n(axial_force_n=force, half_angle_deg=angle, static_friction=friction)
    if abs(friction / locking_friction(half_angle_deg=angle) - 1) > 1e-6:
        assert (pull > 0) == (friction > locking_friction(half_angle_deg=angle))


def test_pull_off_leaves_no_axial_force_on_the_ring():
    pull = pull_off_force_n(axial_force_n=600, half_angle_deg=6.5, static_friction=0.14)
    angle, normal = math.radians(6.5), 600 / math.sin(math.radians(6.5))
    assert normal * math.sin(angle) + pull == pytest.approx(0.14 * normal * math.cos(angle))


@given(force=forces, angle=angles, radii=radii, friction=frictions, times=st.floats(1.1, 5))
def test_torque_is_linear_in_force_and_in_friction(force, angle, radii, friction, times):
    once = torque(force, angle, radii, friction)
    assert torque(force * times, angle, radii, friction) == pytest.approx(once * times, rel=1e-12)
    if friction * times <= 1:
        assert torque(force, angle, radii, friction * times) == pytest.approx(once * times, rel=1e-12)


@given(force=forces, angle=angles, radii=radii, friction=frictions)
def test_cones_in_series_add_up(force, angle, radii, friction):
    alone = sum(torque(force, angle, [radius], friction) for radius in radii)
    assert torque(force, angle, radii, friction) == pytest.approx(alone, rel=1e-12)


@given(force=forces, angle=angles, radius=st.floats(20, 60), width=st.floats(4, 15))
def test_pressure_over_the_face_carries_the_axial_force(force, angle, radius, width):
    cone = {"mean_radius_mm": radius, "face_width_mm": width}
    pressure = contact_pressure_n_mm2(axial_force_n=force, half_angle_deg=angle, **cone)
    sine = math.sin(math.radians(angle))
    large, small = radius + width * sine / 2, radius - width * sine / 2
    mantle = math.pi * (large + small) * width
    assert face_area_mm2(mean_radii_mm=[radius], face_width_mm=width) == pytest.approx(mantle, rel=1e-12)
    assert pressure * math.pi * (large**2 - small**2) == pytest.approx(force, rel=1e-9)  # area seen along the axis


def test_sliding_speed_is_the_circumference_in_the_time_of_one_turn():
    assert sliding_speed_m_s(mean_radius_mm=32, speed_difference_rpm=60) == pytest.approx(2 * math.pi * 0.032)


# Common practice, no source: a set with two working surfaces on a smaller diameter, 14 % more surface in all, grips
# harder than the larger plain ring.
def test_double_surface_ring_of_smaller_diameter_out_grips_a_larger_plain_one():
    plain, double = [40.0], [25.0, 20.6]
    area = [face_area_mm2(mean_radii_mm=cones, face_width_mm=8) for cones in (plain, double)]
    assert max(double) < max(plain)
    assert area[1] / area[0] == pytest.approx(1.14, abs=0.005)
    assert torque(radii=double) / torque(radii=plain) == pytest.approx(1.14, abs=0.005)


# Common practice, no source: at the same outside diameter of the ring, the larger cone under it grips harder, and is
# loaded less.
@given(radius=st.floats(20, 50), larger=st.floats(1.01, 1.3), force=forces)
def test_larger_cone_at_the_same_force_grips_harder_on_less_pressure(radius, larger, force):
    assert torque(force, radii=[radius * larger]) > torque(force, radii=[radius])
    pressed = [
        contact_pressure_n_mm2(axial_force_n=force, half_angle_deg=6.5, mean_radius_mm=size, face_width_mm=8)
        for size in (radius, radius * larger)
    ]
    assert pressed[1] < pressed[0]


# A slippery fluid lowers the friction of a sound ring from 0.10 to 0.07 (assumed): it grips on, but no longer blocks.
def test_slippery_fluid_turns_a_blocking_ring_into_one_that_clashes():
    ring = {"mean_radii_mm": [32], "half_angle_deg": 6.5}
    least = least_friction_to_block(**ring, spline_radius_mm=38, chamfer_included_deg=110, chamfer_friction=0.09)
    assert 0.07 < least < 0.10


CONE = {"axial_force_n": 600.0, "half_angle_deg": 6.5}
SLEEVE = {"spline_radius_mm": 38.0, "chamfer_included_deg": 110.0, "chamfer_friction": 0.09}


def test_a_cone_that_would_end_in_a_point_is_refused():
    pointed = 34 / math.sin(math.radians(6.5))
    assert mean_radius_mm(outer_radius_mm=34, face_width_mm=pointed * 0.999, half_angle_deg=6.5) > 17
    with pytest.raises(OutOfRange, match=r"^radius of the small end .* mm is out of range: above 0 mm"):
        mean_radius_mm(outer_radius_mm=34, face_width_mm=pointed * 1.001, half_angle_deg=6.5)


@pytest.mark.parametrize("count", [0, 4])
def test_only_one_to_three_cones_are_taken(count):
    with pytest.raises(OutOfRange, match=rf"^number of cones {count} is out of range: 1 to 3\.$"):
        face_area_mm2(mean_radii_mm=[30.0] * count, face_width_mm=8)


@pytest.mark.parametrize("count", [0, 1, 3])
def test_every_cone_needs_its_own_friction(count):
    with pytest.raises(OutOfRange, match=rf"^number of frictions {count} is out of range: 2 to 2\.$"):
        cone_torque_nm(**CONE, mean_radii_mm=[34.0, 29.0], frictions=[0.1] * count)


@pytest.mark.parametrize("included", [60.0, 90.0, 110.0, 130.0])
def test_chamfers_lock_where_friction_reaches_the_cotangent(included):
    edge = 1 / math.tan(math.radians(included / 2))
    sleeve = {"axial_force_n": 600, "spline_radius_mm": 38, "chamfer_included_deg": included}
    assert index_torque_nm(**sleeve, chamfer_friction=edge * (1 - 1e-9)) > 0
    with pytest.raises(OutOfRange, match="chamfer friction") as refusal:
        index_torque_nm(**sleeve, chamfer_friction=edge * (1 + 1e-9))
    assert (refusal.value.low, refusal.value.high, refusal.value.unit) == (0, pytest.approx(edge), "")


@pytest.mark.parametrize("bad", [-1e-9, math.nan, math.inf, -math.inf])
def test_chamfers_have_no_friction_below_zero(bad):
    with pytest.raises(OutOfRange, match=r"^chamfer friction") as refusal:
        index_torque_nm(axial_force_n=600, **SLEEVE | {"chamfer_friction": bad})
    assert refusal.value.value is bad


@given(ring=angles, cone=angles, width=st.floats(4, 20))
def test_taper_gap_is_where_the_ring_face_ends_above_the_cone_face(ring, cone, width):
    # turn the cone face into the x axis: the ring face leaves it at the angle between the two and is met square to it
    between = math.radians(ring) - math.radians(cone)
    ring_end = (width, width * math.sin(between) / math.cos(between))
    found = taper_gap_mm(ring_half_angle_deg=ring, cone_half_angle_deg=cone, face_width_mm=width)
    assert found == pytest.approx(abs(ring_end[1]), abs=1e-12)
    assert found == taper_gap_mm(ring_half_angle_deg=cone, cone_half_angle_deg=ring, face_width_mm=width)


@pytest.mark.parametrize(("angle", "percent"), [(7, 7.7), (8, 22.9)])
def test_a_slimmer_cone_than_the_ring_was_made_for_grips_harder_on_paper(angle, percent):
    made, found = (
        cone_torque_nm(axial_force_n=600, half_angle_deg=a, mean_radii_mm=[32], frictions=[0.1]) for a in (angle, 6.5)
    )
    assert (found / made - 1) * 100 == pytest.approx(percent, abs=0.05)
