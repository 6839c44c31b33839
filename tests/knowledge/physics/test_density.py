"""Density over temperature, and the temperature of a given dynamic viscosity, against the form printed in °F."""

import math

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from knowledge.physics.density import densities_kg_m3, density_kg_m3, temperature_at_dynamic_viscosity_c
from knowledge.physics.limits import OutOfRange
from knowledge.physics.viscosity import kinematic_viscosity_mm2_s, temperature_c, viscosity_line

densities = st.floats(801.0, 1164.0)


def fahrenheit_form(density, celsius):
    """D1250 as printed, in °F from 59 °F, natural units of the source; K0 = K2 = 0, K1 = 0.34878."""
    rise_f = celsius * 9 / 5 + 32 - 59
    alpha = 0.34878 / density
    return density * math.exp(-alpha * rise_f - 0.8 * (alpha * rise_f) ** 2)


@given(density15=densities, celsius=st.floats(-50.0, 150.0))
def test_density_agrees_with_the_fahrenheit_form(density15, celsius):
    found = density_kg_m3(density15_kg_m3=density15, temperature_c=celsius)
    assert found == pytest.approx(fahrenheit_form(density15, celsius), rel=1e-12)


def test_many_densities_are_those_of_each_oil_by_itself():
    oils, celsius = np.array([801.0, 850.0, 893.0, 1164.0]), np.array([-50.1, -50.0, -0.0, 15.0, 100.0, 150.0, 150.1])
    found = densities_kg_m3(densities15_kg_m3=oils, temperatures_c=celsius)
    assert found.shape == (len(celsius), len(oils))
    for row, one_c in zip(found, celsius.tolist(), strict=True):
        for value, oil in zip(row, oils.tolist(), strict=True):
            try:
                assert value == pytest.approx(density_kg_m3(density15_kg_m3=oil, temperature_c=one_c), rel=1e-13)
            except OutOfRange:
                assert math.isnan(value)
    assert np.isnan(found).any(axis=1).tolist() == [True, False, False, False, False, False, True]
    inside = densities_kg_m3(densities15_kg_m3=oils, temperatures_c=celsius[1:-1])
    assert (inside == found[1:-1]).all()


# About -0.64 kg/m³ per kelvin for any lubricant: a rule of thumb, from memory.
@pytest.mark.parametrize("density15", [850, 875, 900])
def test_density_falls_by_about_0_64_per_kelvin(density15):
    at_40, at_100 = (density_kg_m3(density15_kg_m3=density15, temperature_c=t) for t in (40, 100))
    assert (at_100 - at_40) / 60 == pytest.approx(-0.64, abs=0.005)


# The base-temperature shift of 0.6 K that is left out, as the docstring says, stays below 0.1 kg/m³ at 150 °C.
def test_base_temperature_shift_stays_below_a_tenth():
    density60f = 880 - 0.6278 * (60 - 59) * 5 / 9
    rise_f = 302 - 60
    alpha = 0.34878 / density60f
    exact = density60f * math.exp(-alpha * rise_f * (1 + 0.8 * alpha * rise_f))
    assert density_kg_m3(density15_kg_m3=880, temperature_c=150) == pytest.approx(exact, abs=0.1)


@given(
    kv100=st.floats(4.0, 30.0),
    ratio=st.floats(4.0, 14.0),
    density15=st.floats(830.0, 920.0),
    celsius=st.floats(-50.0, 150.0),
)
def test_temperature_of_a_dynamic_viscosity_has_that_viscosity(kv100, ratio, density15, celsius):
    line = viscosity_line(kv40_mm2_s=kv100 * ratio, kv100_mm2_s=kv100)
    try:
        kinematic = kinematic_viscosity_mm2_s(line=line, temperature_c=celsius)
    except OutOfRange:
        assume(False)
    assume(kinematic > 2.002 and -49.999 < celsius < 149.999)
    dynamic = kinematic * fahrenheit_form(density15, celsius) / 1000
    found = temperature_at_dynamic_viscosity_c(line=line, density15_kg_m3=density15, dynamic_viscosity_mpa_s=dynamic)
    assert found == pytest.approx(celsius, abs=1e-6)


def test_temperature_is_found_up_to_the_thick_end_of_the_chart():
    line = viscosity_line(kv40_mm2_s=400, kv100_mm2_s=16)
    thickest_c = temperature_c(line=line, kinematic_viscosity_mm2_s=1.999e7)
    dynamic = 1.999e7 * fahrenheit_form(880, thickest_c) / 1000
    found = temperature_at_dynamic_viscosity_c(line=line, density15_kg_m3=880, dynamic_viscosity_mpa_s=dynamic)
    assert found == pytest.approx(thickest_c, abs=1e-7)
    with pytest.raises(OutOfRange) as refusal:
        temperature_at_dynamic_viscosity_c(line=line, density15_kg_m3=880, dynamic_viscosity_mpa_s=dynamic * 1.01)
    told = refusal.value
    assert (told.quantity, told.low, told.high, told.unit) == ("kinematic viscosity", 0.21, 2e7, "mm2/s")


def test_refusal_tells_an_oil_still_thin_at_the_cold_end():
    line = viscosity_line(kv40_mm2_s=34, kv100_mm2_s=7.3)
    with pytest.raises(OutOfRange) as refusal:
        temperature_at_dynamic_viscosity_c(line=line, density15_kg_m3=850, dynamic_viscosity_mpa_s=150_000)
    assert (refusal.value.quantity, refusal.value.unit, refusal.value.high) == ("temperature", "°C", 150)
    assert refusal.value.value < refusal.value.low == -50


@pytest.mark.parametrize("dynamic", [1.0, 1e12])
def test_no_temperature_for_a_viscosity_beyond_the_hot_end_or_the_chart(dynamic):
    line = viscosity_line(kv40_mm2_s=145, kv100_mm2_s=14.5)
    with pytest.raises(OutOfRange):
        temperature_at_dynamic_viscosity_c(line=line, density15_kg_m3=885, dynamic_viscosity_mpa_s=dynamic)
