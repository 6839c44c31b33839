"""Kinematic viscosity and temperature on the ASTM D341 chart, and the step to dynamic viscosity."""

from math import exp, inf, log10
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from knowledge.physics.limits import OutOfRange, check_positive, check_within

ZERO_CELSIUS_K = 273.15
THINNEST_MM2_S = 0.21
THICKEST_MM2_S = 2.0e7

_SHORT_FORM_FROM_MM2_S = 2.0
_SHORT_FORM_FROM_Z = 2.7
_LOG_LOG_ROUNDING = 1e-12
_LOG_LOG_Z_SHORT_FORM = log10(log10(_SHORT_FORM_FROM_Z)) - _LOG_LOG_ROUNDING
_LOG_LOG_Z_THICKEST = log10(log10(THICKEST_MM2_S + 0.7))
_LOG_KELVIN_TOO_HOT = 5.0


class ViscosityLine(NamedTuple):
    """The straight line of one oil on the D341 chart: log10 log10 Z = intercept_a - slope_b·log10 T, T in kelvin."""

    intercept_a: float
    slope_b: float


def _low_viscosity_z(v: float) -> float:
    """Z of D341 below 2 mm²/s, where correction terms join in one after another."""
    z = v + 0.7 + exp(-1.14883 - 2.65868 * v)
    if v < 1.65:
        z -= exp(-0.0038138 - 12.5645 * v)
    if v < 0.90:
        z += exp(5.46491 - 37.6289 * v)
    if v < 0.30:
        z -= exp(13.0458 - 74.6851 * v) - exp(37.4619 - 192.643 * v)
    if v < 0.24:
        z -= exp(80.4945 - 400.468 * v)
    return z


_THINNEST_Z = _low_viscosity_z(THINNEST_MM2_S)
_LOG_LOG_Z_THINNEST = log10(log10(_THINNEST_Z))


def viscosity_z(*, kinematic_viscosity_mm2_s: float) -> float:
    """The quantity Z whose double logarithm is straight over log T for most oils.

    Z = v + 0.7 + C - D + E - F + G - H      (C for v < 2.00, D < 1.65, E < 0.90, F and G < 0.30, H < 0.24)

    Valid from 0.21 to 2e7 mm²/s; outside, raises OutOfRange. Each term is dropped at its breakpoint while it
    is not quite zero, so Z jumps there: by 0.00155 at 2.00, 9e-5 at 0.30, and under 2e-7 at the others.

    Args:
        kinematic_viscosity_mm2_s: v [mm²/s].

    Sources: astm-d341-20 (constants from two independent reproductions; end points from memory); checked by
        golden cases astm-d341-20--z-at-0.5, --z-at-1.0 and --z-at-1.5 in tests/golden/viscosity.toml.
    """
    if _SHORT_FORM_FROM_MM2_S <= kinematic_viscosity_mm2_s <= THICKEST_MM2_S:
        return kinematic_viscosity_mm2_s + 0.7
    check_within(
        quantity="kinematic viscosity",
        value=kinematic_viscosity_mm2_s,
        low=THINNEST_MM2_S,
        high=THICKEST_MM2_S,
        unit="mm2/s",
    )
    return _low_viscosity_z(kinematic_viscosity_mm2_s)


def kinematic_viscosity_from_z_mm2_s(*, z: float) -> float:
    """The viscosity that has a given Z: the inverse of viscosity_z.

    v = Z - 0.7   for Z >= 2.7;   below that, v is found by halving the interval until Z(v) = Z

    Valid for Z between Z(0.21) = 1.0590 and Z(2e7); outside, raises OutOfRange. Because of the jumps of Z, two
    viscosities share a Z just above 2.7: the thicker one is returned, so a v between 1.9984 and 2.0 comes back
    up to 0.08 % thicker. A Z inside one of the other jumps gives the breakpoint itself. In this way viscosity
    never rises as Z falls. Elsewhere the inverse is exact to rounding.

    Args:
        z: Z of D341 [-].

    Sources: astm-d341-20, full form solved numerically (its own approximate inverse is not used); checked
        against a root finder in tests/knowledge/physics/test_viscosity.py.
    """
    if _SHORT_FORM_FROM_Z <= z <= THICKEST_MM2_S + 0.7:
        return z - 0.7
    check_within(quantity="Z", value=z, low=_THINNEST_Z, high=THICKEST_MM2_S + 0.7, unit="")
    low, high = THINNEST_MM2_S, _SHORT_FORM_FROM_MM2_S
    middle = 0.5 * (low + high)
    while low < middle < high:
        if _low_viscosity_z(middle) <= z:
            low = middle
        else:
            high = middle
        middle = 0.5 * (low + high)
    return middle


def viscosity_line_through(
    *, first_temperature_c: float, first_kv_mm2_s: float, second_temperature_c: float, second_kv_mm2_s: float
) -> ViscosityLine:
    """The D341 line through two measured points of one oil, the colder point first.

    B = (log log Z1 - log log Z2) / (log T2 - log T1);   A = log log Z1 + B·log T1      (T in K)

    Valid for viscosities from 0.21 to 2e7 mm²/s of a homogeneous liquid between cloud point and start of
    boiling, which no number given here can show; outside the viscosity range, raises OutOfRange.

    Args:
        first_temperature_c: colder temperature [°C].
        first_kv_mm2_s: kinematic viscosity there [mm²/s], above second_kv_mm2_s.
        second_temperature_c: hotter temperature [°C].
        second_kv_mm2_s: kinematic viscosity there [mm²/s].

    Sources: astm-d341-20; checked by golden case astm-d341-20--spreadsheet-offset-273.
    """
    first_z = viscosity_z(kinematic_viscosity_mm2_s=first_kv_mm2_s)
    second_z = viscosity_z(kinematic_viscosity_mm2_s=second_kv_mm2_s)
    check_within(
        quantity="first temperature", value=first_temperature_c, low=-ZERO_CELSIUS_K, unit="°C", low_included=False
    )
    check_within(
        quantity="second temperature",
        value=second_temperature_c,
        low=first_temperature_c,
        unit="°C",
        low_included=False,
    )
    first_w, second_w = log10(log10(first_z)), log10(log10(second_z))
    if not (first_kv_mm2_s > second_kv_mm2_s and first_w > second_w):
        raise OutOfRange(
            quantity="kinematic viscosity at the colder point",
            value=first_kv_mm2_s,
            low=second_kv_mm2_s,
            high=THICKEST_MM2_S,
            unit="mm2/s",
            low_included=False,
        )
    first_log_t = log10(first_temperature_c + ZERO_CELSIUS_K)
    second_log_t = log10(second_temperature_c + ZERO_CELSIUS_K)
    slope_b = (first_w - second_w) / (second_log_t - first_log_t)
    return ViscosityLine(intercept_a=first_w + slope_b * first_log_t, slope_b=slope_b)


def viscosity_line(*, kv40_mm2_s: float, kv100_mm2_s: float) -> ViscosityLine:
    """The D341 line of an oil from its 40 °C and 100 °C viscosities, as data sheets give them.

    See viscosity_line_through with T1 = 40 °C and T2 = 100 °C.

    Valid for viscosities from 0.21 to 2e7 mm²/s; outside, raises OutOfRange.

    Args:
        kv40_mm2_s: kinematic viscosity at 40 °C [mm²/s], above kv100_mm2_s.
        kv100_mm2_s: kinematic viscosity at 100 °C [mm²/s].

    Sources: astm-d341-20; checked by golden case astm-d341-20--line-32-and-5.4.
    """
    return viscosity_line_through(
        first_temperature_c=40.0,
        first_kv_mm2_s=kv40_mm2_s,
        second_temperature_c=100.0,
        second_kv_mm2_s=kv100_mm2_s,
    )


def viscosity_lines(*, kv40_mm2_s: NDArray[np.float64], kv100_mm2_s: float) -> NDArray[np.float64]:
    """The D341 lines of many oils of one KV100: their A in the first row, their B in the second.

    A and B as `viscosity_line`, Z = v + 0.7

    Valid where both viscosities are 2 mm²/s or more and the KV40 is above the KV100; else NaN.

    Args:
        kv40_mm2_s: kinematic viscosities at 40 °C [mm²/s].
        kv100_mm2_s: kinematic viscosity at 100 °C [mm²/s].

    Sources: astm-d341-20; checked against `viscosity_line` in tests/knowledge/physics/test_viscosity.py.
    """
    is_valid = (kv40_mm2_s > kv100_mm2_s) & (kv100_mm2_s >= _SHORT_FORM_FROM_MM2_S)
    (cold, hot), hot_w = np.log10(np.array([40.0, 100.0]) + ZERO_CELSIUS_K), log10(log10(kv100_mm2_s + 0.7))
    cold_w = np.log10(np.log10(np.where(is_valid, kv40_mm2_s, np.nan) + 0.7))
    slopes = (cold_w - hot_w) / (hot - cold)
    return np.array((cold_w + slopes * cold, slopes))


def kinematic_viscosity_mm2_s(*, line: ViscosityLine, temperature_c: float) -> float:
    """Kinematic viscosity of an oil at a temperature, read off its D341 line.

    log10 log10 Z = A - B·log10 T;   v from Z by the inverse of the full form      (T in K)

    Valid while the result is between 0.21 and 2e7 mm²/s; beyond, raises OutOfRange with the temperatures at
    which this oil reaches those two. Below 0 °C the figure is screening only, see is_screening.

    Args:
        line: from viscosity_line or viscosity_line_through.
        temperature_c: oil temperature [°C].

    Sources: astm-d341-20; checked by golden case astm-d341-20--100-and-11.25-at-80.
    """
    intercept_a, slope_b = line
    kelvin = temperature_c + ZERO_CELSIUS_K
    if kelvin > 0.0:
        w = intercept_a - slope_b * log10(kelvin)
        if _LOG_LOG_Z_SHORT_FORM <= w <= _LOG_LOG_Z_THICKEST + _LOG_LOG_ROUNDING:
            kv_mm2_s: float = 10.0**10.0**w - 0.7
            return kv_mm2_s
        if _LOG_LOG_Z_THINNEST - _LOG_LOG_ROUNDING <= w < _LOG_LOG_Z_SHORT_FORM:
            return kinematic_viscosity_from_z_mm2_s(z=max(10.0**10.0**w, _THINNEST_Z))
    raise OutOfRange(
        quantity="temperature",
        value=temperature_c,
        low=_kelvin(line, _LOG_LOG_Z_THICKEST) - ZERO_CELSIUS_K,
        high=_kelvin(line, _LOG_LOG_Z_THINNEST) - ZERO_CELSIUS_K,
        unit="°C",
    )


def kinematic_viscosities_mm2_s(
    *, intercepts_a: NDArray[np.float64], slopes_b: NDArray[np.float64], temperatures_c: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Kinematic viscosity of many oils at many temperatures; NaN where `kinematic_viscosity_mm2_s` is out of range.

    log10 log10 Z = A - B·log10 T;   v from Z as there      (T in K)

    Args:
        intercepts_a: A of each D341 line [-], shape (n,) or (n, k).
        slopes_b: B of each line [-], the same shape.
        temperatures_c: oil temperatures above absolute zero [°C], shape (m,), or (m, n) with those of each line; the
            result has shape (m, n) or (m, n, k).

    Sources: astm-d341-20; checked against `kinematic_viscosity_mm2_s` in tests/knowledge/physics/test_viscosity.py.
    """
    log_kelvin = np.log10(temperatures_c + ZERO_CELSIUS_K)
    shape = *log_kelvin.shape, *(1,) * (intercepts_a.ndim + 1 - log_kelvin.ndim)
    w = intercepts_a - slopes_b * log_kelvin.reshape(shape)
    is_short = (w >= _LOG_LOG_Z_SHORT_FORM) & (w <= _LOG_LOG_Z_THICKEST + _LOG_LOG_ROUNDING)
    if is_short.all():
        return np.power(10.0, np.power(10.0, w)) - 0.7
    found = np.full(w.shape, np.nan)
    found[is_short] = np.power(10.0, np.power(10.0, w[is_short])) - 0.7
    # Below 2 mm²/s the full form has no inverse but a search.
    for place in np.argwhere(~is_short & (w >= _LOG_LOG_Z_THINNEST - _LOG_LOG_ROUNDING) & (w < _LOG_LOG_Z_SHORT_FORM)):
        at = tuple(place)
        found[at] = kinematic_viscosity_from_z_mm2_s(z=max(10.0**10.0 ** float(w[at]), _THINNEST_Z))
    return found


def _kelvin(line: ViscosityLine, log_log_z: float) -> float:
    """Absolute temperature at a double logarithm of Z; infinite where a nearly flat line never gets there."""
    log_kelvin = (line.intercept_a - log_log_z) / line.slope_b
    return 10.0**log_kelvin if log_kelvin < _LOG_KELVIN_TOO_HOT else inf


def temperature_c(*, line: ViscosityLine, kinematic_viscosity_mm2_s: float) -> float:
    """Temperature at which an oil has a given kinematic viscosity.

    log10 T = (A - log10 log10 Z) / B      (T in K)

    Valid from 0.21 to 2e7 mm²/s; outside, raises OutOfRange. Below 0 °C the figure is screening only.

    Args:
        line: from viscosity_line or viscosity_line_through.
        kinematic_viscosity_mm2_s: viscosity to reach [mm²/s].

    Sources: astm-d341-20; checked by golden case astm-d341-20--temperature-of-19.6788.
    """
    z = viscosity_z(kinematic_viscosity_mm2_s=kinematic_viscosity_mm2_s)
    celsius = _kelvin(line, log10(log10(z))) - ZERO_CELSIUS_K
    too_hot_c = 10.0**_LOG_KELVIN_TOO_HOT - ZERO_CELSIUS_K
    check_within(
        quantity="temperature", value=celsius, low=-ZERO_CELSIUS_K, high=too_hot_c, unit="°C", low_included=False
    )
    return celsius


def is_screening(*, temperature_c: float) -> bool:
    """Whether a viscosity extrapolated to this temperature is good for screening only.

    T < 0 °C

    Wax and viscosity modifiers make cold oil depart from its D341 line without bound, so no grade and no
    promise may rest on such a figure; a measured ASTM D2983 value is wanted instead.

    Args:
        temperature_c: oil temperature [°C].

    Sources: astm-d2983-22 (reason for measuring); the limit of 0 °C is our judgement; checked by golden case
        astm-d341-20--pao-6-at-minus-40 shows a 61 % error.
    """
    check_within(quantity="temperature", value=temperature_c, low=-ZERO_CELSIUS_K, unit="°C", low_included=False)
    return temperature_c < 0.0


def dynamic_viscosity_mpa_s(*, kinematic_viscosity_mm2_s: float, density_kg_m3: float) -> float:
    """Dynamic viscosity from kinematic viscosity and density at the same temperature.

    eta = v·rho / 1000      (mPa·s, mm²/s, kg/m³)

    Valid for positive values; outside, raises OutOfRange.

    Args:
        kinematic_viscosity_mm2_s: v [mm²/s].
        density_kg_m3: rho at the temperature of v [kg/m³].

    Sources: definition; checked by golden case astm-d445--14.5-at-825.8.
    """
    check_positive(quantity="kinematic viscosity", value=kinematic_viscosity_mm2_s, unit="mm2/s")
    check_positive(quantity="density", value=density_kg_m3, unit="kg/m3")
    return kinematic_viscosity_mm2_s * density_kg_m3 / 1000.0
