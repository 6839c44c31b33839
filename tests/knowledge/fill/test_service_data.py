"""What the manufacturer published heads the answer; it is never overruled in silence."""

import pytest

from knowledge.box.named import Named
from knowledge.box.question import FillQuestion, ServiceData


def named(family: str | None = None, grade: str | None = None, /, **box: object) -> dict:
    """What the service data names, and what changes of the plain box."""
    return {"service_data": {"family": family, "grade": grade}, **box}


HYPOID, TOWING = {"final_drive": "hypoid"}, {"duty": "towing", "sump_hot_c": 105.0}
CHANGED, BUILT_WITH = ({"rings": [{"facing": "paper", "replaced": changed}]} for changed in (True, False))
# What the contract of the answer says of each; that a maker's word goes first is common practice.
STATUSES = {
    "nothing given": ("bronze", {"service_data": None}, "not-given", "goes first"),
    "nothing named": ("bronze", {"service_data": {}}, "cannot-compare", "ask for both"),
    "a note alone": ("bronze", {"service_data": {"note": "book, page 12"}}, "cannot-compare", "ask for both"),
    "GL-5 for bronze": ("bronze", named("gl-5", "75W-90"), "agrees", "with the care named here"),
    "GL-5 over a lining": ("paper", named("gl-5", "75W-90"), "conflicts", "paper lining"),
    "GL-5 over a lining put in later": ("paper", named("gl-5", "75W-90", **CHANGED), "conflicts", "they decide"),
    "GL-5 over its own lining": ("paper", named("gl-5", "75W-90", **BUILT_WITH), "agrees", "with the care"),
    "MT-1 over a lining": ("paper", named("mt-1", "50"), "conflicts", "paper lining"),
    "GL-4 beside hypoid gears": ("bronze", named("gl-4", "75W-90", **HYPOID), "agrees", "GL-4 75W-90"),
    "a grade too stiff for the cold": ("bronze", named("gl-4", "80W-90", coldest_start_c=-35.0), "agrees", "the care"),
    "a grade that no class has": ("bronze", named("gl-4", "75W-110"), "cannot-compare", "Follow the book"),
    "a thick one over a lining": ("paper", named("gl-4", "75W-110"), "cannot-compare", "Follow the book"),
    "a family by its label": ("bronze", named("gl-5-limited-slip", "75W-110"), None, "GL-5 limited-slip 75W-110"),
    "a grade alone": ("bronze", named(None, "75W-90"), "agrees", "without a kind of fluid"),
    "a family alone": ("paper", named("mtf"), "agrees", "75W-80 is the usual one."),
}


@pytest.mark.parametrize(("facing", "changes", "status", "words"), STATUSES.values(), ids=STATUSES)
def test_how_the_service_data_and_the_answer_stand_to_each_other(
    ask_short, box, facing, changes, status, words
) -> None:
    answer = ask_short(**box(facing, **changes))
    assert status in (None, answer.service_data.status)
    assert words in answer.service_data.text


VERDICTS = [
    ("bronze", named("gl-5", "75W-90"), "gl-5-75w-90", "fits-with-care"),
    ("bronze", named("gl-5", "75W-90"), "gl-5-80w-90", "does-not-fit"),
    ("paper", named("gl-5", "75W-90"), "gl-5-75w-90", "does-not-fit"),
    ("paper", named("gl-5", "75W-90", **BUILT_WITH), "gl-5-75w-90", "fits-with-care"),
    ("bronze", named("gl-4", "75W-90", **HYPOID), "gl-4-75w-90", "fits"),
    ("bronze", named(None, "75W-90"), "gl-5-75w-90", "does-not-fit"),
    ("bronze", TOWING, "atf-standard", "does-not-fit"),
    ("bronze", named("atf", "standard viscosity", **TOWING), "atf-standard", "fits"),
    ("bronze", named("gl-1", "90", coldest_start_c=5.0, sump_hot_c=70.0), "gl-1-90", "fits"),
    ("paper", named("mtf", "75W-90"), "mtf-75w-90", "fits"),  # a limit of our own judgement never overrules a book
]


@pytest.mark.parametrize(("facing", "changes", "id", "verdict"), VERDICTS)
def test_service_data_excuses_what_it_names_and_nothing_else(
    judge, box, place_of, facing, changes, id, verdict
) -> None:
    assert judge(**box(facing, **changes)).verdict(place_of[id]) == verdict


def test_a_family_that_is_named_names_no_grade_that_a_lining_refuses(ask_short, box) -> None:
    assert "75W-90" not in ask_short(**box("paper", **named("mtf"))).service_data.text


def test_missing_service_data_is_warned_of_where_nothing_else_is_known(ask_short, box) -> None:
    assert "service-data-missing" in [item.id for item in ask_short().cautions]
    assert "service-data-missing" not in [item.id for item in ask_short(**box("bronze")).cautions]


@pytest.mark.parametrize("grade", ["75W-80", "75W-85", "75W-90", "80W-90"])
def test_a_grade_alone_leads_where_a_class_of_it_serves(ask_short, box, grade) -> None:
    answer = ask_short(**box("bronze", service_data={"grade": grade}))
    assert answer.service_data.status == "agrees"
    assert answer.leader.lubricant.grade == grade


def test_a_single_grade_of_an_older_book_means_the_multigrade_of_today(ask_short, box) -> None:
    """Common practice, no source: a GL-4 90 of an old book is an 80W-90, where the winter allows it."""
    answer = ask_short(**box("bronze", coldest_start_c=0.0, **named("gl-4", "90")))
    assert answer.leader.lubricant.id == "gl-4-80w-90"


def test_a_grade_of_an_older_book_means_no_other_kind_than_it_names(ask_short, box) -> None:
    answer = ask_short(**box("paper", coldest_start_c=0.0, **named("mt-1", "50")))
    assert (answer.outcome, answer.leader) == ("conflict", None)


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
        "75W-90 synthetic",
    ],
)
def test_a_grade_is_understood_however_it_is_spelled(ask_short, box, grade, oil, base) -> None:
    fields = box("bronze", service_data={"family": "gl-4", "grade": grade})
    assert Named.of(FillQuestion.model_validate(fields), base).names(oil("gl-4-75w-90"))
    answer = ask_short(**fields)
    assert answer.service_data.status == "agrees"
    assert answer.leader.lubricant.id == "gl-4-75w-90"


def test_the_kind_of_fluid_is_read_out_of_the_grade_text(ask, box) -> None:
    answer = ask(**box("bronze", service_data={"grade": "75W-90 GL-5"}))
    assert answer.question.service_data == ServiceData(family="gl-5", grade="75W-90")
    assert answer.leader.verdict == "fits-with-care"


def test_service_data_does_not_agree_while_anything_open_is_against_it(ask_short) -> None:
    answer = ask_short(service_data={"family": "gl-5", "grade": "75W-90"})
    assert answer.service_data.status == "cannot-compare"
    assert "hangs on what is not known" in answer.service_data.text


def test_the_service_data_stands_first_while_anything_speaks_for_it(ask_short) -> None:
    answer = ask_short(rings=[{"facing": "paper", "body": "steel"}], **named("mtf", "75W-80"))
    assert answer.leader.lubricant.id == "mtf-75w-80"
    assert answer.safest_if_unanswered is None or answer.safest_if_unanswered.lubricant.id == "mtf-75w-80"


@pytest.mark.parametrize(
    ("family", "grade", "said"),
    [
        ("engine-oil", "5W-40", "engine oil 5W-40"),
        ("mtf", "75W-110", "MTF 75W-110"),
        ("gl-4", "75W-140", "GL-4 75W-140"),
        (None, "5W-40", "5W-40"),
    ],
)
def test_a_grade_that_is_not_listed_leads_as_it_is_printed_and_nothing_else_does(
    ask_short, box, family, grade, said
) -> None:
    answer = ask_short(**box("bronze", **named(family, grade)))
    assert answer.summary.startswith(f"Fill {said}: the book names it.")
    assert said in answer.say
    leader = answer.leader.lubricant
    assert (leader.id, leader.family, leader.grade) == (None, family, grade)
    assert (answer.others, answer.ask_next) == ((), ())


@pytest.mark.parametrize(
    ("family", "grade"), [("atf", "75W-90"), ("engine-oil", "80W-90"), ("gl-5", "10W-40"), ("gl-4", "GL-5 75W-90")]
)
def test_a_fluid_that_cannot_be_is_a_line_to_read_again(ask_short, box, family, grade) -> None:
    # SAE J306 grades gear oils and J300 engine oils; neither grades ATF. No oil is of two categories that differ.
    answer = ask_short(**box("bronze", **named(family, grade)))
    assert (answer.outcome, answer.leader, answer.service_data.status) == ("conflict", None, "cannot-compare")
    assert "again" in answer.say
    assert "again" in answer.way_out[0]
    assert "W-" not in answer.summary


@pytest.mark.parametrize(("grade", "coldest_c", "limit_c"), [("20W-50", -21, -20), ("5W-40", -36, -35)])
def test_a_grade_that_is_not_listed_has_its_own_cold_limit(ask_short, box, grade, coldest_c, limit_c) -> None:
    # SAE J300: a 20W is pumped at -20 °C, a 5W at -35 °C.
    cold = ask_short(**box("bronze", coldest_start_c=coldest_c, **named("engine-oil", grade))).leader
    assert (cold.verdict, f"{limit_c} °C" in cold.care[0]) == ("fits-with-care", True)
    assert not ask_short(**box("bronze", coldest_start_c=limit_c, **named("engine-oil", grade))).leader.care


def test_an_unlisted_grade_of_axle_oil_needs_the_care_of_its_family(ask_short, box, of) -> None:
    answer = ask_short(**box("bronze", **named("gl-5", "80W-140")))
    assert answer.leader.verdict == "fits-with-care"
    assert "copper strip of 2a or better" in answer.leader.care[0]
    assert ask_short(**box("paper", **named("gl-5", "80W-140"))).outcome == "conflict"


def test_a_book_that_names_the_same_harm_as_the_maker_of_the_rings_does_not_agree(ask_short, box) -> None:
    """GL-5 on a lining is harm whoever names it: common practice, no source."""
    named = {"family": "gl-5", "grade": "75W-90"}
    rings = [{"facing": "carbon", "replaced": True, "fluid_named": named}]
    told = ask_short(**{**box("carbon"), "rings": rings, "service_data": named})
    assert (told.outcome, told.service_data.status) == ("conflict", "conflicts")
    assert "so does the maker of the rings" in told.service_data.text
