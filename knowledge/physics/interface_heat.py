"""Temperature of the friction face: the flash of one shift, and the warmth that many shifts leave behind."""

from math import expm1, inf, pi, sqrt
from typing import NamedTuple

from knowledge.physics.limits import OutOfRange, check_positive, check_within

PEAK_COEFFICIENT = 4.0 / (3.0 * sqrt(2.0 * pi))  # of q0·sqrt(ts)/(e1 + e2), for a linearly falling flux

_W_MM2_TO_W_M2 = 1e6


class BulkRise(NamedTuple):
    """How much warmer than the sump ring and cone are through and through, around one shift of a row."""

    before_k: float
    after_k: float


def effusivity_w_s05_m2_k(*, conductivity_w_m_k: float, density_kg_m3: float, specific_heat_j_kg_k: float) -> float:
    """Thermal effusivity of a material: how much heat its surface swallows for each kelvin it warms.

    e = sqrt(k·rho·c)      (W·√s/(m²·K); positive values, else raises OutOfRange)

    Args:
        conductivity_w_m_k: k [W/(m·K)].
        density_kg_m3: rho [kg/m³].
        specific_heat_j_kg_k: c [J/(kg·K)].

    Sources: carslaw-jaeger-1959 (from memory); checked by golden case carslaw-jaeger-1959--effusivity-of-steel.
    """
    check_positive(quantity="conductivity", value=conductivity_w_m_k, unit="W/(m K)")
    check_positive(quantity="density", value=density_kg_m3, unit="kg/m3")
    check_positive(quantity="specific heat", value=specific_heat_j_kg_k, unit="J/(kg K)")
    return sqrt(conductivity_w_m_k * density_kg_m3 * specific_heat_j_kg_k)


def constant_flux_rise_k(
    *, flux_w_mm2: float, time_s: float, facing_effusivity_w_s05_m2_k: float, cone_effusivity_w_s05_m2_k: float
) -> float:
    """Temperature rise of the face under a steady friction power.

    dT = 2·q·sqrt(t/pi) / (e1 + e2)

    Valid as falling_flux_rise_k, without an end.

    Args:
        flux_w_mm2: q, friction power per area of real contact [W/mm²].
        time_s: t since the power came on, 0 allowed [s].
        facing_effusivity_w_s05_m2_k: e1 [W·√s/(m²·K)].
        cone_effusivity_w_s05_m2_k: e2 [W·√s/(m²·K)].

    Sources: carslaw-jaeger-1959 (from memory; confirmed by finite differences in
        tests/knowledge/physics/test_interface_heat.py); checked by golden case carslaw-jaeger-1959--constant-paper.
    """
    pair = _pair(facing_effusivity_w_s05_m2_k, cone_effusivity_w_s05_m2_k)
    check_positive(quantity="flux", value=flux_w_mm2, unit="W/mm2")
    check_within(quantity="time", value=time_s, low=0.0, unit="s")
    return 2.0 * flux_w_mm2 * _W_MM2_TO_W_M2 * sqrt(time_s / pi) / pair


def falling_flux_rise_k(
    *,
    initial_flux_w_mm2: float,
    slip_time_s: float,
    time_s: float,
    facing_effusivity_w_s05_m2_k: float,
    cone_effusivity_w_s05_m2_k: float,
) -> float:
    """Temperature rise of the face during a shift, whose friction power falls steadily to nothing.

    dT = 2·q0·sqrt(t/pi)/(e1 + e2) · (1 - 2·t/(3·ts))

    Highest at ts/2, and at the end still 1/sqrt 2 of that. A lower bound: it takes the faces to be flat, so
    where only a part of the area touches, divide the flux by that part. Valid for bodies thick against the depth
    the heat reaches (a 3 mm cone in 0.15 s: 0.3 % more), positive values and a time from 0 to ts; outside, raises
    OutOfRange.

    Args:
        initial_flux_w_mm2: q0, friction power per area of contact at first slip [W/mm²].
        slip_time_s: ts, from first slip to equal speed [s].
        time_s: t since first slip [s].
        facing_effusivity_w_s05_m2_k: e1 [W·√s/(m²·K)].
        cone_effusivity_w_s05_m2_k: e2 [W·√s/(m²·K)].

    Sources: newcomb-1961 (as cited by others; integrated anew and confirmed by finite differences in
        tests/knowledge/physics/test_interface_heat.py); checked by golden case newcomb-1961--end-paper.
    """
    check_positive(quantity="slip time", value=slip_time_s, unit="s")
    check_within(quantity="time", value=time_s, low=0.0, high=slip_time_s, unit="s")
    steady_k = constant_flux_rise_k(
        flux_w_mm2=initial_flux_w_mm2,
        time_s=time_s,
        facing_effusivity_w_s05_m2_k=facing_effusivity_w_s05_m2_k,
        cone_effusivity_w_s05_m2_k=cone_effusivity_w_s05_m2_k,
    )
    return steady_k * (1.0 - 2.0 * time_s / (3.0 * slip_time_s))


def falling_flux_peak_k(
    *,
    initial_flux_w_mm2: float,
    slip_time_s: float,
    facing_effusivity_w_s05_m2_k: float,
    cone_effusivity_w_s05_m2_k: float,
) -> float:
    """Highest temperature rise of the face during a shift, reached at half time.

    dT = 4/(3·sqrt(2·pi)) · q0·sqrt(ts)/(e1 + e2)      (0.53192...)

    Departs from the source: brake handbooks print sqrt(5/18) = 0.52705 for the coefficient, 0.9 % lower; the
    exact one is used. Valid as falling_flux_rise_k.

    Args:
        initial_flux_w_mm2: q0, friction power per area of contact at first slip [W/mm²].
        slip_time_s: ts, from first slip to equal speed [s].
        facing_effusivity_w_s05_m2_k: e1 [W·√s/(m²·K)].
        cone_effusivity_w_s05_m2_k: e2 [W·√s/(m²·K)].

    Sources: newcomb-1961 (as for falling_flux_rise_k); checked by golden case newcomb-1961--peak-paper.
    """
    pair = _pair(facing_effusivity_w_s05_m2_k, cone_effusivity_w_s05_m2_k)
    check_positive(quantity="flux", value=initial_flux_w_mm2, unit="W/mm2")
    check_positive(quantity="slip time", value=slip_time_s, unit="s")
    return PEAK_COEFFICIENT * initial_flux_w_mm2 * _W_MM2_TO_W_M2 * sqrt(slip_time_s) / pair


def bulk_rise_k(
    *, rise_per_shift_k: float, shifts: float, interval_s: float, cooling_time_constant_s: float
) -> BulkRise:
    """How warm a row of equal shifts leaves ring and cone, just before and just after the last of them.

    after = dT·(1 - r^n)/(1 - r),   before = after - dT,   r = exp(-interval/tau)

    One lump that cools towards a sump of steady temperature; the flash of the shift comes on top of before.
    Valid for whole numbers of shifts from 1, infinite for the steady state, and positive values; else, raises
    OutOfRange.

    Args:
        rise_per_shift_k: dT once the heat of one shift has spread through the lump [K].
        shifts: n [-].
        interval_s: from one shift to the next [s].
        cooling_time_constant_s: tau, in which the lump loses 63 % of its lead over the sump [s].

    Sources: heat balance (geometric series; confirmed shift by shift in
        tests/knowledge/physics/test_interface_heat.py); checked by golden case heat-balance--three-shifts.
    """
    check_positive(quantity="rise per shift", value=rise_per_shift_k, unit="K")
    check_positive(quantity="interval", value=interval_s, unit="s")
    check_positive(quantity="cooling time constant", value=cooling_time_constant_s, unit="s")
    if not (shifts >= 1.0 and (shifts == inf or shifts == int(shifts))):
        raise OutOfRange(quantity="whole number of shifts", value=shifts, low=1.0, high=inf, unit="")
    step = interval_s / cooling_time_constant_s
    after_k = rise_per_shift_k * expm1(-shifts * step) / expm1(-step)
    return BulkRise(before_k=after_k - rise_per_shift_k, after_k=after_k)


def _pair(facing_effusivity: float, cone_effusivity: float) -> float:
    """e1 + e2, once both are known to be effusivities."""
    check_positive(quantity="facing effusivity", value=facing_effusivity, unit="W s0.5/(m2 K)")
    check_positive(quantity="cone effusivity", value=cone_effusivity, unit="W s0.5/(m2 K)")
    return facing_effusivity + cone_effusivity
