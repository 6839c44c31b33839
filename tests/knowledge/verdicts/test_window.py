"""The window: what a data sheet must show, in lines that can be read to a jug."""

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from knowledge.answers import FillAnswer
from knowledge.base import KnowledgeBase

LAW = settings(max_examples=60, deadline=None, suppress_health_check=list(HealthCheck))
pytestmark = pytest.mark.filterwarnings("ignore:Generating overly large repr")  # of the knowledge base


def band(answer: FillAnswer, rank: int, base: KnowledgeBase) -> tuple[float, float]:
    """The KV100 band of the class at a rank."""
    id = next(item.lubricant.id for item in answer.candidates if item.rank == rank)
    oil = next(oil for oil in base.oils if oil.id == id)
    return oil.kv100_min_mm2_s, oil.kv100_max_mm2_s


@LAW
@given(data=st.data())
def test_the_window_is_open(data, partly_stated_questions, ask) -> None:
    limits = ask(**data.draw(partly_stated_questions)).window.kv100_mm2_s
    assert (limits.min is None) == (limits.max is None)
    if limits.min is not None:
        assert limits.min < limits.max


@LAW
@given(data=st.data())
def test_the_class_that_leads_can_pass_through_the_window(data, stated_questions, ask, base) -> None:
    answer = ask(**data.draw(stated_questions))
    if answer.outcome == "settled":
        thin, thick = band(answer, 1, base)
        if answer.window.kv100_mm2_s.max is None:
            grade = answer.question.service_data.grade
            assert answer.window.ask_for[0].endswith(f"{grade}.") == (answer.service_data.status != "conflicts")
            assert all(row.grade != grade or row.family != answer.question.service_data.family
                       for row in base.lubricants.values())  # fmt: skip
            return
        assert answer.window.kv100_mm2_s.min < thick
        assert thin < answer.window.kv100_mm2_s.max
        assert answer.candidates[0].lubricant.family in answer.window.families


def test_an_axle_grade_that_only_just_flows_does_not_widen_the_window(ask, box, of) -> None:
    answer = ask(**box("bronze", coldest_start_c=-10.0))
    assert of(answer, "gl-4-85w-140").verdict == "fits-with-care"
    assert answer.window.kv100_mm2_s.max < 24.0  # lower edge of grade 140, SAE J306


@pytest.mark.parametrize("coldest", [-10.0, -20.0, -25.0, -28.0, -35.0, -40.0])
@pytest.mark.parametrize("facing", ["bronze", "molybdenum", "sintered", "paper", "carbon"])
@pytest.mark.parametrize("shares_the_sump", [{}, {"wet_clutch": True}])
def test_what_it_says_of_free_first_shifts_is_within_reach_of_its_leader(
    ask, box, base, facing, coldest, shares_the_sump
) -> None:
    answer = ask(**{**box(facing, condition="worn", coldest_start_c=coldest), **shares_the_sump})
    free_up_to = answer.window.kv100_for_free_first_shifts_mm2_s
    least, most = band(answer, 1, base)
    assert free_up_to is None or least < free_up_to < most


def test_a_hot_paper_box_asks_for_no_more_than_its_leader_can_show(ask, box, base) -> None:
    answer = ask(**box("paper", sump_hot_c=150.0, duty="competition"))
    assert answer.window.kv100_mm2_s.min < answer.window.kv100_mm2_s.max
    assert answer.window.kv100_mm2_s.min < band(answer, 1, base)[1]


def test_service_data_that_leads_with_care_sets_the_window(ask, box) -> None:
    answer = ask(**box("bronze", service_data={"family": "gl-5", "grade": "75W-90"}))
    assert answer.window.families == ("gl-5",)
    assert answer.window.kv100_mm2_s.min >= 13.5


def test_a_limited_slip_oil_that_leads_is_not_asked_to_be_none(ask, box) -> None:
    named = {"family": "gl-5-limited-slip", "grade": "75W-90"}
    window = ask(**box("molybdenum", service_data=named)).window
    assert window.families == ("gl-5-limited-slip",)
    assert "Friction modifier: none of the limited-slip kind." not in window.ask_for


def test_a_box_where_all_need_care_is_not_offered_the_second_choice_with_the_first(ask, box) -> None:
    families = ask(**box("bronze", limited_slip=True)).window.families
    assert families[0] in ("gl-4", "mtf")
    assert not {"atf", "engine-oil", "gl-3"} & set(families)


def test_a_box_with_yellow_metal_asks_for_a_copper_strip(ask, box, base) -> None:
    with_copper, without = ask(**box("bronze")).window, ask(**box("molybdenum")).window
    assert with_copper.copper_strip_max == "2a"
    assert any("D130" in line and "2a" in line for line in with_copper.ask_for)
    assert without.copper_strip_max is None
    assert not any("D130" in line for line in without.ask_for)


def test_a_synchronized_box_asks_for_no_limited_slip_modifier(ask, box) -> None:
    assert any("limited-slip" in line for line in ask(**box("paper")).window.ask_for)
    assert not any("limited-slip" in line for line in ask(**box(None)).window.ask_for)


@pytest.mark.parametrize("coldest", [-35.0, -15.0])
def test_the_window_carries_the_coldest_start(ask, box, coldest) -> None:
    window = ask(**box("bronze", coldest_start_c=coldest)).window
    assert window.cold_limit_c == coldest
    assert any(f"{coldest:g} °C" in line for line in window.ask_for)


def test_no_cold_figure_is_asked_for_where_it_never_gets_cold(ask, box) -> None:
    window = ask(**box("bronze", coldest_start_c=10.0)).window
    assert not any("D2983" in line for line in window.ask_for)


def test_nothing_is_asked_of_a_jug_while_the_answer_depends(ask) -> None:
    window = ask().window
    assert window.kv100_mm2_s.min is None and window.kv100_mm2_s.max is None
    assert window.families == ()
    assert len(window.ask_for) == 1


def test_where_nothing_fits_only_the_service_data_is_left(ask, box) -> None:
    window = ask(**box("bronze", final_drive="hypoid")).window
    assert window.families == ()
    assert "service data" in window.ask_for[0]


def test_a_lined_ring_closes_the_window_below_grade_90(ask, box) -> None:
    assert ask(**box("paper")).window.kv100_mm2_s.max <= 13.5


def test_with_a_clutch_pack_in_the_sump_only_the_service_data_speaks_of_its_modifier(ask, box) -> None:
    shares, alone = (ask(**box("bronze", final_drive="helical", limited_slip=pack)).window for pack in (True, False))
    assert "Friction modifier: as the service data says." in shares.ask_for
    assert "Friction modifier: none of the limited-slip kind." in alone.ask_for


def test_while_nobody_knows_of_a_clutch_pack_the_modifier_is_refused_with_that_proviso(ask, box) -> None:
    window = ask(**box("bronze", final_drive="helical", limited_slip=None)).window
    assert "unless a limited-slip clutch pack shares the oil: then as the service data says" in window.friction_modifier


def test_what_no_jug_shows_is_not_among_the_lines_a_jug_must_show(ask, box) -> None:
    window = ask(**box("sintered", coldest_start_c=-30)).window
    assert window.expect
    assert not any("Expect" in line for line in window.ask_for)


def test_a_named_family_without_a_grade_has_the_window_of_all_its_grades(ask, box, base) -> None:
    answer = ask(**box("paper", sump_hot_c=110.0, duty="towing", service_data={"family": "atf"}))
    bands = [(row.kv100_min_mm2_s, row.kv100_max_mm2_s) for row in base.lubricants.values() if row.family == "atf"]
    assert len(bands) == 2
    assert answer.window.kv100_mm2_s.max == max(most for _, most in bands)
    assert answer.window.kv100_mm2_s.min < min(most for _, most in bands)


def test_a_named_family_does_not_open_the_window_for_axle_grades(ask, box) -> None:
    answer = ask(**box("bronze", coldest_start_c=5.0, service_data={"family": "gl-4"}))
    assert answer.window.kv100_mm2_s.max == 24.0  # lower edge of grade 140, SAE J306
