"""What the manufacturer published heads the answer; it is never overruled in silence."""

import pytest

from knowledge.box.named import Named
from knowledge.box.question import ServiceData


def named(family: str | None = None, grade: str | None = None, /, **box: object) -> dict:
    """What the service data names, and what changes of the plain box."""
    return {"service_data": {"family": family, "grade": grade}, **box}


HYPOID, TOWING = {"final_drive": "hypoid"}, {"duty": "towing", "sump_hot_c": 105.0}
STATUSES = {
    "nothing given": ("bronze", {"service_data": None}, "not-given", "decides"),
    "nothing named": ("bronze", {"service_data": {}}, "cannot-compare", "Ask for both"),
    "a note alone": ("bronze", {"service_data": {"note": "book, page 12"}}, "cannot-compare", "Ask for both"),
    "GL-5 for bronze": ("bronze", named("gl-5", "75W-90"), "conflicts", "with the manufacturer before you fill"),
    "GL-5 over a lining": ("paper", named("gl-5", "75W-90"), "conflicts", "lining"),
    "GL-4 beside hypoid gears": ("bronze", named("gl-4", "75W-90", **HYPOID), "agrees", "GL-4 75W-90"),
    "MTF beside hypoid gears": ("bronze", named("mtf", "75W-80", **HYPOID), "conflicts", "GL-5 level"),
    "all that speaks against it": ("bronze", named("gl-5", "80W-90", coldest_start_c=-30.0), "conflicts", "-30"),
    "its copper too": ("bronze", named("gl-5", "80W-90", coldest_start_c=-30.0), "conflicts", "bronze rings"),
    "the cold": ("bronze", named("gl-4", "80W-90", coldest_start_c=-35.0), "conflicts", "-35"),
    "a grade that no class has": ("bronze", named("gl-4", "75W-110"), "cannot-compare", "ollow the service data"),
    "one too thick for a lining": ("paper", named("gl-4", "75W-110"), "conflicts", "KV100 of 18.5"),  # SAE J306
    "a family by its label": ("bronze", named("gl-5-limited-slip", "75W-110"), None, "GL-5 limited-slip 75W-110"),
    "a grade alone": ("bronze", named(None, "75W-90"), "agrees", "ask which is meant"),
    "a grade alone that none serves in": ("paper", named(None, "75W-140"), "conflicts", "GL-5 gear oil 75W-140: "),
    "two kinds at once": ("bronze", named("gl-4", "75W-90 GL-5"), "cannot-compare", "75W-90 GL-5"),
    "a family with grades that burn": ("paper", named("mtf"), "agrees", "75W-80"),
}


@pytest.mark.parametrize(("facing", "changes", "status", "words"), STATUSES.values(), ids=STATUSES)
def test_how_the_service_data_and_the_verdicts_stand_to_each_other(
    ask_short, box, facing, changes, status, words
) -> None:
    found = ask_short(**box(facing, **changes)).service_data
    assert status in (None, found.status)
    assert words in found.text


VERDICTS = [
    ("bronze", named("gl-5", "75W-90"), "gl-5-75w-90", "fits-with-care"),
    ("bronze", named("gl-5", "75W-90"), "gl-5-80w-90", "does-not-fit"),
    ("paper", named("gl-5", "75W-90"), "gl-5-75w-90", "fits-with-care"),
    ("bronze", named("gl-4", "75W-90", **HYPOID), "gl-4-75w-90", "fits"),
    ("bronze", named(None, "75W-90"), "gl-5-75w-90", "does-not-fit"),
    ("bronze", TOWING, "atf-standard", "does-not-fit"),
    ("bronze", named("atf", "standard viscosity", **TOWING), "atf-standard", "fits"),
    ("bronze", named("gl-1", "90", coldest_start_c=5.0, sump_hot_c=70.0), "gl-1-90", "fits"),
    ("paper", named("mtf"), "mtf-75w-90", "does-not-fit"),
]


@pytest.mark.parametrize(("facing", "changes", "id", "verdict"), VERDICTS)
def test_service_data_excuses_what_it_names_and_nothing_else(
    judge, box, place_of, facing, changes, id, verdict
) -> None:
    assert judge(**box(facing, **changes)).verdict(place_of[id]) == verdict


def test_a_family_that_is_named_names_no_grade_that_a_lining_refuses(ask_short, box) -> None:
    assert "75W-90" not in ask_short(**box("paper", **named("mtf"))).service_data.text


def test_missing_service_data_is_warned_of(ask_short, box) -> None:
    assert "service-data-missing" in [item.id for item in ask_short(**box("bronze")).cautions]


def test_what_is_named_with_care_leads(judge, box, place_of) -> None:
    assert judge(**box("bronze", **named("gl-5", "75W-90"))).order[0] == place_of["gl-5-75w-90"]
    assert judge(**box("bronze", **named("atf", "standard viscosity", **TOWING))).order[0] == place_of["atf-standard"]


def test_service_data_that_fits_agrees(ask, box) -> None:
    answer = ask(**box("bronze", service_data={"family": "gl-4", "grade": "75W-90"}))
    assert answer.service_data.status == "agrees"
    assert answer.candidates[0].lubricant.id == "gl-4-75w-90"
    assert answer.candidates[0].verdict == "fits"


@pytest.mark.parametrize("grade", ["75W-80", "75W-85", "75W-90", "80W-90"])
def test_a_grade_alone_leads_where_a_class_of_it_serves(ask, box, grade) -> None:
    answer = ask(**box("bronze", service_data={"grade": grade}))
    assert answer.service_data.status == "agrees"
    assert answer.candidates[0].lubricant.grade == grade


def test_a_single_grade_of_an_older_book_names_the_multigrades_of_it(ask, box) -> None:
    answer = ask(**box("bronze", service_data={"family": "gl-4", "grade": "90"}))
    assert answer.service_data.status == "agrees"
    assert answer.candidates[0].lubricant.id == "gl-4-75w-90"
    assert {item.lubricant.grade.split("-")[-1] for item in answer.candidates[:2]} == {"90"}


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


def test_service_data_does_not_agree_while_anything_open_speaks_against_it(ask_short) -> None:
    answer = ask_short(service_data={"family": "gl-5", "grade": "75W-90"})
    assert answer.service_data.status == "cannot-compare"
    assert "depends on what is not known" in answer.service_data.text


def test_the_service_data_stands_first_while_anything_speaks_for_it(ask_short) -> None:
    named = {"family": "mtf", "grade": "75W-80"}
    answer = ask_short(rings=[{"facing": "paper", "body": "steel"}], service_data=named)
    assert answer.leader.lubricant.id == "mtf-75w-80"
    assert answer.safest_if_unanswered is None or answer.safest_if_unanswered.lubricant.id == "mtf-75w-80"
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


def test_what_may_speak_against_a_grade_that_no_class_has_is_said_to_be_open(ask_short) -> None:
    answer = ask_short(service_data={"family": "gl-5", "grade": "250"})
    assert answer.service_data.status == "cannot-compare"
    assert "depends on what is not known yet" in answer.service_data.text
