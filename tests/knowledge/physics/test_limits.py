"""Every physics function refuses what its docstring does not promise, at and beyond each edge."""

import inspect
import math

import pytest

from knowledge.physics import film, viscosity, wiping
from knowledge.physics.limits import OutOfRange, check_positive, check_within

STRIP = {"land_width_mm": 0.3, "land_pressure_n_mm2": 0.6, "film_start_um": 50.0, "film_end_um": 2.0}
PAIR = {
    "pitch_radius_1_mm": 25.0,
    "pitch_radius_2_mm": 50.0,
    "pressure_angle_deg": 20.0,
    "speed_rpm": 3000.0,
    "torque_nm": 100.0,
    "face_width_mm": 25.0,
}
CONTACT = {"line_load_n_mm": 170.0, "relative_radius_mm": 5.7, "effective_modulus_gpa": 226.0}
FILM = CONTACT | {"entrainment_speed_m_s": 2.7, "dynamic_viscosity_mpa_s": 10.0, "pressure_viscosity_mm2_n": 0.014}
CONE = {"axial_force_n": 60.0, "half_angle_deg": 6.5, "mean_radius_mm": 32.0, "face_width_mm": 8.0, "land_share": 0.5}
MODULI = {"modulus_1_gpa": 206.0, "modulus_2_gpa": 206.0, "poisson_1": 0.3, "poisson_2": 0.3}


@pytest.mark.parametrize(
    ("function", "valid", "argument", "edge", "beyond"),
    [
        (viscosity.viscosity_z, {}, "kinematic_viscosity_mm2_s", 0.21, -1),
        (viscosity.viscosity_z, {}, "kinematic_viscosity_mm2_s", 2e7, +1),
        (wiping.land_pressure_n_mm2, CONE, "half_angle_deg", 45.0, +1),
        (wiping.land_pressure_n_mm2, CONE, "land_share", 1.0, +1),
        (film.pitch_point, PAIR, "pressure_angle_deg", 45.0, +1),
        (film.effective_modulus_gpa, MODULI, "poisson_2", 0.5, +1),
        (film.effective_modulus_gpa, MODULI, "poisson_1", 0.0, -1),
    ],
)
def test_edge_is_taken_and_the_next_number_refused(function, valid, argument, edge, beyond):
    assert function(**valid | {argument: edge})
    with pytest.raises(OutOfRange) as refusal:
        function(**valid | {argument: math.nextafter(edge, beyond * math.inf)})
    assert edge in (refusal.value.low, refusal.value.high)


@pytest.mark.parametrize(
    ("function", "valid", "argument"),
    [
        (film.pitch_point, PAIR, "pressure_angle_deg"),
        (wiping.land_pressure_n_mm2, CONE, "half_angle_deg"),
        (wiping.land_pressure_n_mm2, CONE, "land_share"),
    ],
)
def test_small_values_above_zero_are_taken(function, valid, argument):
    assert function(**valid | {argument: 1e-3})


def test_refusal_says_what_was_wrong_in_plain_words():
    with pytest.raises(ValueError, match=r"^kinematic viscosity 0\.1 mm2/s is out of range: 0\.21 to 2e\+07 mm2/s\.$"):
        check_within(quantity="kinematic viscosity", value=0.1, low=0.21, high=2e7, unit="mm2/s")
    with pytest.raises(ValueError, match=r"^speed nan rpm is out of range: above 0 rpm\.$"):
        check_positive(quantity="speed", value=math.nan, unit="rpm")
    with pytest.raises(ValueError, match=r"^land share 2 is out of range: above 0 to 1\.$"):
        check_within(quantity="land share", value=2, low=0, high=1, unit="", low_included=False)


def test_refusal_carries_its_figures():
    with pytest.raises(OutOfRange) as refusal:
        check_within(quantity="KV100", value=1.9, low=2.0, unit="mm2/s")
    fault = refusal.value
    assert (fault.quantity, fault.value, fault.low, fault.high, fault.unit) == ("KV100", 1.9, 2.0, math.inf, "mm2/s")
    assert "2 mm2/s or more" in str(fault)


def test_public_functions_take_keywords_only_and_are_documented(formulas, over_arrays):
    for name, function in formulas.items():
        kinds = {argument.kind for argument in inspect.signature(function).parameters.values()}
        assert kinds == {inspect.Parameter.KEYWORD_ONLY}
        for part in ("Args:", "Sources:", *(() if name in over_arrays else ("Raises:",))):
            assert part in function.__doc__
