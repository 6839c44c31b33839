"""A word the knowledge does not have is told, with the words it has and the nearest one."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pydantic import ValidationError

from knowledge.box.question import FillQuestion
from knowledge.errors import UnknownIds
from knowledge.fill.compute import compute_fill_answer
from knowledge.ids import with_ids
from knowledge.jug.compute import compute_jug_answer
from knowledge.jug.question import JugQuestion


def refused(base, fields: dict) -> dict:
    """The unknown ids of a question, by their pointers."""
    with pytest.raises(UnknownIds) as error:
        compute_fill_answer(FillQuestion.model_validate(fields), base)
    return {item.pointer: item for item in error.value.items}


@pytest.mark.parametrize(
    ("fields", "pointer", "nearest"),
    [
        ({"rings": [{"facing": "papper"}]}, "/rings/0/facing", "paper"),
        ({"rings": [{"facing": "paper"}, {"facing": "bronce"}]}, "/rings/1/facing", "bronze"),
        ({"rings": [{"body": "steal"}]}, "/rings/0/body", "steel"),
        ({"duty": "towin"}, "/duty", "towing"),
        ({"service_data": {"family": "gl-44"}}, "/service_data/family", "gl-4"),
        ({"rings": [{"facing": "bras"}]}, "/rings/0/facing", "bronze"),
        ({"final_drive": "hypiod"}, "/final_drive", "hypoid"),
        ({"service_data": {"grade": "75w-9"}}, "/service_data/grade", "75W-90"),
        ({"in_it_now": {"label": {"grade": "80W-91"}}}, "/in_it_now/label/grade", "80W-90"),
    ],
)
def test_a_mistyped_id_is_told_with_the_nearest_known_one(base, fields, pointer, nearest) -> None:
    item = refused(base, fields)[pointer]
    assert item.did_you_mean == nearest
    assert nearest in item.known


def test_every_unknown_id_of_a_question_is_told_at_once(base) -> None:
    items = refused(base, {"rings": [{"facing": "papper", "body": "steal"}], "duty": "towin"})
    assert set(items) == {"/rings/0/facing", "/rings/0/body", "/duty"}


def test_a_word_like_none_that_we_know_gets_no_suggestion(base) -> None:
    assert refused(base, {"duty": "xyzzy"})["/duty"].did_you_mean is None


@pytest.mark.parametrize(
    "grade", ["unknown", "Unknown.", "n/a", "none", "null", "-", "?", " ", "\u200b", "日本", "I don't know"]
)
def test_a_grade_that_says_nothing_is_refused(grade: str) -> None:
    for question in ({"service_data": {"grade": grade}}, {"in_it_now": {"label": {"family": "gl-4", "grade": grade}}}):
        with pytest.raises(ValidationError, match="leave it out"):
            FillQuestion.model_validate(question)


@pytest.mark.parametrize("grade", ["rubbish", "see the book", "90W", "75W-91", "85W-80", "VG 33", "100", "EP"])
def test_a_grade_that_cannot_be_read_is_refused_and_never_followed(base, grade: str) -> None:
    named = {"family": "mtf", "grade": grade}
    told = refused(base, {"service_data": named, "rings": [{"fluid_named": named}]})
    for item in (told["/service_data/grade"], told["/rings/0/fluid_named/grade"]):
        assert (item.code, "75W-90" in item.known) == ("unreadable_grade", True)


@pytest.mark.parametrize(
    ("fields", "ids"),
    [
        (
            {"rings": [{"facing": "Brass", "condition": "rebuilt"}]},
            {"rings": [{"facing": "bronze", "condition": "new"}]},
        ),
        ({"rings": [{"facing": "fibre"}], "duty": "Racing"}, {"rings": [{"facing": "paper"}], "duty": "competition"}),
        ({"rings": [{"facing": "CARBON"}]}, {"rings": [{"facing": "carbon"}]}),
        ({"rings": [{"facing": "crash box"}]}, {"rings": []}),
        ({"service_data": {"family": "API GL 4"}}, {"service_data": {"family": "gl-4"}}),
        ({"final_drive": "propshaft"}, {"final_drive": "none"}),
        ({"service_data": {"family": "J2360"}}, {"service_data": {"family": "gl-5"}}),
        ({"rings": [], "service_data": {"family": "J2360"}}, {"rings": [], "service_data": {"family": "mt-1"}}),
        (
            {"on_hand": [{"label": {"family": "GL-5/MT-1"}}]},
            {"on_hand": [{"label": {"family": "gl-5", "also": ["mt-1"]}}]},
        ),
    ],
)
def test_the_words_of_callers_are_asked_and_echoed_as_ids(base, fields, ids) -> None:
    """Common practice, no source: the words that callers use."""
    assert with_ids(FillQuestion.model_validate(fields), base) == FillQuestion.model_validate(ids)


@pytest.mark.parametrize(
    ("fields", "pointer", "both"),
    [
        ({"rings": [{"facing": "composite"}]}, "/rings/0/facing", ("paper", "carbon")),
        ({"service_data": {"family": "EP"}}, "/service_data/family", ("gl-4", "gl-5")),
        ({"final_drive": "transaxle"}, "/final_drive", ("helical", "hypoid")),
    ],
)
def test_a_word_that_means_two_things_is_asked_back_with_both(base, fields, pointer, both) -> None:
    item = refused(base, fields)[pointer]
    assert (item.code, item.known, item.did_you_mean) == ("ambiguous_word", both, None)


@settings(max_examples=300, deadline=None, derandomize=True)
@given(text=st.text(max_size=40) | st.text("0123456789Ww-/ GLMTE.()+", max_size=40))
def test_any_text_as_a_grade_is_answered_or_refused(base, text: str) -> None:
    for question in ({"label": {"grade": text}}, {"label": {"family": "gl-4", "grade": text}}):
        try:
            compute_jug_answer(JugQuestion.model_validate(question), base)
        except (UnknownIds, ValidationError) as error:
            assert "grade" in str(error)


def test_a_category_beside_a_grade_that_says_nothing_is_taken_by_itself(base) -> None:
    answers = [
        compute_fill_answer(FillQuestion.model_validate({"service_data": service_data}), base, detail="full")
        for service_data in ({"grade": "GL-4 ?"}, {"family": "gl-4"})
    ]
    assert answers[0].candidates == answers[1].candidates
