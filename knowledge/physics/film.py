"""Lubricant film between gear teeth at the pitch point: geometry, load, thickness, and what roughness leaves of it."""

from math import cos, pi, radians, sin
from typing import NamedTuple

from knowledge.physics.limits import check_positive, check_within

WIDEST_PRESSURE_ANGLE_DEG = 45.0
HIGHEST_POISSON_RATIO = 0.5

# Exponents of the film formula: of the pressure-viscosity coefficient and of the viscosity itself.
PRESSURE_POWER, VISCOSITY_POWER = 0.54, 0.70


class PitchPoint(NamedTuple):
    """The line contact of two gears where their pitch circles touch, and the teeth roll without sliding."""

    entrainment_speed_m_s: float
    relative_radius_mm: float
    line_load_n_mm: float


def pitch_point(
    *,
    pitch_radius_1_mm: float,
    pitch_radius_2_mm: float,
    pressure_angle_deg: float,
    speed_rpm: float,
    torque_nm: float,
    face_width_mm: float,
) -> PitchPoint:
    """Entrainment speed, relative radius and line load at the pitch point of an external spur pair.

    u = w1·r1·sin phi;   1/R = 1/(r1·sin phi) + 1/(r2·sin phi);   w' = T1 / (r1·b·cos phi)

    One pair of teeth carries the whole load. For helical gears use transverse radii and angle; load sharing
    and the base helix are then left out. Valid for positive sizes and a pressure angle above 0 and up to
    45°; outside, raises OutOfRange.

    Args:
        pitch_radius_1_mm: r1 of the gear whose speed and torque are given [mm].
        pitch_radius_2_mm: r2 of its mate [mm].
        pressure_angle_deg: phi, working pressure angle [°].
        speed_rpm: of gear 1 [rpm].
        torque_nm: T1 on gear 1 [N·m].
        face_width_mm: b, common face width [mm].

    Sources: dudley-1994 (involute geometry, from memory); checked by golden case dudley-1994--25-and-50-mm.
    """
    check_positive(quantity="pitch radius 1", value=pitch_radius_1_mm, unit="mm")
    check_positive(quantity="pitch radius 2", value=pitch_radius_2_mm, unit="mm")
    check_within(
        quantity="pressure angle",
        value=pressure_angle_deg,
        low=0.0,
        high=WIDEST_PRESSURE_ANGLE_DEG,
        unit="°",
        low_included=False,
    )
    check_positive(quantity="speed", value=speed_rpm, unit="rpm")
    check_positive(quantity="torque", value=torque_nm, unit="N m")
    check_positive(quantity="face width", value=face_width_mm, unit="mm")
    phi = radians(pressure_angle_deg)
    pitch_speed_m_s = speed_rpm * 2.0 * pi / 60.0 * pitch_radius_1_mm / 1000.0
    return PitchPoint(
        entrainment_speed_m_s=pitch_speed_m_s * sin(phi),
        relative_radius_mm=sin(phi) / (1.0 / pitch_radius_1_mm + 1.0 / pitch_radius_2_mm),
        line_load_n_mm=1000.0 * torque_nm / (pitch_radius_1_mm * face_width_mm * cos(phi)),
    )


def effective_modulus_gpa(*, modulus_1_gpa: float, modulus_2_gpa: float, poisson_1: float, poisson_2: float) -> float:
    """Elastic modulus of a pair of bodies in contact, in the film-theory definition.

    E' = 2 / ((1 - nu1²)/E1 + (1 - nu2²)/E2)

    Twice the modulus of Hertz' theory. Valid for positive moduli and Poisson ratios from 0 to 0.5; outside,
    raises OutOfRange.

    Args:
        modulus_1_gpa: E1 [GPa].
        modulus_2_gpa: E2 [GPa].
        poisson_1: nu1 [-].
        poisson_2: nu2 [-].

    Sources: dowson-higginson-1966; checked by golden case dowson-higginson-1966--steel-on-steel.
    """
    check_positive(quantity="modulus 1", value=modulus_1_gpa, unit="GPa")
    check_positive(quantity="modulus 2", value=modulus_2_gpa, unit="GPa")
    check_within(quantity="Poisson ratio 1", value=poisson_1, low=0.0, high=HIGHEST_POISSON_RATIO, unit="")
    check_within(quantity="Poisson ratio 2", value=poisson_2, low=0.0, high=HIGHEST_POISSON_RATIO, unit="")
    return 2.0 / ((1.0 - poisson_1**2) / modulus_1_gpa + (1.0 - poisson_2**2) / modulus_2_gpa)


def pressure_viscosity_coefficient_mm2_n(
    *, dynamic_viscosity_mpa_s: float, coefficient_k: float, exponent_s: float
) -> float:
    """Pressure-viscosity coefficient of an oil, estimated from its viscosity and the kind of its base oil.

    alpha = k·eta^s      (mm²/N, eta in mPa·s at the same temperature)

    Other correlations differ from this one by 20 to 45 %; film goes with alpha^0.54. Valid for positive
    values; else, raises OutOfRange.

    Args:
        dynamic_viscosity_mpa_s: eta [mPa·s].
        coefficient_k: k of the base-oil kind [mm²/N].
        exponent_s: s of the base-oil kind [-].

    Sources: agma-925-a03; checked by golden case agma-925-a03--mineral-10.
    """
    check_positive(quantity="dynamic viscosity", value=dynamic_viscosity_mpa_s, unit="mPa s")
    check_positive(quantity="coefficient k", value=coefficient_k, unit="mm2/N")
    check_positive(quantity="exponent s", value=exponent_s, unit="")
    coefficient_mm2_n: float = coefficient_k * dynamic_viscosity_mpa_s**exponent_s
    return coefficient_mm2_n


def minimum_film_um(
    *,
    entrainment_speed_m_s: float,
    relative_radius_mm: float,
    line_load_n_mm: float,
    dynamic_viscosity_mpa_s: float,
    pressure_viscosity_mm2_n: float,
    effective_modulus_gpa: float,
) -> float:
    """Least oil film thickness in a line contact of gear teeth.

    h/R = 2.65·G^0.54·U^0.70·W^-0.13,   G = alpha·E',   U = eta·u/(E'·R),   W = w'/(E'·R)

    Valid for smooth, fully flooded, isothermal line contacts stiff oil deforms elastically; shear heating at
    the inlet makes real films thinner at high speed. Positive values only; else, raises OutOfRange.

    Args:
        entrainment_speed_m_s: u, mean of the two surface speeds [m/s].
        relative_radius_mm: R [mm].
        line_load_n_mm: w', load per face width [N/mm].
        dynamic_viscosity_mpa_s: eta at the temperature of the teeth [mPa·s].
        pressure_viscosity_mm2_n: alpha [mm²/N].
        effective_modulus_gpa: E' [GPa].

    Sources: dowson-higginson-1966; checked by golden case dowson-higginson-1966--film-25-and-50-mm.
    """
    check_positive(quantity="entrainment speed", value=entrainment_speed_m_s, unit="m/s")
    check_positive(quantity="dynamic viscosity", value=dynamic_viscosity_mpa_s, unit="mPa s")
    check_positive(quantity="pressure-viscosity coefficient", value=pressure_viscosity_mm2_n, unit="mm2/N")
    _check_contact(line_load_n_mm, relative_radius_mm, effective_modulus_gpa)
    modulus_radius_n_mm = effective_modulus_gpa * 1e3 * relative_radius_mm
    g = pressure_viscosity_mm2_n * effective_modulus_gpa * 1e3
    u = dynamic_viscosity_mpa_s * 1e-6 * entrainment_speed_m_s / modulus_radius_n_mm
    w = line_load_n_mm / modulus_radius_n_mm
    film_um: float = 2.65 * g**PRESSURE_POWER * u**VISCOSITY_POWER * w**-0.13 * relative_radius_mm * 1e3
    return film_um


def _check_contact(line_load_n_mm: float, relative_radius_mm: float, effective_modulus_gpa: float) -> None:
    check_positive(quantity="line load", value=line_load_n_mm, unit="N/mm")
    check_positive(quantity="relative radius", value=relative_radius_mm, unit="mm")
    check_positive(quantity="effective modulus", value=effective_modulus_gpa, unit="GPa")


def film_lambda(*, film_um: float, composite_roughness_um: float) -> float:
    """Film thickness over roughness: how well the oil keeps the teeth apart.

    lambda = h / sigma

    Below 0.4 the film is a boundary film, above 1 it separates; between, it carries in part. Run-in teeth live
    with less than this scale suggests. Valid for positive values; else, raises OutOfRange.

    Args:
        film_um: h, least film thickness [µm].
        composite_roughness_um: sigma, root of the summed squares of both surfaces' Rq [µm].

    Sources: agma-925-a03 (bands, from memory); checked by golden case agma-925-a03--lambda.
    """
    check_positive(quantity="film", value=film_um, unit="um")
    check_positive(quantity="composite roughness", value=composite_roughness_um, unit="um")
    return film_um / composite_roughness_um
