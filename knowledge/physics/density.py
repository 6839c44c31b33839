"""Density of a lubricant over temperature, and the temperature at which it has a given dynamic viscosity."""

from math import exp

import numpy as np
from numpy.typing import NDArray

from knowledge.physics.limits import check_positive, check_within
from knowledge.physics.viscosity import THICKEST_MM2_S, THINNEST_MM2_S, ViscosityLine, temperature_c

LIGHTEST_KG_M3 = 801.0
HEAVIEST_KG_M3 = 1164.0
COLDEST_C = -50.0
HOTTEST_C = 150.0

_EXPANSION_KG_M3_K = 0.34878 * 1.8
_SETTLED_K = 1e-6
_MOST_ROUNDS = 60


def density_kg_m3(*, density15_kg_m3: float, temperature_c: float) -> float:
    """Density of a lubricating oil at a temperature, from its density at 15 °C.

    rho = rho15·exp(-a·dT·(1 + 0.8·a·dT)),   a = 0.34878·1.8 / rho15,   dT = T - 15      (kg/m³, °C)

    Valid for rho15 from 801 to 1164 kg/m³ and -50 to 150 °C; outside, raises OutOfRange.
    Departs from the source: the coefficient is stated per °F at a 60 °F base; the 0.6 K between 60 °F and
    15 °C is ignored (below 0.1 kg/m³). Temperature limits are from memory.

    Args:
        density15_kg_m3: density at 15 °C [kg/m³].
        temperature_c: oil temperature [°C].

    Sources: astm-d1250-04 (lubricating-oil group); checked by golden case astm-d1250-04--880-at-100.
    """
    _check_density15(density15_kg_m3)
    check_within(quantity="temperature", value=temperature_c, low=COLDEST_C, high=HOTTEST_C, unit="°C")
    return _density(density15_kg_m3, temperature_c)


def _check_density15(density15_kg_m3: float) -> None:
    check_within(
        quantity="density at 15 °C", value=density15_kg_m3, low=LIGHTEST_KG_M3, high=HEAVIEST_KG_M3, unit="kg/m3"
    )


def _density(density15_kg_m3: float, celsius: float) -> float:
    expansion = _EXPANSION_KG_M3_K / density15_kg_m3 * (celsius - 15.0)
    return density15_kg_m3 * exp(-expansion * (1.0 + 0.8 * expansion))


def densities_kg_m3(
    *, densities15_kg_m3: NDArray[np.float64], temperatures_c: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Density of many lubricating oils at many temperatures; NaN where `density_kg_m3` is out of range.

    Args:
        densities15_kg_m3: density at 15 °C [kg/m³], shape (n,).
        temperatures_c: oil temperatures [°C], shape (m,); the result has shape (m, n).

    Sources: astm-d1250-04; checked against `density_kg_m3` in tests/knowledge/physics/test_density.py.
    """
    expansion = _EXPANSION_KG_M3_K / densities15_kg_m3 * (temperatures_c[:, None] - 15.0)
    densities = densities15_kg_m3 * np.exp(-expansion * (1.0 + 0.8 * expansion))
    is_known = (temperatures_c >= COLDEST_C) & (temperatures_c <= HOTTEST_C)
    return densities if is_known.all() else np.where(is_known[:, None], densities, np.nan)


def temperature_at_dynamic_viscosity_c(
    *, line: ViscosityLine, density15_kg_m3: float, dynamic_viscosity_mpa_s: float
) -> float:
    """Temperature at which an oil has a given dynamic viscosity.

    T such that v(T)·rho(T)/1000 = eta      (mm²/s, kg/m³, mPa·s)

    Solved by taking rho at the last temperature, then T from v = 1000·eta/rho on the D341 line, until T stands
    still; density changes some fifty times less than viscosity, so a handful of rounds do. The rounds are kept
    on the D341 chart and the last one is checked against it.
    Valid for rho15 from 801 to 1164 kg/m³ and a result from -50 to 150 °C; outside, raises OutOfRange: then
    value is the temperature found on the line, so a value below low says the oil is that thick only colder.
    Below 0 °C the figure is screening only.

    Args:
        line: D341 line of the oil.
        density15_kg_m3: density at 15 °C [kg/m³].
        dynamic_viscosity_mpa_s: viscosity to reach [mPa·s].

    Sources: astm-d341-20, astm-d1250-04; checked by golden case astm-d1250-04--temperature-of-11.974.
    """
    _check_density15(density15_kg_m3)
    check_positive(quantity="dynamic viscosity", value=dynamic_viscosity_mpa_s, unit="mPa s")
    celsius = 15.0
    for _ in range(_MOST_ROUNDS):
        density = _density(density15_kg_m3, min(max(celsius, COLDEST_C), HOTTEST_C))
        kinematic = 1000.0 * dynamic_viscosity_mpa_s / density
        on_chart = min(max(kinematic, THINNEST_MM2_S), THICKEST_MM2_S)
        previous, celsius = celsius, temperature_c(line=line, kinematic_viscosity_mm2_s=on_chart)
        if abs(celsius - previous) < _SETTLED_K:
            break
    check_within(quantity="temperature", value=celsius, low=COLDEST_C, high=HOTTEST_C, unit="°C")
    check_within(quantity="kinematic viscosity", value=kinematic, low=THINNEST_MM2_S, high=THICKEST_MM2_S, unit="mm2/s")
    return celsius
