"""What the manufacturer published heads the answer; it is never overruled in silence."""

import pytest

from knowledge.box.named import Named
from knowledge.box.question import ServiceData


def test_without_service_data_the_answer_says_so(ask_short, box) -> None:
    answer = ask_short(**box("bronze"))
    assert answer.service_data.status == "not-given"
    assert "service-data-missing" in [item.id for item in answer.cautions]
    assert "decides" in answer.service_data.text


def test_service_data_that_fits_agrees(ask, box) -> None:
    answer = ask(**box("bronze", service_data={"family": "gl-4", "grade": "75W-90"}))
    assert answer.service_data.status == "agrees"
    assert answer.candidates[0].lubricant.id == "gl-4-75w-90"
    assert answer.candidates[0].verdict == "fits"


def test_gl_5_named_for_bronze_leads_with_care_and_conflicts(ask, box, of, says) -> None:
    answer = ask(**box("bronze", service_data={"family": "gl-5", "grade": "75W-90"}))
    assert of(answer, "gl-5-75w-90").verdict == "fits-with-care"
    assert of(answer, "gl-5-75w-90").rank == 1
    finding = says(answer, "gl-5-75w-90", "full-ep-additives-attack-yellow-metal")
    assert finding.effect == "cautions"
    assert "manufacturer" in finding.text
    assert answer.service_data.status == "conflicts"
    assert "bronze" in answer.service_data.text
    assert "with the manufacturer before you fill" in answer.service_data.text


def test_gl_5_stays_refused_for_bronze_where_the_service_data_names_another(ask, box, of) -> None:
    answer = ask(**box("bronze", service_data={"family": "gl-5", "grade": "75W-90"}))
    assert of(answer, "gl-5-80w-90").verdict == "does-not-fit"


def test_gl_5_named_for_paper_conflicts_over_the_lining(ask, box, of) -> None:
    answer = ask(**box("paper", service_data={"family": "gl-5", "grade": "75W-90"}))
    assert of(answer, "gl-5-75w-90").verdict == "fits-with-care"
    assert answer.service_data.status == "conflicts"
    assert "lining" in answer.service_data.text


def test_gl_4_named_beside_hypoid_gears_serves_with_care(ask, box, of) -> None:
    answer = ask(**box("bronze", final_drive="hypoid", service_data={"family": "gl-4", "grade": "75W-90"}))
    assert of(answer, "gl-4-75w-90").verdict == "fits-with-care"
    assert answer.service_data.status == "agrees"


def test_mtf_named_beside_hypoid_gears_conflicts(ask_short, box) -> None:
    answer = ask_short(**box("bronze", final_drive="hypoid", service_data={"family": "mtf", "grade": "75W-80"}))
    assert answer.service_data.status == "conflicts"
    assert "GL-5 level" in answer.service_data.text


def test_all_that_speaks_against_the_service_data_is_told(ask_short, box) -> None:
    answer = ask_short(**box("bronze", coldest_start_c=-30.0, service_data={"family": "gl-5", "grade": "80W-90"}))
    assert answer.service_data.status == "conflicts"
    assert "bronze rings" in answer.service_data.text
    assert "-30" in answer.service_data.text


def test_service_data_conflicts_over_the_cold_are_told(ask_short, box) -> None:
    answer = ask_short(**box("bronze", coldest_start_c=-35.0, service_data={"family": "gl-4", "grade": "80W-90"}))
    assert answer.service_data.status == "conflicts"
    assert "-35" in answer.service_data.text


def test_a_class_that_is_not_known_cannot_be_compared(ask_short, box) -> None:
    answer = ask_short(**box("bronze", service_data={"family": "gl-4", "grade": "75W-110"}))
    assert answer.service_data.status == "cannot-compare"
    assert "ollow the service data" in answer.service_data.text
    assert answer.outcome == "settled"


@pytest.mark.parametrize("service_data", [{}, {"note": "book, page 12"}])
def test_service_data_without_family_and_grade_cannot_be_compared(ask_short, box, service_data) -> None:
    answer = ask_short(**box("bronze", service_data=service_data))
    assert answer.service_data.status == "cannot-compare"


def test_a_grade_alone_names_every_family_of_that_grade(ask_short, box) -> None:
    answer = ask_short(**box("bronze", service_data={"grade": "75W-90"}))
    assert answer.service_data.status == "agrees"
    assert "ask which is meant" in answer.service_data.text


@pytest.mark.parametrize("grade", ["75W-80", "75W-85", "75W-90", "80W-90"])
def test_a_grade_alone_leads_where_a_class_of_it_serves(ask, box, grade) -> None:
    answer = ask(**box("bronze", service_data={"grade": grade}))
    assert answer.service_data.status == "agrees"
    assert answer.candidates[0].lubricant.grade == grade


def test_a_grade_alone_that_no_family_serves_in_conflicts_and_says_who_is_meant(ask_short, box) -> None:
    answer = ask_short(**box("paper", service_data={"grade": "75W-140"}))
    assert answer.service_data.status == "conflicts"
    assert "GL-5 gear oil 75W-140: " in answer.service_data.text


def test_a_single_grade_of_an_older_book_names_the_multigrades_of_it(ask, box) -> None:
    answer = ask(**box("bronze", service_data={"family": "gl-4", "grade": "90"}))
    assert answer.service_data.status == "agrees"
    assert answer.candidates[0].lubricant.id == "gl-4-75w-90"
    assert {item.lubricant.grade.split("-")[-1] for item in answer.candidates[:2]} == {"90"}


def test_the_text_speaks_of_families_by_their_label(ask_short, box) -> None:
    answer = ask_short(**box("bronze", service_data={"family": "gl-5-limited-slip", "grade": "75W-110"}))
    assert "GL-5 limited-slip 75W-110" in answer.service_data.text


def test_a_grade_alone_excuses_no_gl_5(ask, box, of) -> None:
    answer = ask(**box("bronze", service_data={"grade": "75W-90"}))
    assert of(answer, "gl-5-75w-90").verdict == "does-not-fit"


@pytest.mark.parametrize(
    "grade",
    [
        "75w90",
        "SAE 75W-90",
        "sae 75 w 90",
        "75W/90",
        "75W\N{EN DASH}90",
        "API GL-4 75 W - 90",
        "GL4 EP 75W-90",
        "SAE75W-90",
        "75W-90 synthetic",
    ],
)
def test_a_grade_is_understood_however_it_is_spelled(ask, box, grade, oil, base) -> None:
    assert Named.of(ServiceData(family="gl-4", grade=grade), base).names(oil("gl-4-75w-90"))
    answer = ask(**box("bronze", service_data={"family": "gl-4", "grade": grade}))
    assert answer.service_data.status == "agrees"
    assert answer.candidates[0].lubricant.id == "gl-4-75w-90"


def test_a_family_alone_names_all_its_grades(ask, box, base) -> None:
    answer = ask(**box("bronze", coldest_start_c=-10.0, service_data={"family": "mtf"}))
    first = [item.lubricant.family for item in answer.candidates[:5]]
    assert first == ["mtf"] * 5


def test_atf_named_for_towing_serves_with_care(ask, box, of) -> None:
    towing = {"duty": "towing", "sump_hot_c": 105.0}
    assert of(ask(**box("bronze", **towing)), "atf-standard").verdict == "does-not-fit"
    named = ask(**box("bronze", **towing, service_data={"family": "atf", "grade": "standard viscosity"}))
    assert of(named, "atf-standard").verdict == "fits-with-care"
    assert named.candidates[0].lubricant.id == "atf-standard"


def test_gl_1_serves_a_light_box_whose_service_data_names_it(ask, box, of) -> None:
    light = box("bronze", coldest_start_c=5.0, sump_hot_c=70.0, service_data={"family": "gl-1", "grade": "90"})
    answer = ask(**light)
    assert of(answer, "gl-1-90").verdict in ("fits", "fits-with-care")


def test_service_data_does_not_conflict_with_a_box_that_may_not_exist(ask_short) -> None:
    answer = ask_short(service_data={"family": "mtf", "grade": "75W-80"})
    assert answer.service_data.status != "conflicts" or "nly if" in answer.service_data.text


def test_the_caller_is_told_to_check_that_the_rings_are_still_the_same(ask_short, box) -> None:
    answer = ask_short(**box("bronze", service_data={"family": "gl-4", "grade": "75W-90"}))
    ids = [item.id for item in answer.cautions]
    assert "service-data-still-true" in ids
    assert "service-data-missing" not in ids
    assert "grade-name-edition" in ids


def test_the_kind_of_fluid_is_read_out_of_the_grade_text(ask, box) -> None:
    answer = ask(**box("bronze", service_data={"grade": "75W-90 GL-5"}))
    assert answer.question.service_data == ServiceData(family="gl-5", grade="75W-90")
    assert answer.service_data.status == "conflicts"


def test_a_grade_text_that_speaks_of_another_kind_of_fluid_matches_nothing(ask_short, box) -> None:
    answer = ask_short(**box("bronze", service_data={"family": "gl-4", "grade": "75W-90 GL-5"}))
    assert answer.service_data.status == "cannot-compare"


def test_service_data_does_not_agree_while_anything_open_speaks_against_it(ask_short) -> None:
    answer = ask_short(service_data={"family": "gl-5", "grade": "75W-90"})
    assert answer.service_data.status == "cannot-compare"
    assert "depends on what is not known" in answer.service_data.text


def test_a_family_alone_excuses_no_grade_that_the_lining_refuses(ask, box, of) -> None:
    answer = ask(**box("paper", service_data={"family": "mtf"}))
    assert answer.service_data.status == "agrees"
    assert "75W-80" in answer.service_data.text
    assert "75W-90" not in answer.service_data.text
    assert of(answer, "mtf-75w-90").verdict == "does-not-fit"


def test_the_service_data_stands_first_while_anything_speaks_for_it(ask_short) -> None:
    named = {"family": "mtf", "grade": "75W-80"}
    answer = ask_short(rings=[{"facing": "paper", "body": "steel"}], service_data=named)
    assert answer.leader.lubricant.id == answer.safest_if_unanswered.lubricant.id == "mtf-75w-80"
    assert answer.window is None or answer.window.kv100_mm2_s.max >= 11.0


@pytest.mark.parametrize(
    ("family", "grade", "said"),
    [
        ("engine-oil", "5W-40", "Engine oil 5W-40"),
        ("mtf", "75W-110", "MTF 75W-110"),
        ("gl-4", "75W-140", "GL-4 75W-140"),
        (None, "5W-40", "5W-40"),
    ],
)
def test_a_grade_that_is_not_listed_heads_the_answer_and_nothing_else_does(ask, box, family, grade, said) -> None:
    answer = ask(**box("bronze", service_data={"family": family, "grade": grade}))
    assert answer.summary == f"The service data names {said}, a grade that no class here has: follow it."
    assert answer.service_data.status == "cannot-compare"
    assert said in answer.say
    assert answer.leader is answer.window is answer.safest_if_unanswered is None
    assert answer.ask_next == ()
    assert {item.because for item in answer.others} == {"Not the grade that the service data names."}
    if family:
        assert answer.candidates[0].lubricant.family == family


def test_what_speaks_against_a_whole_family_speaks_against_its_unlisted_grade(ask, box, of) -> None:
    answer = ask(**box("bronze", coldest_start_c=-15.0, service_data={"family": "gl-5", "grade": "80W-140"}))
    assert answer.service_data.status == "conflicts"
    assert "GL-5 80W-140, a grade that no class here has, but: GL-5 additives attack" in answer.service_data.text
    assert answer.summary.endswith("clear it up with the manufacturer.")
    assert answer.window is None  # Nobody reads out what eats the rings.
    assert {of(answer, id).verdict for id in ("gl-5-75w-90", "gl-5-80w-90")} == {"does-not-fit"}


def test_a_grade_that_no_class_has_is_too_thick_for_a_lining_where_its_scale_says_so(ask_short, box) -> None:
    # SAE J306: grade 110 begins at 18.5 mm²/s.
    answer = ask_short(**box("paper", service_data={"family": "gl-4", "grade": "75W-110"}))
    assert answer.service_data.status == "conflicts"
    assert "KV100 of 18.5" in answer.service_data.text


def test_what_may_speak_against_a_grade_that_no_class_has_is_said_to_be_open(ask_short) -> None:
    answer = ask_short(service_data={"family": "gl-5", "grade": "250"})
    assert answer.service_data.status == "cannot-compare"
    assert "depends on what is not known yet" in answer.service_data.text


def test_a_text_that_is_no_grade_leaves_the_family_named(ask, box) -> None:
    for text in ("thick", "see the book"):
        answer = ask(**box("bronze", service_data={"family": "mtf", "grade": text}))
        assert answer.window.kv100_mm2_s.max
        assert answer.candidates[0].lubricant.family == "mtf"
