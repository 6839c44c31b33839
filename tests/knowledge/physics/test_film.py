"""Gear film against a second implementation in SI units and against another published film formula."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from knowledge.physics.film import (
    effective_modulus_gpa,
    minimum_film_um,
    pitch_point,
    pressure_viscosity_coefficient_mm2_n,
)

STEEL = {"modulus_1_gpa": 206, "modulus_2_gpa": 206, "poisson_1": 0.3, "poisson_2": 0.3}
pairs = st.fixed_dictionaries(
    {
        "pitch_radius_1_mm": st.floats(10, 80),
        "pitch_radius_2_mm": st.floats(10, 120),
        "pressure_angle_deg": st.floats(14, 28),
        "speed_rpm": st.floats(50, 8000),
        "torque_nm": st.floats(5, 600),
        "face_width_mm": st.floats(8, 40),
    }
)
viscosities = st.floats(2, 500)


def si_contact(pair):
    """u [m/s], R [m], w' [N/m] from the path of contact instead of the closed forms."""
    r1, r2 = pair["pitch_radius_1_mm"] / 1e3, pair["pitch_radius_2_mm"] / 1e3
    phi = math.radians(pair["pressure_angle_deg"])
    base1, base2 = r1 * math.cos(phi), r2 * math.cos(phi)
    tangent1, tangent2 = math.sqrt(r1**2 - base1**2), math.sqrt(r2**2 - base2**2)
    omega1 = 2 * math.pi * pair["speed_rpm"] / 60
    speeds = omega1 * tangent1, omega1 * base1 / base2 * tangent2
    load = pair["torque_nm"] / base1 / (pair["face_width_mm"] / 1e3)
    return sum(speeds) / 2, tangent1 * tangent2 / (tangent1 + tangent2), load


def si_film(pair, viscosity_pa_s, alpha_per_pa, modulus_pa, form):
    """Film [m] by a formula given as its factor and exponents of U, G and W, in logarithms."""
    u, radius, load = si_contact(pair)
    factor, on_u, on_g, on_w = form
    log_film = math.log(factor) + on_u * math.log(viscosity_pa_s * u / (modulus_pa * radius))
    log_film += on_g * math.log(alpha_per_pa * modulus_pa) + on_w * math.log(load / (modulus_pa * radius))
    return math.exp(log_film) * radius


DOWSON_HIGGINSON = (2.65, 0.70, 0.54, -0.13)
PAN_HAMROCK = (1.714, 0.694, 0.568, -0.128)  # from memory


def film_of(pair, viscosity_mpa_s):
    contact = pitch_point(**pair)
    return minimum_film_um(
        **contact._asdict(),
        dynamic_viscosity_mpa_s=viscosity_mpa_s,
        pressure_viscosity_mm2_n=pressure_viscosity_coefficient_mm2_n(
            dynamic_viscosity_mpa_s=viscosity_mpa_s, coefficient_k=0.010471, exponent_s=0.1348
        ),
        effective_modulus_gpa=effective_modulus_gpa(**STEEL),
    )


@given(pair=pairs)
def test_pitch_point_agrees_with_the_path_of_contact(pair):
    u, radius, load = si_contact(pair)
    found = pitch_point(**pair)
    assert found.entrainment_speed_m_s == pytest.approx(u, rel=1e-9)
    assert found.relative_radius_mm == pytest.approx(radius * 1e3, rel=1e-9)
    assert found.line_load_n_mm == pytest.approx(load / 1e3, rel=1e-9)


@given(pair=pairs, viscosity=viscosities)
def test_film_agrees_with_the_same_formula_in_si_units(pair, viscosity):
    alpha = 0.010471 * viscosity**0.1348 * 1e-6
    expected = si_film(pair, viscosity / 1e3, alpha, 206e9 / 0.91, DOWSON_HIGGINSON)
    assert film_of(pair, viscosity) == pytest.approx(expected * 1e6, rel=1e-9)


@given(pair=pairs, viscosity=viscosities)
def test_film_lies_near_another_published_film_formula(pair, viscosity):
    alpha = 0.010471 * viscosity**0.1348 * 1e-6
    other = si_film(pair, viscosity / 1e3, alpha, 206e9 / 0.91, PAN_HAMROCK)
    assert 0.9 < film_of(pair, viscosity) / (other * 1e6) < 1.3
