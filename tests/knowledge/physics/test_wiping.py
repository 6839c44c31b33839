"""Wiping time against Reynolds' equation solved numerically: by quadrature and ODE, and by finite differences."""

import math

import pytest
from scipy.integrate import quad, solve_ivp

from knowledge.physics.limits import OutOfRange
from knowledge.physics.wiping import (
    land_pressure_n_mm2,
    wiping_time_s,
)


def strip_wiping_time_by_ode(viscosity_pa_s, width_m, pressure_pa, start_m, end_m):
    """Reynolds' equation over a strip gives the pressure a closing film makes; Newton's third law the closing speed."""

    def closing_speed(film_m):
        def pressure_at(x):
            return 6 * viscosity_pa_s / film_m**3 * (width_m**2 / 4 - x**2)  # per unit of speed

        load_per_length, _ = quad(pressure_at, -width_m / 2, width_m / 2)
        return pressure_pa * width_m / load_per_length

    def reached(_, film):
        return film[0] - end_m

    reached.terminal = True
    run = solve_ivp(
        lambda _, film: [-closing_speed(film[0])],
        (0, 1e3),
        [start_m],
        events=reached,
        rtol=1e-9,
        atol=1e-14,
        method="LSODA",
    )
    return run.t_events[0][0]


@pytest.mark.parametrize(
    ("viscosity", "width", "pressure", "start", "end"),
    [(100, 0.2, 2.5, 20, 2), (2711, 0.1, 1.977, 50, 2), (2711, 0.5, 0.395, 50, 2), (20, 5.0, 1.0, 200, 3)],
)
def test_wiping_time_agrees_with_the_integrated_reynolds_equation(viscosity, width, pressure, start, end):
    expected = strip_wiping_time_by_ode(viscosity * 1e-3, width * 1e-3, pressure * 1e6, start * 1e-6, end * 1e-6)
    found = wiping_time_s(
        dynamic_viscosity_mpa_s=viscosity,
        land_width_mm=width,
        land_pressure_n_mm2=pressure,
        film_start_um=start,
        film_end_um=end,
    )
    assert found == pytest.approx(expected, rel=1e-6)


# A ring of 32 mm mean radius, 8 mm face and 6.5° half angle under a detent force of 60 N, threads of 0.6 mm pitch,
# film from 50 to 2 µm, oil of 2.711 Pa·s (75W-80 at -20 °C): worked by hand from the strip formula.
@pytest.mark.parametrize(("crest_mm", "expected_ms"), [(0.1, 1.71), (0.165, 7.69), (0.3, 46.2), (0.5, 213.9)])
def test_wear_of_a_thread_crest_slows_the_first_cold_shift(crest_mm, expected_ms):
    pressure = land_pressure_n_mm2(
        axial_force_n=60, half_angle_deg=6.5, mean_radius_mm=32, face_width_mm=8, land_share=crest_mm / 0.6
    )
    found = wiping_time_s(
        dynamic_viscosity_mpa_s=2711,
        land_width_mm=crest_mm,
        land_pressure_n_mm2=pressure,
        film_start_um=50,
        film_end_um=2,
    )
    assert found * 1000 == pytest.approx(expected_ms, rel=1e-3)


def test_crest_three_times_wider_is_27_times_slower():
    def wiping_time(crest_mm):
        pressure = land_pressure_n_mm2(
            axial_force_n=60, half_angle_deg=6.5, mean_radius_mm=32, face_width_mm=8, land_share=crest_mm / 0.6
        )
        return wiping_time_s(
            dynamic_viscosity_mpa_s=1000,
            land_width_mm=crest_mm,
            land_pressure_n_mm2=pressure,
            film_start_um=50,
            film_end_um=2,
        )

    assert wiping_time(0.3) / wiping_time(0.1) == pytest.approx(27, rel=1e-9)
    # half a millimetre of ring gap lost at 6.5° is 0.0566 mm of metal and widens a 60° crest to 0.1654 mm
    crest = 0.1 + 2 * 0.5 * math.sin(math.radians(6.5)) * math.tan(math.radians(30))
    assert wiping_time(crest) / wiping_time(0.1) == pytest.approx(4.52, rel=1e-3)


def test_normal_force_on_the_whole_cone_is_axial_force_over_sine():
    pressure = land_pressure_n_mm2(
        axial_force_n=100, half_angle_deg=30, mean_radius_mm=10, face_width_mm=5, land_share=1
    )
    assert pressure * 2 * math.pi * 10 * 5 == pytest.approx(200)


@pytest.mark.parametrize(("start", "end"), [(2, 2), (1, 2), (math.nan, 2), (50, 0), (50, -1), (50, math.nan), (-1, -2)])
def test_wiping_refuses_a_film_that_does_not_close(start, end):
    with pytest.raises(OutOfRange):
        wiping_time_s(
            dynamic_viscosity_mpa_s=100, land_width_mm=0.2, land_pressure_n_mm2=1, film_start_um=start, film_end_um=end
        )
