"""Bringing a gear wheel to the speed of its shaft: inertia, time, energy, power, and the force a quick shift needs."""

from collections.abc import Sequence
from math import pi
from typing import NamedTuple

from knowledge.physics.cone import cone_torque_nm as torque_of_cones_nm
from knowledge.physics.limits import check_positive, check_within

_RAD_S_PER_RPM = 2.0 * pi / 60.0


class NeverSynchronizes(Exception):
    """The drag outweighs the cones, so the speed difference never closes.

    Attributes:
        cone_torque_nm: what the cones can do [N·m].
        drag_nm: what works against them [N·m].
    """

    def __init__(self, *, cone_torque_nm: float, drag_nm: float) -> None:
        self.cone_torque_nm = cone_torque_nm
        self.drag_nm = drag_nm
        super().__init__(f"A cone torque of {cone_torque_nm:g} N m does not overcome a drag of {drag_nm:g} N m.")


class Synchronization(NamedTuple):
    """One shift from first slip to equal speed."""

    time_s: float
    energy_j: float
    mean_power_w: float
    peak_power_w: float


class FacingLoad(NamedTuple):
    """What one shift asks of each square millimetre of facing."""

    energy_j_mm2: float
    mean_power_w_mm2: float
    peak_power_w_mm2: float


def reduced_inertia_kg_m2(
    *,
    gear_inertia_kg_m2: float,
    layshaft_inertia_kg_m2: float,
    input_inertia_kg_m2: float,
    ratio_constant: float,
    ratio_gear: float,
    other_inertia_kg_m2: float = 0.0,
) -> float:
    """Inertia that a ring feels at the gear wheel it grips, everything up to the clutch disc counted in.

    J = Jg + (Jlay + Jin·ic²)·ig² + Jo,   ic = w_in/w_lay,   ig = w_lay/w_gear

    The output side keeps its speed. Without a layshaft take its inertia as 0 and ic as 1. Valid for a positive
    gear inertia, others not negative, and positive ratios; else, raises OutOfRange.

    Args:
        gear_inertia_kg_m2: Jg of the gear wheel itself [kg·m²].
        layshaft_inertia_kg_m2: Jlay with all that is fixed to it [kg·m²].
        input_inertia_kg_m2: Jin, input shaft and clutch disc [kg·m²].
        ratio_constant: ic, input to layshaft [-].
        ratio_gear: ig, layshaft to gear wheel [-].
        other_inertia_kg_m2: Jo, other wheels in constant mesh, already at the speed of this one [kg·m²].

    Raises:
        OutOfRange: a value out of the ranges above, or not a number.

    Sources: naunheimer-2011 (from memory); checked by golden case naunheimer-2011--reduced-inertia.

    >>> round(reduced_inertia_kg_m2(gear_inertia_kg_m2=0.001, layshaft_inertia_kg_m2=0.002, input_inertia_kg_m2=0.004,
    ...                             ratio_constant=1.5, ratio_gear=2.0), 6)
    0.045
    """
    check_positive(quantity="gear inertia", value=gear_inertia_kg_m2, unit="kg m2")
    check_within(quantity="layshaft inertia", value=layshaft_inertia_kg_m2, low=0.0, unit="kg m2")
    check_within(quantity="input inertia", value=input_inertia_kg_m2, low=0.0, unit="kg m2")
    check_within(quantity="other inertia", value=other_inertia_kg_m2, low=0.0, unit="kg m2")
    check_positive(quantity="constant ratio", value=ratio_constant, unit="")
    check_positive(quantity="gear ratio", value=ratio_gear, unit="")
    at_layshaft = layshaft_inertia_kg_m2 + input_inertia_kg_m2 * ratio_constant**2
    return gear_inertia_kg_m2 + at_layshaft * ratio_gear**2 + other_inertia_kg_m2


def speed_difference_rpm(*, input_speed_rpm: float, ratio_from: float, ratio_to: float) -> float:
    """Speed by which the gear wheel of the next gear runs ahead of its shaft when the old gear is left.

    dn = n·(1/i_to - 1/i_from)

    Positive for an upshift, where the wheel has to slow down; negative for a downshift. The vehicle keeps its
    speed. Valid for positive speed and ratios; else, raises OutOfRange.

    Args:
        input_speed_rpm: n of the input shaft before the shift [1/min].
        ratio_from: i_from, input to output speed in the old gear [-].
        ratio_to: i_to, input to output speed in the next gear [-].

    Raises:
        OutOfRange: a value not positive and finite.

    Sources: naunheimer-2011 (from memory); checked by golden case naunheimer-2011--3500-rpm-2.1-to-1.4.

    >>> round(speed_difference_rpm(input_speed_rpm=3500, ratio_from=2.1, ratio_to=1.4), 1)
    833.3
    """
    check_positive(quantity="input speed", value=input_speed_rpm, unit="1/min")
    check_positive(quantity="ratio before", value=ratio_from, unit="")
    check_positive(quantity="ratio after", value=ratio_to, unit="")
    return input_speed_rpm / ratio_to - input_speed_rpm / ratio_from


def synchronization(
    *,
    inertia_kg_m2: float,
    speed_difference_rpm: float,
    cone_torque_nm: float,
    drag_nm: float,
    upshift: bool,
) -> Synchronization:
    """Time, friction energy and power of a shift with steady cone torque and steady drag.

    t = J·dw / (Tc ± Td),   E = J·dw²/2 · Tc/(Tc ± Td),   P_peak = Tc·dw,   P_mean = Tc·dw/2

    Plus for an upshift, where drag helps to slow the wheel; minus for a downshift, where it fights. The time before
    the oil film is wiped off is not in it. Valid for positive inertia, speed and torque and drag not negative; else,
    raises OutOfRange.

    Args:
        inertia_kg_m2: J at the gear wheel [kg·m²].
        speed_difference_rpm: dw as a size, without sign [1/min].
        cone_torque_nm: Tc of all cones together [N·m].
        drag_nm: Td of oil, bearings and clutch, at the gear wheel [N·m].
        upshift: whether the wheel has to slow down.

    Raises:
        NeverSynchronizes: a downshift whose drag is as large as the cone torque or larger.
        OutOfRange: a value out of the ranges above, or not a number.

    Sources: naunheimer-2011 (from memory; confirmed by integrating the motion in
        tests/knowledge/physics/test_synchronizing.py); checked by golden case naunheimer-2011--upshift-1500-rpm.

    >>> shift = synchronization(inertia_kg_m2=0.010, speed_difference_rpm=1500, cone_torque_nm=16.961, drag_nm=1.5,
    ...                         upshift=True)
    >>> round(shift.time_s, 4), round(shift.energy_j)
    (0.0851, 113)
    """
    check_positive(quantity="cone torque", value=cone_torque_nm, unit="N m")
    momentum_nms = _momentum_nms(inertia_kg_m2, speed_difference_rpm, drag_nm)
    net_torque_nm = cone_torque_nm + drag_nm if upshift else cone_torque_nm - drag_nm
    if net_torque_nm <= 0.0:
        raise NeverSynchronizes(cone_torque_nm=cone_torque_nm, drag_nm=drag_nm)
    time_s = momentum_nms / net_torque_nm
    peak_power_w = cone_torque_nm * speed_difference_rpm * _RAD_S_PER_RPM
    return Synchronization(
        time_s=time_s,
        energy_j=0.5 * peak_power_w * time_s,
        mean_power_w=0.5 * peak_power_w,
        peak_power_w=peak_power_w,
    )


def facing_load(*, energy_j: float, mean_power_w: float, peak_power_w: float, face_area_mm2: float) -> FacingLoad:
    """Energy and power of a shift per area of facing.

    w = E/A,   p_mean = P_mean/A,   p_peak = P_peak/A

    Cones of the same friction and face width are loaded alike; where they differ, give the share of one cone
    and its own area. Valid for positive values; else, raises OutOfRange.

    Args:
        energy_j: E of one shift [J].
        mean_power_w: P_mean [W].
        peak_power_w: P_peak [W].
        face_area_mm2: A, friction faces with their grooves [mm²].

    Raises:
        OutOfRange: a value not positive and finite.

    Sources: naunheimer-2011 (from memory); checked by golden case naunheimer-2011--load-of-1608-mm2.

    >>> round(facing_load(energy_j=113.35, mean_power_w=1332, peak_power_w=2664, face_area_mm2=1608.5).energy_j_mm2, 4)
    0.0705
    """
    check_positive(quantity="energy", value=energy_j, unit="J")
    check_positive(quantity="mean power", value=mean_power_w, unit="W")
    check_positive(quantity="peak power", value=peak_power_w, unit="W")
    check_positive(quantity="face area", value=face_area_mm2, unit="mm2")
    return FacingLoad(energy_j / face_area_mm2, mean_power_w / face_area_mm2, peak_power_w / face_area_mm2)


def cone_torque_for_time_nm(
    *, inertia_kg_m2: float, speed_difference_rpm: float, time_s: float, drag_nm: float, upshift: bool
) -> float:
    """Cone torque that closes a speed difference in a given time: synchronization solved for Tc.

    Tc = J·dw/t ∓ Td      (minus for an upshift)

    Valid as synchronization, for a time above 0. Where drag alone would close an upshift in less than that time no
    cone torque makes it last longer; raises OutOfRange.

    Args:
        inertia_kg_m2: J at the gear wheel [kg·m²].
        speed_difference_rpm: dw as a size, without sign [1/min].
        time_s: t wanted [s].
        drag_nm: Td at the gear wheel [N·m].
        upshift: whether the wheel has to slow down.

    Raises:
        OutOfRange: a value out of the ranges above, or not a number.

    Sources: naunheimer-2011, solved for Tc; checked by golden case naunheimer-2011--torque-for-0.2-s.

    >>> round(cone_torque_for_time_nm(inertia_kg_m2=0.010, speed_difference_rpm=1500, time_s=0.2, drag_nm=0,
    ...                               upshift=True), 3)
    7.854
    """
    check_positive(quantity="time", value=time_s, unit="s")
    momentum_nms = _momentum_nms(inertia_kg_m2, speed_difference_rpm, drag_nm)
    if not upshift:
        return momentum_nms / time_s + drag_nm
    if drag_nm > 0.0:
        check_within(quantity="time", value=time_s, low=0.0, high=momentum_nms / drag_nm, unit="s", low_included=False)
    return max(momentum_nms / time_s - drag_nm, 0.0)


def shift_force_n(
    *, cone_torque_nm: float, half_angle_deg: float, mean_radii_mm: Sequence[float], frictions: Sequence[float]
) -> float:
    """Axial force on the ring that gives a wanted cone torque.

    F = T·sin a / sum(mu_i·R_i)

    Take the torque from cone_torque_for_time_nm to meet a time. Valid as cone.cone_torque_nm.

    Args:
        cone_torque_nm: T of all cones together [N·m].
        half_angle_deg: a, between cone surface and axis [°].
        mean_radii_mm: R_i, mean radius of each cone [mm].
        frictions: mu_i, sliding friction of each cone, in the same order [-].

    Raises:
        OutOfRange: a value out of the ranges named there.

    Sources: naunheimer-2011, solved for F; checked by golden case naunheimer-2011--force-for-7.854-nm.

    >>> round(shift_force_n(cone_torque_nm=7.854, half_angle_deg=6.5, mean_radii_mm=[32],
    ...                     frictions=[0.1]), 1)
    277.8
    """
    check_positive(quantity="cone torque", value=cone_torque_nm, unit="N m")
    return cone_torque_nm / torque_of_cones_nm(
        axial_force_n=1.0, half_angle_deg=half_angle_deg, mean_radii_mm=mean_radii_mm, frictions=frictions
    )


def _momentum_nms(inertia_kg_m2: float, speed_difference_rpm: float, drag_nm: float) -> float:
    """J·dw, once it and the drag are known to make sense."""
    check_positive(quantity="inertia", value=inertia_kg_m2, unit="kg m2")
    check_positive(quantity="speed difference", value=speed_difference_rpm, unit="1/min")
    check_within(quantity="drag", value=drag_nm, low=0.0, unit="N m")
    return inertia_kg_m2 * speed_difference_rpm * _RAD_S_PER_RPM
