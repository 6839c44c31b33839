"""Squeezing the oil film out from between cone and facing, before a synchronizer can grip."""

from math import inf, pi, radians, sin

from knowledge.physics.limits import OutOfRange, check_positive, check_within

STEEPEST_HALF_ANGLE_DEG = 45.0

_MM_TO_M = 1e-3
_UM_TO_M = 1e-6
_MPA_S_TO_PA_S = 1e-3
_N_MM2_TO_PA = 1e6


def _wiping_time_per_viscosity(
    land_width_mm: float, land_pressure_n_mm2: float, film_start_um: float, film_end_um: float
) -> float:
    """Wiping time of a strip divided by its dynamic viscosity [s per Pa·s], after checking the strip."""
    check_positive(quantity="land width", value=land_width_mm, unit="mm")
    check_positive(quantity="land pressure", value=land_pressure_n_mm2, unit="N/mm2")
    check_positive(quantity="film at the end", value=film_end_um, unit="um")
    if not film_start_um > film_end_um:
        raise OutOfRange(
            quantity="film at the start",
            value=film_start_um,
            low=film_end_um,
            high=inf,
            unit="um",
            low_included=False,
        )
    width_m = land_width_mm * _MM_TO_M
    start_m, end_m = film_start_um * _UM_TO_M, film_end_um * _UM_TO_M
    return width_m**2 / (2.0 * land_pressure_n_mm2 * _N_MM2_TO_PA) * (end_m**-2 - start_m**-2)


def wiping_time_s(
    *,
    dynamic_viscosity_mpa_s: float,
    land_width_mm: float,
    land_pressure_n_mm2: float,
    film_start_um: float,
    film_end_um: float,
) -> float:
    """Time in which a land squeezes its oil film down to the thickness at which metal starts to grip.

    t = eta·w² / (2·p) · (1/h2² - 1/h1²)      (Pa·s, m, Pa)

    Valid for a flat land that is long against its width (one ten times as long as wide takes 6 % less), Newtonian
    oil, steady pressure and h1 > h2 > 0; a film that starts infinitely thick is allowed. Outside, raises OutOfRange.
    For a porous lining, which also drains into itself, the result is an upper bound. The end film is the weakest
    figure here: t goes with 1/h2².

    Args:
        dynamic_viscosity_mpa_s: eta of the oil [mPa·s].
        land_width_mm: w, width of one land between two drains [mm].
        land_pressure_n_mm2: p, mean pressure on the land [N/mm²].
        film_start_um: h1 [µm], infinite allowed.
        film_end_um: h2 [µm].

    Raises:
        OutOfRange: a value not positive, or h1 not above h2.

    Sources: cameron-1966 (infinite strip, from memory; confirmed by integrating Reynolds' equation in
        tests/knowledge/physics/test_wiping.py); checked by golden case cameron-1966--strip-20-to-2-um.

    >>> round(wiping_time_s(dynamic_viscosity_mpa_s=2711, land_width_mm=0.1, land_pressure_n_mm2=1.977,
    ...                     film_start_um=50, film_end_um=2), 5)
    0.00171
    """
    check_positive(quantity="dynamic viscosity", value=dynamic_viscosity_mpa_s, unit="mPa s")
    per_viscosity = _wiping_time_per_viscosity(land_width_mm, land_pressure_n_mm2, film_start_um, film_end_um)
    return dynamic_viscosity_mpa_s * _MPA_S_TO_PA_S * per_viscosity


def land_pressure_n_mm2(
    *, axial_force_n: float, half_angle_deg: float, mean_radius_mm: float, face_width_mm: float, land_share: float
) -> float:
    """Mean pressure on the lands of a cone pushed home by an axial force.

    p = F / sin a / (s·2·pi·Rm·b)

    Friction along the cone is left out: during wiping the film carries the load. While the detent turns the
    ring, F is the detent force and not the shift force. Valid for half angles above 0 and up to 45°, a land
    share above 0 and up to 1, and positive sizes; outside, raises OutOfRange.

    Args:
        axial_force_n: F on the ring [N].
        half_angle_deg: a, between cone surface and axis [°].
        mean_radius_mm: Rm, mean radius of the cone [mm].
        face_width_mm: b, along the cone surface [mm].
        land_share: s, part of the face that is land; crest width over pitch for a threaded face [-].

    Raises:
        OutOfRange: a value out of the ranges above, or not a number.

    Sources: naunheimer-2011 (cone normal force, from memory); checked by golden case
        naunheimer-2011--pressure-of-the-whole-face.

    >>> round(land_pressure_n_mm2(axial_force_n=60, half_angle_deg=6.5, mean_radius_mm=32, face_width_mm=8,
    ...                           land_share=0.5), 4)
    0.659
    """
    check_positive(quantity="axial force", value=axial_force_n, unit="N")
    check_within(
        quantity="half angle",
        value=half_angle_deg,
        low=0.0,
        high=STEEPEST_HALF_ANGLE_DEG,
        unit="°",
        low_included=False,
    )
    check_positive(quantity="mean radius", value=mean_radius_mm, unit="mm")
    check_positive(quantity="face width", value=face_width_mm, unit="mm")
    check_within(quantity="land share", value=land_share, low=0.0, high=1.0, unit="", low_included=False)
    land_area_mm2 = land_share * 2.0 * pi * mean_radius_mm * face_width_mm
    return axial_force_n / sin(radians(half_angle_deg)) / land_area_mm2
