"""A word the knowledge does not have is told, with the words it has and the nearest one."""

import pytest
from pydantic import ValidationError

from knowledge.box.question import FillQuestion
from knowledge.errors import UnknownIds
from knowledge.fill.compute import compute_fill_answer


def refused(base, fields: dict) -> dict:
    """The unknown ids of a question, by their pointers."""
    with pytest.raises(UnknownIds) as error:
        compute_fill_answer(FillQuestion.model_validate(fields), base)
    return {item.pointer: item for item in error.value.items}


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


@pytest.mark.parametrize("grade", ["ATF", "75W-90", "90", "80W-90 GL-4", "see the book"])
def test_a_grade_in_any_words_is_taken(grade: str) -> None:
    assert FillQuestion.model_validate({"service_data": {"grade": grade}}).service_data.grade == grade


def test_a_category_beside_a_grade_that_says_nothing_is_taken_by_itself(base) -> None:
    answers = [
        compute_fill_answer(FillQuestion.model_validate({"service_data": service_data}), base, detail="full")
        for service_data in ({"grade": "GL-4 ?"}, {"family": "gl-4"})
    ]
    assert answers[0].candidates == answers[1].candidates
