"""Synchronizing against the integrated motion of the whole gear train, and against energy and momentum."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from knowledge.physics.cone import cone_torque_nm
from knowledge.physics.limits import OutOfRange
from knowledge.physics.synchronizing import (
    NeverSynchronizes,
    reduced_inertia_kg_m2,
    synchronization,
)

RAD_S = 2 * math.pi / 60
SHIFT = {"inertia_kg_m2": 0.010, "speed_difference_rpm": 1500.0, "cone_torque_nm": 16.961, "drag_nm": 1.5}
TRAIN = {
    "gear_inertia_kg_m2": 0.0008,
    "layshaft_inertia_kg_m2": 0.0022,
    "input_inertia_kg_m2": 0.0046,
    "ratio_constant": 1.6,
    "ratio_gear": 0.9,
}
shifts = st.fixed_dictionaries(
    {
        "inertia_kg_m2": st.floats(1e-3, 0.2),
        "speed_difference_rpm": st.floats(50, 4000),
        "cone_torque_nm": st.floats(2, 100),
        "drag_nm": st.floats(0, 1.9),
        "upshift": st.booleans(),
    }
)


def shift_by_ode(train, difference_rpm, cone_torque, drag, upshift):
    """Time [s], heat in the cones [J] and work of the drag [J], followed at the input shaft until the speeds meet."""
    to_input = train["ratio_constant"] * train["ratio_gear"]
    inertia = train["input_inertia_kg_m2"] + train["layshaft_inertia_kg_m2"] / train["ratio_constant"] ** 2
    inertia += train["gear_inertia_kg_m2"] / to_input**2
    sense = -1 if upshift else 1

    def slip(state):
        return abs(state[0]) / to_input

    def motion(_, state):
        push = (sense * cone_torque - drag) / to_input  # the cones pull the wheel to its shaft, drag always slows it
        return [push / inertia, cone_torque * slip(state), drag * slip(state)]

    def met(_, state):
        return state[0]

    met.terminal = True
    start = -sense * difference_rpm * RAD_S * to_input
    run = solve_ivp(motion, (0, 60), [start, 0, 0], events=met, rtol=1e-10, atol=1e-10)
    return run.t_events[0][0], *run.y_events[0][0][1:]


@pytest.mark.parametrize("upshift", [True, False])
@pytest.mark.parametrize(
    ("difference", "cone_torque", "drag"), [(1500, 16.961, 1.5), (400, 8.0, 0.0), (2200, 30.0, 12.0)]
)
def test_shift_agrees_with_the_integrated_motion_of_the_gear_train(difference, cone_torque, drag, upshift):
    time_s, heat, _ = shift_by_ode(TRAIN, difference, cone_torque, drag, upshift)
    found = synchronization(
        inertia_kg_m2=reduced_inertia_kg_m2(**TRAIN),
        speed_difference_rpm=difference,
        cone_torque_nm=cone_torque,
        drag_nm=drag,
        upshift=upshift,
    )
    assert found.time_s == pytest.approx(time_s, rel=1e-7)
    assert found.energy_j == pytest.approx(heat, rel=1e-7)
    assert found.mean_power_w == pytest.approx(heat / time_s, rel=1e-7)
    assert found.peak_power_w == pytest.approx(cone_torque * difference * RAD_S, rel=1e-12)


@given(shift=shifts)
def test_cone_heat_and_drag_work_balance_the_motion(shift):
    found = synchronization(**shift)
    difference = shift["speed_difference_rpm"] * RAD_S
    drag_work = shift["drag_nm"] * 0.5 * difference * found.time_s
    motion = 0.5 * shift["inertia_kg_m2"] * difference**2
    helped = drag_work if shift["upshift"] else -drag_work
    assert found.energy_j + helped == pytest.approx(motion, rel=1e-9)
    assert found.peak_power_w == 2 * found.mean_power_w
    assert found.energy_j == pytest.approx(found.mean_power_w * found.time_s, rel=1e-12)


@given(shift=shifts, more=st.floats(1.01, 3))
def test_more_friction_makes_a_shorter_shift(shift, more):
    longer = synchronization(**shift).time_s
    assert synchronization(**shift | {"cone_torque_nm": shift["cone_torque_nm"] * more}).time_s < longer


@given(shift=shifts, more=st.floats(1.01, 3))
def test_without_drag_the_heat_does_not_depend_on_friction(shift, more):
    free = shift | {"drag_nm": 0.0}
    grippier = free | {"cone_torque_nm": shift["cone_torque_nm"] * more}
    assert synchronization(**grippier).energy_j == pytest.approx(synchronization(**free).energy_j, rel=1e-12)


@pytest.mark.parametrize("drag", [16.961, 17.0, 100.0])
def test_drag_that_outweighs_the_cones_never_lets_a_downshift_synchronize(drag):
    with pytest.raises(NeverSynchronizes, match=r"^A cone torque of 16\.961 N m does not overcome") as reason:
        synchronization(**SHIFT | {"drag_nm": drag}, upshift=False)
    assert (reason.value.cone_torque_nm, reason.value.drag_nm) == (16.961, drag)
    assert synchronization(**SHIFT | {"drag_nm": drag}, upshift=True).time_s > 0


def test_never_synchronizing_is_an_answer_and_not_a_value_out_of_range():
    assert not issubclass(NeverSynchronizes, OutOfRange)


# Force times time is fixed by what has to be brought to speed: 55.57 N·s for 0.010 kg·m² over 1500 rpm at one cone of
# 32 mm, 6.5° and friction 0.10; 0.2 s asks for 277.8 N.
@given(force=st.floats(20, 3000))
def test_force_times_time_is_the_same_for_every_force(force):
    torque = cone_torque_nm(axial_force_n=force, half_angle_deg=6.5, mean_radii_mm=[32], frictions=[0.1])
    shift = synchronization(
        inertia_kg_m2=0.010, speed_difference_rpm=1500, cone_torque_nm=torque, drag_nm=0, upshift=True
    )
    assert force * shift.time_s == pytest.approx(55.57, rel=1e-3)
    assert force * shift.time_s / 0.2 == pytest.approx(277.8, rel=1e-3)


@given(
    inertias=st.tuples(st.floats(1e-4, 0.01), st.floats(0, 0.01), st.floats(0, 0.01), st.floats(0, 0.01)),
    constant=st.floats(0.8, 2.5),
    gear=st.floats(0.5, 2.5),
    speed=st.floats(10, 500),
)
def test_reduced_inertia_holds_the_kinetic_energy_of_the_train(inertias, constant, gear, speed):
    names = ("gear_inertia_kg_m2", "layshaft_inertia_kg_m2", "input_inertia_kg_m2", "other_inertia_kg_m2")
    speeds = (speed, speed * gear, speed * gear * constant, speed)
    energy = sum(0.5 * inertia * own**2 for inertia, own in zip(inertias, speeds, strict=True))
    found = reduced_inertia_kg_m2(**dict(zip(names, inertias, strict=True)), ratio_constant=constant, ratio_gear=gear)
    assert 0.5 * found * speed**2 == pytest.approx(energy, rel=1e-9)
