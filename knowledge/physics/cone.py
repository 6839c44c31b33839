"""Friction cones of a synchronizer: torque, blocking, release, and what force and speed do to the facing."""

from collections.abc import Sequence
from math import cos, pi, radians, sin, tan

from knowledge.physics.limits import OutOfRange, check_positive, check_within

MOST_CONES = 3
STEEPEST_HALF_ANGLE_DEG = 45.0
HIGHEST_FRICTION = 1.0
BLUNTEST_CHAMFER_DEG = 170.0


def mean_radius_mm(*, outer_radius_mm: float, face_width_mm: float, half_angle_deg: float) -> float:
    """Mean radius of a cone face, from its large end and its width along the cone surface.

    Rm = Ro - b·sin a / 2

    The radii of the two ends differ by b·sin a and not by b. Valid for half angles above 0 and up to 45° and a
    small end that still has a radius; outside, raises OutOfRange.

    Args:
        outer_radius_mm: Ro, radius of the large end [mm].
        face_width_mm: b, along the cone surface [mm].
        half_angle_deg: a, between cone surface and axis [°].

    Sources: naunheimer-2011 (cone clutch, from memory); checked by golden case shigley-2011--cone-330-306.
    """
    check_positive(quantity="outer radius", value=outer_radius_mm, unit="mm")
    check_positive(quantity="face width", value=face_width_mm, unit="mm")
    narrowing_mm = face_width_mm * sin(_half_angle(half_angle_deg))
    check_positive(quantity="radius of the small end", value=outer_radius_mm - narrowing_mm, unit="mm")
    return outer_radius_mm - 0.5 * narrowing_mm


def normal_force_n(*, axial_force_n: float, half_angle_deg: float) -> float:
    """Force that presses the faces of a slipping cone together.

    Fn = F / sin a

    Slip runs around the cone, so friction takes no share of the axial force. Valid for half angles above 0 and
    up to 45°; outside, raises OutOfRange.

    Args:
        axial_force_n: F on the ring [N].
        half_angle_deg: a, between cone surface and axis [°].

    Sources: naunheimer-2011 (from memory); checked by golden case naunheimer-2011--normal-force-600-n.
    """
    check_positive(quantity="axial force", value=axial_force_n, unit="N")
    return axial_force_n / sin(_half_angle(half_angle_deg))


def cone_torque_nm(
    *, axial_force_n: float, half_angle_deg: float, mean_radii_mm: Sequence[float], frictions: Sequence[float]
) -> float:
    """Friction torque of one to three slipping cones that the same axial force passes through.

    T = F / sin a · sum(mu_i·R_i)

    Valid for half angles above 0 and up to 45°, friction above 0 and up to 1; outside, raises OutOfRange.

    Args:
        axial_force_n: F on the ring [N].
        half_angle_deg: a, between cone surface and axis, the same for all cones [°].
        mean_radii_mm: R_i, mean radius of each cone [mm].
        frictions: mu_i, sliding friction of each cone, in the same order [-].

    Sources: naunheimer-2011 (from memory); checked by golden case naunheimer-2011--single-cone-600-n.
    """
    _check_cones(mean_radii_mm)
    cones = len(mean_radii_mm)
    check_within(quantity="number of frictions", value=len(frictions), low=cones, high=cones, unit="")
    for friction in frictions:
        _check_above_zero("friction", friction, HIGHEST_FRICTION)
    lever_mm = sum(mu * radius for mu, radius in zip(frictions, mean_radii_mm, strict=True))
    return normal_force_n(axial_force_n=axial_force_n, half_angle_deg=half_angle_deg) * lever_mm / 1000.0


def index_torque_nm(
    *, axial_force_n: float, spline_radius_mm: float, chamfer_included_deg: float, chamfer_friction: float
) -> float:
    """Torque with which the sleeve's chamfers try to turn the ring out of their way.

    T = F·Rs / tan(B + atan mu)

    B is half the included angle of a tooth point. Valid for an included angle above 0 and up to 170°, and while
    mu·tan B < 1, where the chamfers would lock; outside, raises OutOfRange.

    Args:
        axial_force_n: F on the sleeve [N].
        spline_radius_mm: Rs, pitch radius of the sleeve's splines [mm].
        chamfer_included_deg: 2·B, between the two flanks of a tooth point [°].
        chamfer_friction: mu on the chamfers, 0 allowed [-].

    Sources: socin-walters-1968 (from memory); checked by golden case socin-walters-1968--included-110.
    """
    check_positive(quantity="axial force", value=axial_force_n, unit="N")
    check_positive(quantity="spline radius", value=spline_radius_mm, unit="mm")
    return axial_force_n * spline_radius_mm / 1000.0 * _chamfer_leverage(chamfer_included_deg, chamfer_friction)


def least_friction_to_block(
    *,
    mean_radii_mm: Sequence[float],
    half_angle_deg: float,
    spline_radius_mm: float,
    chamfer_included_deg: float,
    chamfer_friction: float,
) -> float:
    """Friction at the cones with which their torque just holds the ring against the chamfers.

    mu_min = Rs·sin a / (sum(R_i)·tan(B + atan mu))

    The force cancels. All cones have the same friction; drag is left out. Valid as cone_torque_nm and
    index_torque_nm.

    Args:
        mean_radii_mm: R_i, mean radius of each cone [mm].
        half_angle_deg: a, between cone surface and axis [°].
        spline_radius_mm: Rs, pitch radius of the sleeve's splines [mm].
        chamfer_included_deg: 2·B, between the two flanks of a tooth point [°].
        chamfer_friction: mu on the chamfers [-].

    Sources: socin-walters-1968 (both torques equal); checked by golden case socin-walters-1968--least-110.
    """
    _check_cones(mean_radii_mm)
    check_positive(quantity="spline radius", value=spline_radius_mm, unit="mm")
    leverage = _chamfer_leverage(chamfer_included_deg, chamfer_friction)
    return spline_radius_mm * leverage * sin(_half_angle(half_angle_deg)) / sum(mean_radii_mm)


def locking_friction(*, half_angle_deg: float) -> float:
    """Static friction above which a seated ring wedges on its cone and has to be pulled off.

    mu = tan a      (half angle above 0 and up to 45°; outside, raises OutOfRange)

    Args:
        half_angle_deg: a, between cone surface and axis [°].

    Sources: naunheimer-2011 (from memory); checked by golden case naunheimer-2011--locking-6.5.
    """
    return tan(_half_angle(half_angle_deg))


def pull_off_force_n(*, axial_force_n: float, half_angle_deg: float, static_friction: float) -> float:
    """Axial force that pulls a ring off its cone after it was pressed on while slipping.

    P = F / sin a · (mu·cos a - sin a)

    Negative: the ring comes free by itself. Valid for half angles above 0 and up to 45° and friction above 0 and
    up to 1; outside, raises OutOfRange.

    Args:
        axial_force_n: F that seated the ring and was then taken away [N].
        half_angle_deg: a, between cone surface and axis [°].
        static_friction: mu between ring and cone at rest [-].

    Sources: naunheimer-2011 (from memory); checked by golden case naunheimer-2011--pull-off-0.14.
    """
    _check_above_zero("static friction", static_friction, HIGHEST_FRICTION)
    pressed_n = normal_force_n(axial_force_n=axial_force_n, half_angle_deg=half_angle_deg)
    return pressed_n * static_friction * cos(radians(half_angle_deg)) - axial_force_n


def face_area_mm2(*, mean_radii_mm: Sequence[float], face_width_mm: float) -> float:
    """Area of all friction faces together, grooves counted in.

    A = 2·pi·b·sum(R_i)      (1 to 3 cones, positive sizes; else, raises OutOfRange)

    Args:
        mean_radii_mm: R_i, mean radius of each cone [mm].
        face_width_mm: b, along the cone surface, the same for all cones [mm].

    Sources: naunheimer-2011 (from memory); checked by golden case naunheimer-2011--face-area-32-8.
    """
    _check_cones(mean_radii_mm)
    check_positive(quantity="face width", value=face_width_mm, unit="mm")
    return 2.0 * pi * face_width_mm * sum(mean_radii_mm)


def contact_pressure_n_mm2(
    *, axial_force_n: float, half_angle_deg: float, mean_radius_mm: float, face_width_mm: float
) -> float:
    """Mean pressure on the face of one slipping cone, grooves counted in.

    p = F / (2·pi·Rm·b·sin a)

    The smallest cone of a set has the highest. Valid as normal_force_n and face_area_mm2.

    Args:
        axial_force_n: F on the ring [N].
        half_angle_deg: a, between cone surface and axis [°].
        mean_radius_mm: Rm of the cone [mm].
        face_width_mm: b, along the cone surface [mm].

    Sources: naunheimer-2011 (from memory); checked by golden case naunheimer-2011--pressure-600-n.
    """
    area_mm2 = face_area_mm2(mean_radii_mm=[mean_radius_mm], face_width_mm=face_width_mm)
    return normal_force_n(axial_force_n=axial_force_n, half_angle_deg=half_angle_deg) / area_mm2


def sliding_speed_m_s(*, mean_radius_mm: float, speed_difference_rpm: float) -> float:
    """Speed at which ring and cone slide on each other when the shift begins.

    v = Rm·dw      (positive values; else, raises OutOfRange)

    Args:
        mean_radius_mm: Rm of the largest cone [mm].
        speed_difference_rpm: between ring and gear wheel [rpm].

    Sources: naunheimer-2011 (from memory); checked by golden case naunheimer-2011--sliding-1500-rpm.
    """
    check_positive(quantity="mean radius", value=mean_radius_mm, unit="mm")
    check_positive(quantity="speed difference", value=speed_difference_rpm, unit="rpm")
    return mean_radius_mm / 1000.0 * speed_difference_rpm * 2.0 * pi / 60.0


def taper_gap_mm(*, ring_half_angle_deg: float, cone_half_angle_deg: float, face_width_mm: float) -> float:
    """Gap left at one end of the face when ring and cone are not of the same angle and touch at the other end.

    g = b·tan|a1 - a2|

    A ring that opens wider than the cone inside it touches at the small end. Valid for half angles above 0 and up
    to 45°; outside, raises OutOfRange.

    Args:
        ring_half_angle_deg: a1 [°].
        cone_half_angle_deg: a2 [°].
        face_width_mm: b, along the cone surface [mm].

    Sources: plane geometry; checked by golden case plane-geometry--half-a-degree-over-8-mm.
    """
    check_positive(quantity="face width", value=face_width_mm, unit="mm")
    ring = _half_angle(ring_half_angle_deg, "ring half angle")
    cone = _half_angle(cone_half_angle_deg, "cone half angle")
    return face_width_mm * tan(abs(ring - cone))


def _half_angle(half_angle_deg: float, quantity: str = "half angle") -> float:
    """The angle in radians, once it is known to be a half angle."""
    _check_above_zero(quantity, half_angle_deg, STEEPEST_HALF_ANGLE_DEG, "°")
    return radians(half_angle_deg)


def _chamfer_leverage(included_deg: float, friction: float) -> float:
    """1 / tan(B + atan mu), once the chamfers are known to slide."""
    _check_above_zero("included chamfer angle", included_deg, BLUNTEST_CHAMFER_DEG, "°")
    flank = radians(0.5 * included_deg)
    sideways, along = cos(flank) - friction * sin(flank), sin(flank) + friction * cos(flank)
    if not (friction >= 0.0 and sideways > 0.0):
        raise OutOfRange(quantity="chamfer friction", value=friction, low=0.0, high=1.0 / tan(flank), unit="")
    return sideways / along


def _check_cones(mean_radii_mm: Sequence[float]) -> None:
    check_within(quantity="number of cones", value=len(mean_radii_mm), low=1, high=MOST_CONES, unit="")
    for radius in mean_radii_mm:
        check_positive(quantity="mean radius", value=radius, unit="mm")


def _check_above_zero(quantity: str, value: float, high: float, unit: str = "") -> None:
    check_within(quantity=quantity, value=value, low=0.0, high=high, unit=unit, low_included=False)
