"""Viscosity a rolling bearing needs, and how the oil compares with it."""

from math import sqrt

from knowledge.physics.limits import check_positive


def reference_viscosity_mm2_s(*, speed_rpm: float, pitch_diameter_mm: float) -> float:
    """Kinematic viscosity at running temperature that just separates the surfaces of a rolling bearing.

    nu1 = 45000·n^-0.83·Dpw^-0.5   for n < 1000 rpm
    nu1 =  4500·n^-0.5 ·Dpw^-0.5   for n >= 1000 rpm      (mm²/s, mm)

    Valid for positive speed and diameter; else, raises OutOfRange. The two branches differ by 2.3 % at
    1000 rpm, so the value steps down there.

    Args:
        speed_rpm: n, speed of one ring against the other [rpm].
        pitch_diameter_mm: Dpw, diameter of the circle of rolling-element centres [mm].

    Sources: iso-281-2007 (from memory); checked by golden case iso-281-2007--55-mm-2500-rpm.
    """
    check_positive(quantity="speed", value=speed_rpm, unit="rpm")
    check_positive(quantity="pitch diameter", value=pitch_diameter_mm, unit="mm")
    if speed_rpm < 1000.0:
        slow_mm2_s: float = 45000.0 * speed_rpm**-0.83 / sqrt(pitch_diameter_mm)
        return slow_mm2_s
    return 4500.0 / sqrt(speed_rpm * pitch_diameter_mm)


def viscosity_ratio(*, kinematic_viscosity_mm2_s: float, reference_viscosity_mm2_s: float) -> float:
    """Viscosity ratio kappa of a bearing: what the oil has over what the bearing needs.

    kappa = nu / nu1

    Below 0.4 the rolling surfaces touch, below 1 an antiwear or EP additive is wanted, above 4 little is gained.
    Valid for positive values; else, raises OutOfRange.

    Args:
        kinematic_viscosity_mm2_s: nu of the oil at running temperature [mm²/s].
        reference_viscosity_mm2_s: nu1 [mm²/s].

    Sources: iso-281-2007 (from memory); checked by golden case iso-281-2007--ratio.
    """
    check_positive(quantity="kinematic viscosity", value=kinematic_viscosity_mm2_s, unit="mm2/s")
    check_positive(quantity="reference viscosity", value=reference_viscosity_mm2_s, unit="mm2/s")
    return kinematic_viscosity_mm2_s / reference_viscosity_mm2_s
