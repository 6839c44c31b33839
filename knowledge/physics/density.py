"""Density of a lubricant over temperature."""

from math import exp

import numpy as np
from numpy.typing import NDArray

from knowledge.physics.limits import check_within

LIGHTEST_KG_M3 = 801.0
HEAVIEST_KG_M3 = 1164.0
COLDEST_C = -50.0
HOTTEST_C = 150.0

_EXPANSION_KG_M3_K = 0.34878 * 1.8


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
        temperatures_c: oil temperatures [°C], of any shape; the result has one axis more, of length n.

    Sources: astm-d1250-04; checked against `density_kg_m3` in tests/knowledge/physics/test_density.py.
    """
    expansion = _EXPANSION_KG_M3_K / densities15_kg_m3 * (temperatures_c[..., None] - 15.0)
    densities = densities15_kg_m3 * np.exp(-expansion * (1.0 + 0.8 * expansion))
    is_known = (temperatures_c >= COLDEST_C) & (temperatures_c <= HOTTEST_C)
    return densities if is_known.all() else np.where(is_known[..., None], densities, np.nan)
