"""From where on first shifts come freely, against ASTM D341 and D1250 solved by scipy for each ring and oil."""

from math import exp, hypot, log, log10, sqrt

import numpy as np
import pytest
from scipy.optimize import brentq

from knowledge.box.mating import WipingLand
from knowledge.judging.columns import LubricantColumns
from knowledge.judging.free_shifts import free_temperatures_c
from knowledge.lubricant import Lubricant

# Quick and slow to wipe, and one whose weak grip drag holds up longer than its film does.
LANDS = [
    WipingLand("bronze", "new", wiping, spread, 1.0, drag_from, 10 * drag_from)
    for wiping, spread, drag_from in ((2e-6, 1.5, 1e6), (2e-4, 3.0, 1e6), (2e-6, 2.0, 300.0))
]


def ends_mm2_s(oil: Lubricant, celsius: float) -> tuple[float, float]:
    """Its thinnest and thickest corner, each on the straight line of D341 through 40 and 100 °C."""
    found = []
    for corner in oil.corners:
        warm, hot = (log10(log10(kv + 0.7)) for kv in (corner.kv40_mm2_s, corner.kv100_mm2_s))
        share = (log10(celsius + 273.15) - log10(313.15)) / (log10(373.15) - log10(313.15))
        found.append(10**10 ** (warm + share * (hot - warm)) - 0.7)
    return min(found), max(found)


def is_free_by(oil: Lubricant, land: WipingLand, slow_s: float, factor: float):
    """Above 0 where film or drag holds shifts up; D1250 as printed: per °F, from 59 °F."""

    def reserve(celsius: float) -> float:
        typical, rise = sqrt(np.prod(ends_mm2_s(oil, celsius))), 0.34878 / oil.density15_kg_m3 * 1.8 * (celsius - 15)
        dynamic = typical * oil.density15_kg_m3 * exp(-rise * (1 + 0.8 * rise)) / 1000
        wiped_s = dynamic * land.wiping_s_per_mpa_s
        return max(log(wiped_s / (factor * slow_s)), log(typical / (factor * land.drag_slow_from_mm2_s)))

    return brentq(reserve, -50, 150) if reserve(-50) > 0 else -50.0


def test_first_shifts_come_freely_from_where_film_and_drag_allow(base) -> None:
    oils = base.lubricants[::5]
    slow_s = base.limit("wiping-time-slow-from")
    at_best, middle, at_worst = free_temperatures_c(LubricantColumns.of(oils, base), LANDS, base)
    for row, land in enumerate(LANDS):
        for column, oil in enumerate(oils):
            expected = is_free_by(oil, land, slow_s, 1.0)
            assert middle[row, column] == pytest.approx(expected, abs=0.01)
            thin, thick = ends_mm2_s(oil, expected)
            spread = exp(hypot(log(land.spread), 0.5 * log(thick / thin)))
            # The spread of the oil is that at the nearest of the temperatures tried.
            assert at_best[row, column] == pytest.approx(is_free_by(oil, land, slow_s, spread), abs=0.3)
            assert at_worst[row, column] == pytest.approx(is_free_by(oil, land, slow_s, 1 / spread), abs=0.3)
    assert -50 < np.median(middle[0]) < 0 < np.median(middle[1]) < 150


def test_where_nothing_can_be_computed_the_nearer_end_is_told(base) -> None:
    lands = [LANDS[0]._replace(wiping_s_per_mpa_s=wiping, drag_slow_from_mm2_s=1e9) for wiping in (1e-15, 1e3)]
    quick, never = free_temperatures_c(LubricantColumns.of(base.lubricants, base), lands, base)[1]
    assert (quick < -47.5).all()  # the thickest leave the chart of D341 a little before -50 °C
    assert (never == 150).all()
