"""What a label and a data sheet come to by themselves: grades, viscosity index, cold limit, curve, nearest classes."""

import pytest

from knowledge.physics.viscosity import kinematic_viscosity_mm2_s, viscosity_line

FULL = {
    "label": {"family": "gl-4", "grade": "75W-90"},
    "kv40_mm2_s": 95,
    "kv100_mm2_s": 15.2,
    "t150_c": -41,
    "copper_strip": {"rating": "1b", "temperature_c": 121, "hours": 3},
    "density15_kg_m3": 870,
}


# Published tables: SAE J306 (2019 and 2005) and SAE J300, as retyped in the fact sheet's cases 1 to 20.
@pytest.mark.parametrize(
    ("kv100", "t150", "sheared", "in_2019", "in_2005"),
    [
        (14.5, -41, None, "75W-90", "75W-90"),
        (14.5, -30, None, "80W-90", "80W-90"),
        (26.0, -14, None, "85W-140", "85W-140"),
        (7.8, -45, None, "75W-75", "75W-80"),
        (7.5, -30, None, "75", "80W-80"),
        (8.49, None, None, "75", "80"),
        (8.50, None, None, "80", "80"),
        (13.49, None, None, "85", "85"),
        (13.50, None, None, "90", "90"),
        (24.0, None, None, "140", "140"),
        (3.79, None, None, None, None),
        (9.3, -42, 8.3, "75W", "75W-80"),
    ],
)
def test_a_grade_is_told_in_both_editions(read, kv100, t150, sheared, in_2019, in_2005) -> None:
    answer = read(kv100_mm2_s=kv100, t150_c=t150, kv100_sheared_mm2_s=sheared)
    assert answer.j306 == {"2019": in_2019, "2005": in_2005}


@pytest.mark.parametrize(
    ("kv100", "grades"),
    [(9.29, ("20",)), (9.3, ("30",)), (12.5, ("40",)), (16.3, ("50",)), (7.0, ("12", "16", "20")), (3.0, ())],
)
def test_every_engine_grade_that_kv100_allows_is_told(read, kv100, grades) -> None:
    assert read(kv100_mm2_s=kv100).j300 == grades


@pytest.mark.parametrize(("kv40", "grade"), [(35.2, "32"), (35.3, None), (41.4, "46")])
def test_the_iso_grade_is_told(read, kv40, grade) -> None:
    assert read(kv40_mm2_s=kv40).iso_vg == grade


# ASTM D2270 examples A and B, as printed.
@pytest.mark.parametrize(("kv40", "kv100", "index"), [(73.30, 8.86, 92), (22.83, 5.05, 156)])
def test_the_viscosity_index_is_the_published_one(read, kv40, kv100, index) -> None:
    assert read(kv40_mm2_s=kv40, kv100_mm2_s=kv100).viscosity_index == index


def test_below_two_there_is_no_viscosity_index_and_the_answer_says_why(read) -> None:
    answer = read(kv40_mm2_s=5, kv100_mm2_s=1.99)
    assert answer.viscosity_index is None
    assert "below 2" in answer.viscosity_index_reason


def test_no_w_grade_is_ever_made_from_warm_figures(read) -> None:
    assert read(kv40_mm2_s=64, kv100_mm2_s=11.8).j306 == {"2019": "85", "2005": "85"}


def test_the_curve_passes_through_what_was_measured_and_marks_what_is_extrapolated(read) -> None:
    answer = read(**FULL)
    curve = {point.temperature_c: point for point in answer.curve}
    assert curve[40].kv_mm2_s == pytest.approx(95, rel=1e-3)
    assert curve[100].kv_mm2_s == pytest.approx(15.2, rel=1e-3)
    assert all(point.screening == (celsius < 0) for celsius, point in curve.items())
    assert curve[100].viscosity_mpa_s == pytest.approx(15.2 * 0.816, rel=0.01)
    line = viscosity_line(kv40_mm2_s=95, kv100_mm2_s=15.2)
    assert curve[80].kv_mm2_s == pytest.approx(kinematic_viscosity_mm2_s(line=line, temperature_c=80), rel=1e-3)


def test_the_coldest_point_that_is_thin_enough_counts_and_a_bracket_is_said_to_be_one(read) -> None:
    points = [{"temperature_c": -40, "viscosity_mpa_s": 110_000}, {"temperature_c": -26, "viscosity_mpa_s": 9_000}]
    answer = read(kv100_mm2_s=15.2, brookfield=points)
    assert answer.cold_limit.temperature_c == -40
    assert answer.j306["2019"] == "75W-90"
    bracket = read(kv100_mm2_s=15.2, brookfield=[*points, {"temperature_c": -44, "viscosity_mpa_s": 300_000}])
    assert -44 < bracket.cold_limit.temperature_c < -40
    assert "Between the measured points" in bracket.cold_limit.basis
    assert bracket.j306["2019"] == "75W-90"


def test_no_w_grade_rests_on_a_figure_between_two_points(read) -> None:
    points = [{"temperature_c": -38, "viscosity_mpa_s": 90_000}, {"temperature_c": -44, "viscosity_mpa_s": 200_000}]
    answer = read(kv100_mm2_s=15.2, brookfield=points)
    assert answer.cold_limit.temperature_c < -40
    assert answer.j306["2019"] == "80W-90"


def test_the_nearest_classes_are_those_whose_band_holds_the_figures(read) -> None:
    answer = read(**FULL)
    assert answer.nearest_classes[0].lubricant.id == "gl-4-75w-90"
    assert answer.nearest_classes[0].inside
    assert not answer.nearest_classes[-1].inside
    assert answer.nearest_classes[-1].off


def test_what_label_and_sheet_leave_open_is_listed(read) -> None:
    answer = read(label={"family": "gl-4"}, kv100_mm2_s=15.0)
    assert {item.id for item in answer.may_be} == {"gl-4-75w-90", "gl-4-80w-90", "gl-4-85w-90"}


def test_without_a_box_there_is_no_verdict(read) -> None:
    answer = read(**FULL)
    assert answer.verdict is None
    assert answer.findings == answer.would_decide == ()


def test_an_engine_oil_is_summed_up_by_its_own_scale(read) -> None:
    summary = read(label={"family": "engine-oil", "grade": "10W-40"}, kv40_mm2_s=96, kv100_mm2_s=14.4).summary
    assert summary.startswith("By its KV100 40 (SAE J300)")


def test_a_grade_that_holds_only_fresh_is_told_as_such(read) -> None:
    answer = read(label=FULL["label"], kv40_mm2_s=80, kv100_mm2_s=14.0, kv100_sheared_mm2_s=12.9, t150_c=-41)
    label = next(item for item in answer.label_findings if item.rule == "label-grade-is-the-grade-of-the-sheet")
    assert label.text.startswith("Fresh, KV100 makes it grade 90")
