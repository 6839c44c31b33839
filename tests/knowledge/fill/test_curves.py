"""The curves of an answer: straight on the D341 chart, bounded by the window, in step with the answer's own figures."""

from math import log10, sqrt

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from knowledge.box.question import FillQuestion
from knowledge.fill.compute import compute_fill_answer
from knowledge.fill.curves import MOST_BANDS, fill_curves
from tests.knowledge.law import law

TOWS = {
    "rings": [{"facing": "bronze", "body": "bronze", "cones": 1, "condition": "worn"}],
    "yellow_metal": True,
    "final_drive": "none",
    "limited_slip": False,
    "wet_clutch": False,
    "coldest_start_c": -20.0,
    "duty": "towing",
}


@pytest.fixture(scope="module")
def curves_of(base):
    """Asks for the curves of a question given by its fields."""

    def ask(**fields):
        question = FillQuestion.model_validate(fields)
        return compute_fill_answer(question, base, detail="full"), fill_curves(question, base)

    return ask


def test_the_first_band_is_that_of_the_class_that_leads(curves_of) -> None:
    answer, curves = curves_of(**TOWS)
    first = next(item for item in answer.candidates if item.rank == 1)
    assert curves.answer_id == answer.answer_id
    assert first.lubricant in curves.bands[0].lubricants
    assert 1 <= len(curves.bands) <= MOST_BANDS
    assert len({name.id for band in curves.bands for name in band.lubricants}) == sum(
        len(band.lubricants) for band in curves.bands
    )


def test_nothing_is_drawn_while_the_first_class_depends_or_none_fits(curves_of) -> None:
    assert curves_of()[1].bands == ()
    assert curves_of(rings=[{"facing": "paper"}], final_drive="hypoid")[1].bands == ()


def test_an_edge_is_straight_on_the_chart_up_to_the_temperature_its_corners_share(curves_of) -> None:
    # ASTM D341: log log (v + 0.7) falls in a straight line over log T; below KV100 one corner makes each edge.
    _, curves = curves_of(**TOWS)
    for band in curves.bands:
        for edge in ("thin_mm2_s", "thick_mm2_s"):
            points = [
                (log10(point.temperature_c + 273.15), log10(log10(getattr(point, edge) + 0.7)))
                for point in band.points
                if point.temperature_c <= 100
            ]
            x, y = np.array(points).T
            assert np.abs(np.polyval(np.polyfit(x, y, 1), x) - y).max() < 2e-4


def test_the_band_at_100_degrees_is_that_of_the_grade(curves_of, base) -> None:
    _, curves = curves_of(**TOWS)
    at_100 = next(point for point in curves.bands[0].points if point.temperature_c == 100)
    oil = next(oil for oil in base.lubricants if oil.id == curves.bands[0].lubricants[0].id)
    assert (at_100.thin_mm2_s, at_100.thick_mm2_s) == pytest.approx(
        (oil.kv100_min_mm2_s, oil.kv100_max_mm2_s), rel=1e-3
    )


def test_the_window_says_what_the_answer_says(curves_of) -> None:
    answer, curves = curves_of(**TOWS)
    first = next(item for item in answer.candidates if item.rank == 1)
    hot = next(point for point in curves.bands[0].points if point.temperature_c == curves.sump_hot_c)
    # The bearing ratio is viscosity over what the bearing needs: ISO 281, 4500 n^-0.5 D^-0.5 above 1000 rpm.
    needed = 0.4 * 4500 * 2500**-0.5 * 55**-0.5
    assert curves.least_hot_mm2_s.value == pytest.approx(needed, rel=1e-3)
    assert hot.thin_mm2_s / (curves.least_hot_mm2_s.value / 0.4) == pytest.approx(
        first.figures.bearing_ratio.min, rel=2e-3
    )
    cold = next(point for point in curves.bands[0].points if point.temperature_c == curves.coldest_start_c)
    # Wiping time is proportional to viscosity, and 60 ms divides free from slow; each in the middle of its span.
    wiping = first.figures.wiping_time_s
    assert sqrt(cold.thin_mm2_s * cold.thick_mm2_s) / curves.most_for_free_shifts_mm2_s.value == pytest.approx(
        sqrt(wiping.min * wiping.max) / 0.060, rel=2e-3
    )
    assert (cold.screening, hot.screening) == (True, False)


def test_the_least_for_the_bearings_is_that_of_the_oil_that_leads(curves_of) -> None:
    """ISO 281, from memory: the least viscosity ratio is 0.4 with additives, and 1 where the film carries alone."""
    plain = {**TOWS, "rings": [], "coldest_start_c": -5.0, "sump_hot_c": 80.0}
    (_, of_gl_1), (_, of_gl_4) = (
        curves_of(**plain, service_data={"family": family, "grade": "90"}) for family in ("gl-1", "gl-4")
    )
    assert of_gl_1.bands[0].lubricants[0].family == "gl-1"
    assert of_gl_1.least_hot_mm2_s.value == pytest.approx(1 / 0.4 * of_gl_4.least_hot_mm2_s.value, rel=1e-3)


def test_without_rings_nothing_has_to_be_wiped(curves_of) -> None:
    _, curves = curves_of(**{**TOWS, "rings": []})
    assert curves.bands
    assert curves.most_for_free_shifts_mm2_s is None


@law(40)
@given(
    cold=st.integers(-50, 50),
    hot=st.integers(20, 150),
    facing=st.sampled_from([None, "bronze", "molybdenum", "sintered", "paper", "carbon"]),
    radius=st.sampled_from([None, 10.0, 300.0]),
    speed=st.sampled_from([None, 1.0, 30_000.0]),
)
def test_any_question_has_curves_that_fall_with_temperature(base, cold, hot, facing, radius, speed) -> None:
    fields = {**TOWS, "coldest_start_c": cold, "sump_hot_c": hot, "rings": [{"facing": facing}] if facing else []}
    if radius:
        fields["ring_geometry"] = {"mean_radius_mm": radius, "detent_force_n": 1.0}
    if speed:
        fields["bearing"] = {"pitch_diameter_mm": 55.0, "speed_rpm": speed}
    for band in fill_curves(FillQuestion.model_validate(fields), base).bands:
        known = [point for point in band.points if point.thin_mm2_s is not None]
        assert all(point.thin_mm2_s <= point.thick_mm2_s for point in known)
        thick = [point.thick_mm2_s for point in known]
        assert thick == sorted(thick, reverse=True)
        assert [point.temperature_c for point in band.points] == sorted({p.temperature_c for p in band.points})
