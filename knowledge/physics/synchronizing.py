"""Bringing a gear wheel to the speed of its shaft: inertia, time, energy and power."""

from math import pi
from typing import NamedTuple

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

    Sources: naunheimer-2011 (from memory); checked by golden case naunheimer-2011--reduced-inertia.
    """
    check_positive(quantity="gear inertia", value=gear_inertia_kg_m2, unit="kg m2")
    check_within(quantity="layshaft inertia", value=layshaft_inertia_kg_m2, low=0.0, unit="kg m2")
    check_within(quantity="input inertia", value=input_inertia_kg_m2, low=0.0, unit="kg m2")
    check_within(quantity="other inertia", value=other_inertia_kg_m2, low=0.0, unit="kg m2")
    check_positive(quantity="constant ratio", value=ratio_constant, unit="")
    check_positive(quantity="gear ratio", value=ratio_gear, unit="")
    at_layshaft = layshaft_inertia_kg_m2 + input_inertia_kg_m2 * ratio_constant**2
    return gear_inertia_kg_m2 + at_layshaft * ratio_gear**2 + other_inertia_kg_m2


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
    the oil film is wiped off is not in it. A downshift whose drag is as large as the cone torque raises
    NeverSynchronizes. Valid for positive inertia, speed and torque and drag not negative; else, raises OutOfRange.

    Args:
        inertia_kg_m2: J at the gear wheel [kg·m²].
        speed_difference_rpm: dw as a size, without sign [rpm].
        cone_torque_nm: Tc of all cones together [N·m].
        drag_nm: Td of oil, bearings and clutch, at the gear wheel [N·m].
        upshift: whether the wheel has to slow down.

    Sources: naunheimer-2011 (from memory; confirmed by integrating the motion in
        tests/knowledge/physics/test_synchronizing.py); checked by golden case naunheimer-2011--upshift-1500-rpm.
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


def drag_growth(
    *, kinematic_viscosity_mm2_s: float, reference_mm2_s: float, viscous_share: float, exponent: float
) -> float:
    """How many times the drag of warm oil a gear wheel feels in thicker oil.

    T/T_ref = 1 - f + f·(v/v_ref)^q,   1 where the oil is no thicker than the reference

    Seals and clutch disc do not thicken with the oil; bearings, churning and open gaps do, each with a power of its
    own: q near 0.5 stands for their sum. Valid for positive viscosities and f and q above 0 and up to 1; else, raises
    OutOfRange.

    Args:
        kinematic_viscosity_mm2_s: v of the oil as it is [mm²/s].
        reference_mm2_s: v_ref, of the warm oil whose drag is known [mm²/s].
        viscous_share: f, what of the warm drag thickens with the oil [-].
        exponent: q [-].

    Raises:
        OutOfRange: a value out of the ranges above, or not a number.

    Sources: igf-16458 (abstract: the losses of open synchronizers follow operating viscosity); share and exponent are
        judged; checked by golden case igf-16458--four-hundred-times-as-thick.
    """
    check_positive(quantity="kinematic viscosity", value=kinematic_viscosity_mm2_s, unit="mm2/s")
    _check_growth(reference_mm2_s, viscous_share, exponent)
    thicker = max(kinematic_viscosity_mm2_s / reference_mm2_s, 1.0)
    return float(1.0 - viscous_share + viscous_share * thicker**exponent)


def viscosity_at_drag_growth_mm2_s(
    *, growth: float, reference_mm2_s: float, viscous_share: float, exponent: float
) -> float:
    """Viscosity at which the drag of warm oil has grown so many times.

    v = v_ref·((G - 1 + f)/f)^(1/q)      (drag_growth solved for v)

    Valid for G of 1 or more, else as drag_growth; outside, raises OutOfRange.

    Args:
        growth: G, drag over the drag of warm oil [-].
        reference_mm2_s: v_ref, of the warm oil whose drag is known [mm²/s].
        viscous_share: f, what of the warm drag thickens with the oil [-].
        exponent: q [-].

    Raises:
        OutOfRange: a value out of the ranges above, or not a number.

    Sources: as drag_growth; checked by golden case igf-16458--back-from-eleven-times-the-drag.
    """
    check_within(quantity="growth", value=growth, low=1.0, unit="")
    _check_growth(reference_mm2_s, viscous_share, exponent)
    found: float = reference_mm2_s * ((growth - 1.0 + viscous_share) / viscous_share) ** (1.0 / exponent)
    return found


def _check_growth(reference_mm2_s: float, viscous_share: float, exponent: float) -> None:
    check_positive(quantity="reference", value=reference_mm2_s, unit="mm2/s")
    for quantity, value in (("viscous share", viscous_share), ("exponent", exponent)):
        check_within(quantity=quantity, value=value, low=0.0, high=1.0, unit="", low_included=False)


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

    Sources: naunheimer-2011 (from memory); checked by golden case naunheimer-2011--load-of-1608-mm2.
    """
    check_positive(quantity="energy", value=energy_j, unit="J")
    check_positive(quantity="mean power", value=mean_power_w, unit="W")
    check_positive(quantity="peak power", value=peak_power_w, unit="W")
    check_positive(quantity="face area", value=face_area_mm2, unit="mm2")
    return FacingLoad(energy_j / face_area_mm2, mean_power_w / face_area_mm2, peak_power_w / face_area_mm2)


def _momentum_nms(inertia_kg_m2: float, speed_difference_rpm: float, drag_nm: float) -> float:
    """J·dw, once it and the drag are known to make sense."""
    check_positive(quantity="inertia", value=inertia_kg_m2, unit="kg m2")
    check_positive(quantity="speed difference", value=speed_difference_rpm, unit="rpm")
    check_within(quantity="drag", value=drag_nm, low=0.0, unit="N m")
    return inertia_kg_m2 * speed_difference_rpm * _RAD_S_PER_RPM
