"""Density over temperature, against the form printed in °F."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from knowledge.physics.density import densities_kg_m3, density_kg_m3
from knowledge.physics.limits import OutOfRange

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
