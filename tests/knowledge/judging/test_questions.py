"""What a reply settles is counted over every case, and what can never matter is not asked."""

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.knowledge.every_case import Case, every_case, folded
from tests.knowledge.law import law

pytestmark = pytest.mark.filterwarnings("ignore:Generating overly large repr")  # of the knowledge base


def undecided(cases: list[Case]) -> set[int]:
    """The classes that serve in some cases and not in others."""
    places = range(len(cases[0].judgement.lubricants))
    return {place for place in places if folded([case.judgement.verdict(place) for case in cases]) == "depends"}


@law(25)
@given(data=st.data())
def test_what_a_reply_settles_is_counted_over_every_case(data, partly_stated_questions, base, judge) -> None:
    question = data.draw(partly_stated_questions)
    cases, asked = every_case(question, base, judge), judge(**question).questions()
    still_open = undecided(cases)
    for item in asked:
        decided = 0
        for reply in item.replies:
            left = [case for case in cases if case.replies[item.pointer] == reply.value]
            decided += len(left) * len(still_open - undecided(left))
            served = sum(bool(case.judgement.order) for case in left)
            assert reply.served == pytest.approx(served / len(left))
        assert item.settles == pytest.approx(decided / (len(cases) * len(still_open)) if still_open else 0.0)
    assert all(first.settles >= second.settles for first, second in pairwise(asked))


def test_of_rings_that_may_not_be_there_nothing_else_is_asked(judge) -> None:
    pointers = [item.pointer for item in judge().questions()]
    assert "/rings" in pointers
    assert not [pointer for pointer in pointers if pointer.startswith("/rings/")]
