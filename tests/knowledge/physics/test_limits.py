"""Every physics function refuses what its docstring does not promise, at and beyond each edge."""

import inspect
import math

import pytest

from knowledge.physics import (
    bearing,
    cone,
    density,
    film,
    grades,
    interface_heat,
    ring_wear,
    synchronizing,
    viscosity,
    viscosity_index,
    wiping,
)
from knowledge.physics.limits import OutOfRange, check_positive, check_within

STRIP = {"land_width_mm": 0.3, "land_pressure_n_mm2": 0.6, "film_start_um": 50.0, "film_end_um": 2.0}
PAIR = {
    "pitch_radius_1_mm": 25.0, "pitch_radius_2_mm": 50.0, "pressure_angle_deg": 20.0, "speed_rpm": 3000.0,
    "torque_nm": 100.0, "face_width_mm": 25.0,
}
CONTACT = {"line_load_n_mm": 170.0, "relative_radius_mm": 5.7, "effective_modulus_gpa": 226.0}
FILM = CONTACT | {
    "entrainment_speed_m_s": 2.7, "dynamic_viscosity_mpa_s": 10.0, "pressure_viscosity_mm2_n": 0.014
}
CONE = {
    "axial_force_n": 60.0, "half_angle_deg": 6.5, "mean_radius_mm": 32.0, "face_width_mm": 8.0, "land_share": 0.5
}
POSITIVE_ONLY = [
    (viscosity.dynamic_viscosity_mpa_s, {"kinematic_viscosity_mm2_s": 14.5, "density_kg_m3": 825.8}),
    (wiping.wiping_time_s, STRIP | {"dynamic_viscosity_mpa_s": 100.0}),
    (wiping.dynamic_viscosity_for_wiping_time_mpa_s, STRIP | {"wiping_time_s": 0.06}),
    (wiping.land_pressure_n_mm2, CONE),
    (wiping.finite_land_factor, {"length_to_width": 3.0}),
    (bearing.reference_viscosity_mm2_s, {"speed_rpm": 2500.0, "pitch_diameter_mm": 55.0}),
    (bearing.viscosity_ratio, {"kinematic_viscosity_mm2_s": 12.0, "reference_viscosity_mm2_s": 10.0}),
    (film.pitch_point, PAIR),
    (film.effective_modulus_gpa, {"modulus_1_gpa": 206.0, "modulus_2_gpa": 206.0, "poisson_1": 0.3, "poisson_2": 0.3}),
    (film.pressure_viscosity_coefficient_mm2_n,
     {"dynamic_viscosity_mpa_s": 10.0, "coefficient_k": 0.0105, "exponent_s": 0.13}),
    (film.minimum_film_um, FILM),
    (film.contact_pressure_n_mm2, CONTACT),
    (film.film_lambda, {"film_um": 0.2, "composite_roughness_um": 0.6}),
    (density.density_kg_m3, {"density15_kg_m3": 880.0, "temperature_c": 60.0}),
]
ALLOWED_ANYWAY = {("film_start_um", math.inf), ("poisson_1", 0.0), ("poisson_2", 0.0), ("temperature_c", 0.0),
                  ("temperature_c", -1.0)}
ARGUMENTS = [
    pytest.param(function, valid, argument, bad, id=f"{function.__name__}-{argument}-{bad}")
    for function, valid in POSITIVE_ONLY
    for argument in valid
    for bad in (0.0, -1.0, math.nan, math.inf, -math.inf)
    if (argument, bad) not in ALLOWED_ANYWAY
]


@pytest.mark.parametrize("function, valid, argument, bad", ARGUMENTS)
def test_argument_is_refused_when_impossible(function, valid, argument, bad):
    assert function(**valid)
    with pytest.raises(OutOfRange):
        function(**valid | {argument: bad})


@pytest.mark.parametrize(
    "function, valid, argument, edge, beyond",
    [
        (viscosity.viscosity_z, {}, "kinematic_viscosity_mm2_s", 0.21, -1),
        (viscosity.viscosity_z, {}, "kinematic_viscosity_mm2_s", 2e7, +1),
        (wiping.land_pressure_n_mm2, CONE, "half_angle_deg", 45.0, +1),
        (wiping.land_pressure_n_mm2, CONE, "land_share", 1.0, +1),
        (film.pitch_point, PAIR, "pressure_angle_deg", 45.0, +1),
        (film.effective_modulus_gpa, dict(POSITIVE_ONLY[8][1]), "poisson_2", 0.5, +1),
        (film.effective_modulus_gpa, dict(POSITIVE_ONLY[8][1]), "poisson_1", 0.0, -1),
    ],
)
def test_edge_is_taken_and_the_next_number_refused(function, valid, argument, edge, beyond):
    assert function(**valid | {argument: edge})
    with pytest.raises(OutOfRange) as refusal:
        function(**valid | {argument: math.nextafter(edge, beyond * math.inf)})
    assert edge in (refusal.value.low, refusal.value.high)


@pytest.mark.parametrize(
    "function, valid, argument",
    [(film.pitch_point, PAIR, "pressure_angle_deg"), (wiping.land_pressure_n_mm2, CONE, "half_angle_deg"),
     (wiping.land_pressure_n_mm2, CONE, "land_share")],
)
def test_small_values_above_zero_are_taken(function, valid, argument):
    assert function(**valid | {argument: 1e-3})


@pytest.mark.parametrize("value", [0.2, 2.1e7, -1.0, math.nan, math.inf])
def test_temperature_refuses_viscosities_off_the_chart(value):
    line = viscosity.viscosity_line(kv40_mm2_s=100, kv100_mm2_s=11.25)
    with pytest.raises(OutOfRange):
        viscosity.temperature_c(line=line, kinematic_viscosity_mm2_s=value)


@pytest.mark.parametrize("celsius", [-273.15, math.nan, math.inf, -math.inf])
def test_screening_refuses_impossible_temperatures(celsius):
    with pytest.raises(OutOfRange):
        viscosity.is_screening(temperature_c=celsius)


def test_refusal_says_what_was_wrong_in_plain_words():
    with pytest.raises(ValueError, match=r"^kinematic viscosity 0\.1 mm2/s is out of range: 0\.21 to 2e\+07 mm2/s\.$"):
        check_within(quantity="kinematic viscosity", value=0.1, low=0.21, high=2e7, unit="mm2/s")
    with pytest.raises(ValueError, match=r"^speed nan 1/min is out of range: above 0 1/min\.$"):
        check_positive(quantity="speed", value=math.nan, unit="1/min")
    with pytest.raises(ValueError, match=r"^land share 2 is out of range: above 0 to 1\.$"):
        check_within(quantity="land share", value=2, low=0, high=1, unit="", low_included=False)


def test_refusal_carries_its_figures():
    with pytest.raises(OutOfRange) as refusal:
        check_within(quantity="KV100", value=1.9, low=2.0, unit="mm2/s")
    fault = refusal.value
    assert (fault.quantity, fault.value, fault.low, fault.high, fault.unit) == ("KV100", 1.9, 2.0, math.inf, "mm2/s")
    assert "2 mm2/s or more" in str(fault)


MODULES = (
    bearing,
    cone,
    density,
    film,
    grades,
    interface_heat,
    ring_wear,
    synchronizing,
    viscosity,
    viscosity_index,
    wiping,
)


@pytest.mark.parametrize("module", MODULES)
def test_public_functions_take_keywords_only_and_are_documented(module):
    functions = [
        function for name, function in inspect.getmembers(module, inspect.isfunction)
        if function.__module__ == module.__name__ and not name.startswith("_")
    ]
    assert functions
    for function in functions:
        kinds = {argument.kind for argument in inspect.signature(function).parameters.values()}
        assert kinds == {inspect.Parameter.KEYWORD_ONLY}
        for part in ("Args:", "Raises:", "Sources:"):
            assert part in function.__doc__
