"""Who leads: in each case by custom among what nothing refuses, and over all cases by their weights."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.knowledge.every_case import Case
from tests.knowledge.law import law
from tests.knowledge.leads import RARE, ROUNDING, lead_over, leader_of, told

pytestmark = pytest.mark.filterwarnings("ignore:Generating overly large repr")  # of the knowledge base
FROM_BEST = ("fits", "fits-with-care", "depends", "does-not-fit")


@law(80)
@given(data=st.data())
def test_in_each_case_the_usual_leads_of_what_nothing_refuses(data, stated_questions, base, judge) -> None:
    question = data.draw(stated_questions)
    case = Case(question, {}, 1.0, judge(**question))
    whole = lead_over([case], [leader_of(case, None, base)], base)
    found = case.judgement.lead
    assert (found.outcome, frozenset() if found.leader is None else {found.leader}) == whole[:2]


def test_over_all_cases_the_one_leads_that_does_least_harm_and_leads_in_most_weight(asked_every_way, base) -> None:
    for question, judgement, cases in asked_every_way:
        leaders = [leader_of(case, question["box_kind"], base) for case in cases]
        whole, found = lead_over(cases, leaders, base), judgement.lead
        assert found.outcome == whole.outcome, question
        assert found.share == pytest.approx(whole.share), question
        assert found.leader in whole.best or (found.leader is None and not whole.best), question
        for place in range(len(base.lubricants)):
            led = sum(case.weight for case, leader in zip(cases, leaders, strict=True) if leader == place)
            assert found.led[place] == pytest.approx(led), (question, place)


def test_a_verdict_counts_what_refuses_and_what_wants_care_by_weight_and_drops_what_is_rare(
    asked_every_way, base
) -> None:
    for question, judgement, cases in asked_every_way:
        weights = np.array([case.weight for case in cases])
        refused, cared = (np.array(flags) for flags in zip(*(told(case.judgement) for case in cases), strict=True))
        refused_share, care_share = weights @ refused, weights @ (cared & ~refused)
        assert judgement.ranking.refused_share == pytest.approx(refused_share)
        assert judgement.ranking.care_share == pytest.approx(care_share)
        for place, (no, care) in enumerate(zip(refused_share, care_share, strict=True)):
            wanted = "fits-with-care" if care > RARE + ROUNDING else "fits"
            wanted = "depends" if no > RARE + ROUNDING else wanted
            wanted = "does-not-fit" if no > 1 - RARE - ROUNDING else wanted
            assert judgement.verdict(place) == wanted, question
            assert judgement.share_of_cases(place) == pytest.approx(1 - no, abs=1e-4)


def test_what_is_not_refused_is_in_the_order_the_leader_first_and_a_better_verdict_higher(asked_every_way) -> None:
    for question, judgement, _ in asked_every_way:
        serving = {at for at in range(len(judgement.lubricants)) if judgement.verdict(at) != "does-not-fit"}
        leader = judgement.leader
        assert {*judgement.order} - {leader} == serving - {leader}
        assert judgement.order[:1] == ((leader,) if leader is not None else judgement.order[:1])
        if question["service_data"] is None and judgement.lead.outcome == "settled":
            others = [at for at in judgement.order if at not in (leader, *judgement.alike)]
            found = [FROM_BEST.index(judgement.verdict(at)) for at in others]
            assert found == sorted(found)


def test_the_safest_is_the_first_that_is_refused_in_hardly_more_cases_than_any_other(asked_every_way) -> None:
    for _, judgement, _ in asked_every_way:
        leader, safest, refused = judgement.leader, judgement.safest, judgement.ranking.refused_share
        assert (safest is None) == (leader is None)
        if leader is not None:
            near = [at for at in judgement.order if refused[at] <= min(refused) + judgement.ranking.rare + ROUNDING]
            assert safest == near[0]
            assert safest == leader or leader not in near


def test_where_first_shifts_are_surely_hard_the_next_thinner_grade_leads(judge, box) -> None:
    # Common practice, no source: a worn thread in hard frost gets a grade less, and nothing does at a mild start.
    worn = [judge(**box("bronze", condition="worn", coldest_start_c=cold)) for cold in (-10.0, -30.0)]
    assert [one.lubricants[one.leader].id for one in worn] == ["gl-4-75w-90", "gl-4-75w-80"]


def test_what_does_lasting_harm_in_some_case_leads_none_though_it_leads_most_of_them(judge, base) -> None:
    ring = {"cones": 1, "condition": "worn"}
    judgement = judge(
        box_kind="lengthwise-transaxle", rings=[ring], yellow_metal=False, coldest_start_c=-10.0, duty="street",
        limited_slip=False, wet_clutch=False,
    )  # fmt: skip
    most = base.lubricants[int(judgement.lead.led[: len(base.lubricants)].argmax())]
    assert most.family.id == "gl-5"  # beside hypoid gears and molybdenum
    assert judgement.lubricants[judgement.leader].family.id in ("mtf", "gl-4")
