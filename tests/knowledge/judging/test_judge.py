"""Laws of the verdicts: what makes a box harder never makes an oil fit it better."""

from collections.abc import Callable
from itertools import permutations
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from knowledge.judging.judgement import Judgement
from knowledge.judging.window import window
from knowledge.parts.provenance import EFFECTS_FROM_WORST
from tests.knowledge.law import law

FROM_BEST = ("fits", "fits-with-care", "depends", "does-not-fit")
Question = dict[str, Any]


def of_each_ring(name: str, value: Any) -> Callable[[Question], Question]:
    """A question with all rings alike in a part."""
    return lambda question: {"rings": [{**ring, name: value} for ring in question["rings"]]}


HARDER = {
    "yellow metal": (lambda _: {"yellow_metal": False}, lambda _: {"yellow_metal": True}),
    "a bronze ring body": (of_each_ring("body", "steel"), of_each_ring("body", "bronze")),
    "wear": (of_each_ring("condition", "new"), of_each_ring("condition", "worn")),
    "harder duty at the same heat": (lambda _: {"duty": "street"}, lambda _: {"duty": "competition"}),
    "a wet clutch": (lambda _: {"wet_clutch": False}, lambda _: {"wet_clutch": True}),
    "a limited-slip clutch pack": (lambda _: {"limited_slip": False}, lambda _: {"limited_slip": True}),
    "another kind of ring": (
        lambda question: {"rings": question["rings"][:1], "service_data": None},
        lambda question: {"service_data": None, "rings": question["rings"][:1] and question["rings"]},
    ),
}


def assert_none_improved(easier: Judgement, harder: Judgement) -> None:
    for place, oil in enumerate(easier.lubricants):
        before, after = (FROM_BEST.index(one.verdict(place)) for one in (easier, harder))
        assert after >= before, oil.id


@pytest.mark.parametrize(("easier", "harder"), HARDER.values(), ids=HARDER)
@law(20)
@given(data=st.data())
def test_what_makes_a_box_harder_never_improves_a_verdict(data, easier, harder, stated_questions, judge) -> None:
    question = data.draw(stated_questions)
    assert_none_improved(judge(**{**question, **easier(question)}), judge(**{**question, **harder(question)}))


@pytest.mark.parametrize(
    ("field", "lowest", "highest", "is_harder_high"),
    [("coldest_start_c", -50, 50, False), ("sump_hot_c", 20, 150, True)],
)
@law(20)
@given(data=st.data())
def test_a_harder_temperature_never_improves_a_verdict(
    data, field, lowest, highest, is_harder_high, partly_stated_questions, judge
) -> None:
    question = data.draw(partly_stated_questions)
    ends = sorted((data.draw(st.integers(lowest, highest)) for _ in range(2)), reverse=not is_harder_high)
    assert_none_improved(*(judge(**{**question, field: float(end)}) for end in ends))


def judged(judgement: Judgement) -> tuple:
    """All that a judgement comes to, apart from where in the question it points."""
    places = range(len(judgement.lubricants))
    of_each = [(judgement.verdict(at), judgement.share_of_cases(at), *judgement.figures(at)) for at in places]
    return (
        judgement.order,
        (judgement.leader, judgement.lead.outcome, round(judgement.lead.share, 9)),
        judgement.count,
        judgement.cautions(),
        of_each,
        window(judgement, judgement.order[:1]),
    )


@law(15)
@given(data=st.data())
def test_the_order_of_the_rings_means_nothing(data, partly_stated_questions, judge) -> None:
    question = data.draw(partly_stated_questions)
    rings = question["rings"] or [{"facing": "paper", "body": None}, {"facing": None, "body": "steel"}]
    first, *others = (judged(judge(**{**question, "rings": list(order)})) for order in permutations(rings))
    assert all(other == first for other in others)


@law(15)
@given(data=st.data())
def test_the_same_ring_twice_is_one_ring(data, stated_questions, judge) -> None:
    question = data.draw(stated_questions)
    assert judged(judge(**question)) == judged(judge(**{**question, "rings": question["rings"] * 2}))


@law(25)
@given(data=st.data())
def test_a_verdict_follows_from_its_findings(data, stated_questions, judge) -> None:
    judgement = judge(**data.draw(stated_questions))
    place = data.draw(st.sampled_from(range(len(judgement.lubricants))))
    effects = {EFFECTS_FROM_WORST[effect] for effect in judgement.judged.worst[:, place]}
    served = "fits-with-care" if "cautions" in effects else "fits"
    assert judgement.verdict(place) == ("does-not-fit" if "excludes" in effects else served)
