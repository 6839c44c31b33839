"""Face temperature against heat conduction in two bodies by Crank and Nicolson, and against Duhamel's integral."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad, solve_ivp
from scipy.linalg import solve_banded

from knowledge.physics.interface_heat import (
    PEAK_COEFFICIENT,
    bulk_rise_k,
    constant_flux_rise_k,
    effusivity_w_s05_m2_k,
    falling_flux_peak_k,
    falling_flux_rise_k,
)
from knowledge.physics.limits import OutOfRange

# conductivity W/(m·K), density kg/m³, specific heat J/(kg·K): from memory but for the sintered facing, which is as
# printed in a tribology handbook
STEEL = (44, 7850, 470)
FACINGS = {
    "brass": (70, 8300, 390),
    "sintered": (16, 6000, 420),
    "paper": (0.22, 900, 1600),
    "carbon": (0.9, 1450, 1100),
}
SLIP_S = 0.15

effusivities = st.floats(200, 20_000)
pairs = st.fixed_dictionaries(
    {"facing_effusivity_w_s05_m2_k": effusivities, "cone_effusivity_w_s05_m2_k": effusivities}
)
fluxes = st.floats(0.01, 20)
times = st.floats(0.01, 2)


def effusivity(body):
    conductivity, density, specific_heat = body
    return effusivity_w_s05_m2_k(
        conductivity_w_m_k=conductivity, density_kg_m3=density, specific_heat_j_kg_k=specific_heat
    )


def pair(facing):
    return {"facing_effusivity_w_s05_m2_k": effusivity(facing), "cone_effusivity_w_s05_m2_k": effusivity(STEEL)}


def layers(body, thickness_m, duration_s, cells):
    """Heat capacities of the nodes and conductances between them, from the face inwards, for 1 m²."""
    conductivity, density, specific_heat = body
    reach = math.sqrt(conductivity / (density * specific_heat) * duration_s)
    step = (thickness_m or 8 * reach) / cells
    capacity = np.full(cells + 1, density * specific_heat * step)
    capacity[[0, -1]] /= 2
    return capacity, np.full(cells, conductivity / step)


def conduction(facing, cone, flux_w_m2, duration_s=SLIP_S, thicknesses_m=(None, None), cells=200, steps=1500):
    """Times, face temperature rise at each, and the heat [J/m²] in the cone at the end, far sides insulated."""
    facing_capacity, facing_conductance = layers(facing, thicknesses_m[0], duration_s, cells)
    cone_capacity, cone_conductance = layers(cone, thicknesses_m[1], duration_s, cells)
    capacity = np.concatenate([facing_capacity[:0:-1], [facing_capacity[0] + cone_capacity[0]], cone_capacity[1:]])
    conductance = np.concatenate([facing_conductance, cone_conductance])
    leaving = np.append(conductance, 0) + np.insert(conductance, 0, 0)
    dt = duration_s / steps
    ahead = np.zeros((3, capacity.size))
    ahead[0, 1:] = ahead[2, :-1] = -conductance / 2
    ahead[1] = capacity / dt + leaving / 2
    rise, face = np.zeros(capacity.size), [0.0]
    for step in range(steps):
        source = (capacity / dt - leaving / 2) * rise
        source[:-1] += conductance / 2 * rise[1:]
        source[1:] += conductance / 2 * rise[:-1]
        source[cells] += flux_w_m2((step + 0.5) * dt)
        rise = solve_banded((1, 1), ahead, source)
        face.append(rise[cells])
    heat_in_cone = cone_capacity[0] * rise[cells] + cone_capacity[1:] @ rise[cells + 1 :]
    return np.linspace(0, duration_s, steps + 1), np.array(face), heat_in_cone


def falling(time_s):
    return 1e6 * (1 - time_s / SLIP_S)


@pytest.mark.parametrize(
    ("material", "expected_k"), [("brass", 7.413), ("sintered", 10.792), ("paper", 15.486), ("carbon", 14.781)]
)
def test_falling_flux_agrees_with_conduction_in_two_bodies(material, expected_k):
    facing = FACINGS[material]
    at, face, _ = conduction(facing, STEEL, falling)
    flux = {"initial_flux_w_mm2": 1, "slip_time_s": SLIP_S} | pair(facing)
    assert face.max() == pytest.approx(expected_k, rel=2e-4)
    assert falling_flux_peak_k(**flux) == pytest.approx(face.max(), rel=5e-4)
    assert at[face.argmax()] == pytest.approx(SLIP_S / 2, rel=0.01)
    for index in range(300, 1501, 300):
        assert falling_flux_rise_k(**flux, time_s=at[index]) == pytest.approx(face[index], rel=2e-3)


@pytest.mark.parametrize(
    ("material", "expected_k"), [("brass", 15.723), ("sintered", 22.891), ("paper", 32.849), ("carbon", 31.352)]
)
def test_constant_flux_agrees_with_conduction_in_two_bodies(material, expected_k):
    facing = FACINGS[material]
    _, face, heat_in_cone = conduction(facing, STEEL, lambda _: 1e6)
    found = constant_flux_rise_k(flux_w_mm2=1, time_s=SLIP_S, **pair(facing))
    assert found == pytest.approx(expected_k, rel=1e-3)
    assert found == pytest.approx(face[-1], rel=1e-3)
    share = effusivity(STEEL) / (effusivity(STEEL) + effusivity(facing))
    assert share == pytest.approx(heat_in_cone / (1e6 * SLIP_S), rel=1e-3)


# A real ring is 2.5 mm of brass on a cone of 3 mm, or 0.6 mm of lining: what the heat reaches of that in 0.15 s.
@pytest.mark.parametrize(
    ("facing", "thicknesses_m", "excess", "tolerance"),
    [("brass", (2.5e-3, 3e-3), 0.0033, 0.0006), ("paper", (0.6e-3, None), 0.0, 0.0005)],
)
def test_bodies_of_real_thickness_are_hardly_warmer(facing, thicknesses_m, excess, tolerance):
    _, face, _ = conduction(FACINGS[facing], STEEL, falling, thicknesses_m=thicknesses_m, cells=400)
    thick = falling_flux_peak_k(initial_flux_w_mm2=1, slip_time_s=SLIP_S, **pair(FACINGS[facing]))
    assert face.max() / thick - 1 == pytest.approx(excess, abs=tolerance)


@pytest.mark.parametrize("part", [0.05, 0.3, 0.5, 0.8, 1.0])
def test_falling_flux_agrees_with_duhamels_integral(part):
    time_s = part * SLIP_S
    # with s = root of the time gone by since a puff of heat, the integrand has no singularity
    integral, _ = quad(lambda s: 2 * falling(time_s - s**2), 0, math.sqrt(time_s))
    expected = integral / (math.sqrt(math.pi) * 15_000)
    found = falling_flux_rise_k(
        initial_flux_w_mm2=1,
        slip_time_s=SLIP_S,
        time_s=time_s,
        facing_effusivity_w_s05_m2_k=5000,
        cone_effusivity_w_s05_m2_k=10_000,
    )
    assert found == pytest.approx(expected, rel=1e-9)


@given(flux=fluxes, slip_s=times, pair=pairs, part=st.floats(0, 1))
def test_peak_comes_at_half_time_and_nothing_exceeds_it(flux, slip_s, pair, part):
    shift = {"initial_flux_w_mm2": flux, "slip_time_s": slip_s} | pair
    peak = falling_flux_peak_k(**shift)
    assert falling_flux_rise_k(**shift, time_s=slip_s / 2) == pytest.approx(peak, rel=1e-12)
    assert falling_flux_rise_k(**shift, time_s=slip_s * part) <= peak * (1 + 1e-12)
    assert falling_flux_rise_k(**shift, time_s=slip_s) == pytest.approx(peak / math.sqrt(2), rel=1e-12)
    assert falling_flux_rise_k(**shift, time_s=0) == 0


def test_coefficient_is_exact_and_the_one_in_brake_handbooks_a_little_low():
    assert pytest.approx(0.53192, abs=5e-6) == PEAK_COEFFICIENT
    assert math.sqrt(5 / 18) / PEAK_COEFFICIENT == pytest.approx(0.99083, abs=5e-6)


# Common practice, no source: a lining insulates, so the same shift makes its face hotter than that of a metal ring.
def test_faces_warm_in_the_order_the_trade_expects():
    peaks = {
        name: falling_flux_peak_k(initial_flux_w_mm2=1, slip_time_s=SLIP_S, **pair(body))
        for name, body in FACINGS.items()
    }
    assert peaks["brass"] < peaks["sintered"] < peaks["carbon"] < peaks["paper"]


def lump_shift_by_shift(rise, shifts, interval, time_constant):
    """Rise before and after the last shift, cooling integrated between shifts."""
    now = 0.0
    for number in range(shifts):
        if number:
            cooling = solve_ivp(lambda _, lead: -lead / time_constant, (0, interval), [now], rtol=1e-10, atol=1e-12)
            now = cooling.y[0][-1]
        before, now = now, now + rise
    return before, now


@pytest.mark.parametrize(("shifts", "interval", "time_constant"), [(1, 5, 60), (3, 10, 20), (25, 2, 45), (40, 30, 30)])
def test_bulk_agrees_with_cooling_integrated_shift_by_shift(shifts, interval, time_constant):
    found = bulk_rise_k(rise_per_shift_k=2.4, shifts=shifts, interval_s=interval, cooling_time_constant_s=time_constant)
    assert tuple(found) == pytest.approx(lump_shift_by_shift(2.4, shifts, interval, time_constant), rel=1e-7, abs=1e-12)


@given(
    rise=st.floats(0.01, 50), shifts=st.integers(1, 500), interval=st.floats(0.5, 600), time_constant=st.floats(5, 600)
)
def test_bulk_grows_with_every_shift_towards_its_steady_state(rise, shifts, interval, time_constant):
    row = {"rise_per_shift_k": rise, "interval_s": interval, "cooling_time_constant_s": time_constant}
    now, then = bulk_rise_k(**row, shifts=shifts), bulk_rise_k(**row, shifts=shifts + 1)
    steady = bulk_rise_k(**row, shifts=math.inf)
    assert now.after_k <= then.after_k <= steady.after_k * (1 + 1e-12)
    assert then.before_k == pytest.approx(now.after_k * math.exp(-interval / time_constant), rel=1e-6, abs=1e-9)
    lost_between = steady.after_k * -math.expm1(-interval / time_constant)
    assert lost_between == pytest.approx(rise, rel=1e-9)  # steady: each pause gives away what each shift brings


@pytest.mark.parametrize("shifts", [0.999, 1.5, 2.0001])
def test_only_whole_shifts_are_counted(shifts):
    with pytest.raises(OutOfRange, match="whole number of shifts"):
        bulk_rise_k(rise_per_shift_k=2, shifts=shifts, interval_s=10, cooling_time_constant_s=20)
