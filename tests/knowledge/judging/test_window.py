"""The window: the grade names of what is told as fitting, and what a data sheet must show beyond them."""

import pytest

from knowledge.judging.window import window

LIMITED_SLIP = {"service_data": {"family": "gl-5-limited-slip", "grade": "75W-90"}, "yellow_metal": False}
GL_5 = {"service_data": {"family": "gl-5", "grade": "75W-90"}}
NONE = "none of the limited-slip kind"


def of_leader(judgement):
    """The window of what leads and does the same work."""
    return window(judgement, (judgement.leader, *judgement.alike) if judgement.leader is not None else ())


def test_only_a_settled_answer_has_a_window_and_it_spans_the_grades_it_names(asked_every_way) -> None:
    for _, judgement, cases in asked_every_way:
        found = of_leader(judgement)
        assert (found is None) == (judgement.lead.outcome != "settled")
        if found:
            oils = [judgement.lubricants[at] for at in (judgement.leader, *judgement.alike)]
            assert found.grades == tuple(dict.fromkeys(oil.grade for oil in oils))
            assert found.families == tuple(dict.fromkeys(oil.family.id for oil in oils))
            assert found.kv100_mm2_s.min == min(oil.kv100_min_mm2_s for oil in oils)
            assert found.kv100_mm2_s.max == max(oil.kv100_max_mm2_s for oil in oils)
            assert found.cold_limit_c == min(case.question["coldest_start_c"] for case in cases)


@pytest.mark.parametrize(
    ("facing", "changes", "strip", "modifier"),
    [
        ("bronze", {}, None, NONE),
        ("bronze", GL_5, "2a", NONE),
        ("molybdenum", {**GL_5, "yellow_metal": False}, None, NONE),
        ("molybdenum", LIMITED_SLIP, None, "as the book says"),
        (None, {}, None, "does not matter"),
        (None, {"wet_clutch": True}, None, "none of the limited-slip or the fuel-saving kind"),
    ],
)
def test_a_data_sheet_is_asked_for_what_this_box_needs(judge, box, facing, changes, strip, modifier) -> None:
    # Common practice, no source: the strip is asked of axle oil beside yellow metal, never of GL-4 or MTF.
    found = of_leader(judge(**box(facing, **changes)))
    assert found.copper_strip_max == strip
    assert found.friction_modifier == modifier
    assert any("ASTM D130" in line and "2a or better" in line for line in found.on_the_data_sheet) == (
        strip is not None
    )


def test_the_label_names_kind_and_grade_and_what_must_never_stand_there(judge, box) -> None:
    # Common practice, no source: axle oils stay out of boxes with bronze rings.
    found = of_leader(judge(**box("bronze", coldest_start_c=5.0)))
    assert found.on_the_label == ("GL-4 or MTF", "75W-90")
    assert {"GL-5", "GL-5 limited-slip"} <= set(found.never_on_the_label)


def test_a_second_grade_is_told_with_the_heat_it_bears_where_that_is_less(judge, box, place_of, base) -> None:
    judgement = judge(**box("bronze"))
    long_c = base.lubricant_rows["gl-4-75w-80"].long_sump_c
    found = window(judgement, (judgement.leader, place_of["gl-4-75w-80"]))
    assert found.on_the_label[1] == f"75W-90, or 75W-80 where the oil stays below {long_c:g} °C"


def test_a_lined_ring_closes_the_window_below_grade_90(judge, box) -> None:
    assert of_leader(judge(**box("paper"))).kv100_mm2_s.max <= 13.5  # lower edge of grade 90, SAE J306


@pytest.mark.parametrize(("start_c", "is_told"), [(-15, True), (-20, False)])
def test_a_mineral_80w_90_is_told_down_to_what_the_trade_puts_up_with(ask, box, start_c: int, is_told: bool) -> None:
    """It still works, stiff, to about -18 °C: common practice, no source; its W grade is tested at -26 (SAE J306)."""
    told = ask(**box("bronze", coldest_start_c=start_c))
    assert ("80W-90" in told.window.grades) is is_told
    assert ("gl-4-80w-90" in {other.lubricant.id for other in told.others}) is is_told


def test_nothing_is_told_beside_a_book_that_bears_less_than_the_stated_heat(ask, box, base) -> None:
    named = {"family": "gl-4", "grade": "80W-90"}
    answer = ask(**box("bronze", sump_hot_c=130, service_data=named))
    told = [base.lubricant_rows[other.lubricant.id].long_sump_c for other in answer.others]
    assert told
    assert min(told) >= 130
    assert "reaches 130 °C" in answer.service_data.text


def test_a_line_of_the_data_sheet_names_the_fluid_it_is_for(ask, box) -> None:
    window = ask(**box("bronze", service_data={"family": "gl-5", "grade": "75W-90"})).window
    assert len(window.families) > 1
    assert all(line.startswith("GL-5 75W-90: ") for line in window.on_the_data_sheet)
