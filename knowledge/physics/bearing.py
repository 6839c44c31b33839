"""Viscosity that a rolling bearing needs."""

import numpy as np

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
    slow_mm2_s = 45000.0 * speed_rpm**-0.83 / np.sqrt(pitch_diameter_mm)
    found: float = np.where(speed_rpm < 1000.0, slow_mm2_s, 4500.0 / np.sqrt(speed_rpm * pitch_diameter_mm))[()]
    return found
