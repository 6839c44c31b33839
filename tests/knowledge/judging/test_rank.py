"""The order of the classes: over all cases, with each reply, and in each case by itself."""

from collections.abc import Sequence

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from knowledge.judging.judgement import Judgement
from knowledge.judging.rules import RULES
from tests.knowledge.every_case import Case, every_case
from tests.knowledge.law import law

pytestmark = pytest.mark.filterwarnings("ignore:Generating overly large repr")  # of the knowledge base
FROM_BEST = ("fits", "fits-with-care", "depends")


def margin(case: Case, place: int, kind: str) -> float:
    """The least margin in a case to the limits of some rules; infinite without any."""
    made = zip(RULES, case.judgement.judged.decisions, strict=True)
    margins = [
        np.ravel(decision.margin) for rule, decision in made if getattr(rule, kind) and decision.margin is not None
    ]
    found = [float(one[place if len(one) > 1 else 0]) for one in margins]
    return min((value for value in found if value == value), default=np.inf)


def standing(cases: Sequence[Case], place: int) -> tuple:
    """What a class is ordered by over some cases, less is better: as `Measures` says it, counted case by case."""
    judgement, base = cases[0].judgement, cases[0].judgement.base
    oil, named = judgement.lubricants[place], judgement.named
    facings = [sorted({ring["facing"] for ring in case.question["rings"]}) for case in cases]
    served = sum(case.serves(place) for case in cases)
    warned = sum(bool(case.judgement.judged.single.is_warned[place]) for case in cases)
    bands = {row.kv100_band_mm2_s for row in base.lubricants if named.grades and named.matches(row)}
    is_for_a_clutch = all(case.question["wet_clutch"] and not case.question["rings"] for case in cases)
    depends = 0 < served < len(cases)
    comfort = min(margin(case, place, "sets_comfort_margin") for case in cases)
    return (
        not (named.matches(oil) or named.is_kin(oil)),
        depends,
        warned > 0,
        oil.kv100_band_mm2_s not in bands,
        served < len(cases) or any(case.judgement.verdict(place) != "fits" for case in cases),
        -served if depends else 0,
        warned,
        is_for_a_clutch and not oil.family.suits_wet_clutch,
        max(base.fitness[facing, oil.family.id] for some in facings for facing in some or ["none"]),
        oil.family.dual_label,
        -min(*(margin(case, place, "sets_margin") for case in cases), base.limit("margin-comfortable-from"), np.inf),
        -min(float(f"{min(comfort, 1.0):.2g}"), 1.0),
        not any(base.facings[facing].usual_lubricant == oil.id for some in facings for facing in some),
    )


def order(cases: Sequence[Case]) -> list[int]:
    """The classes that serve in some case, best first; of equals the first of the table."""
    places = range(len(cases[0].judgement.lubricants))
    serving = [place for place in places if any(case.serves(place) for case in cases)]
    return sorted(serving, key=lambda place: standing(cases, place))


@law(25)
@given(data=st.data())
def test_the_order_is_that_of_every_case_counted_one_by_one(data, partly_stated_questions, base, judge) -> None:
    question = data.draw(partly_stated_questions)
    cases, judgement = every_case(question, base, judge), judge(**question)
    ordered = order(cases)
    assert list(judgement.order) == ordered
    for asked in judgement.questions():
        for reply in asked.replies:
            with_it = order([case for case in cases if case.replies[asked.pointer] == reply.value])
            assert reply.leader == (with_it[0] if with_it else None)


@law(25)
@given(data=st.data())
def test_it_is_settled_when_one_class_leads_in_every_case(data, partly_stated_questions, base, judge) -> None:
    question = data.draw(partly_stated_questions)
    leaders = {next(iter(case.judgement.order), None) for case in every_case(question, base, judge)}
    assert judge(**question).is_settled == (len(leaders) == 1)


@law(40)
@given(data=st.data())
def test_without_service_data_a_better_verdict_stands_higher(data, partly_stated_questions, judge) -> None:
    judgement = judge(**{**data.draw(partly_stated_questions), "service_data": None})
    found = [FROM_BEST.index(judgement.verdict(place)) for place in judgement.order]
    assert found == sorted(found)
    assert {judgement.verdict(place) for place in set(range(len(judgement.lubricants))) - {*judgement.order}} <= {
        "does-not-fit"
    }


@law(40)
@given(data=st.data())
def test_a_nuisance_stands_before_a_warning(data, stated_questions, judge) -> None:
    judgement = judge(**{**data.draw(stated_questions), "service_data": None})
    warned = [
        any(note.effect == "cautions" and note.severity != "note" for note in judgement.care(place))
        for place in judgement.order
        if judgement.verdict(place) == "fits-with-care"
    ]
    assert warned == sorted(warned)


def first_oil(judgement: Judgement):
    """The class that leads, None where none serves."""
    return judgement.lubricants[judgement.order[0]] if judgement.order else None


@law(100)
@given(data=st.data(), tenths_colder=st.integers(1, 400))
def test_the_leader_is_never_thicker_when_it_starts_colder(data, tenths_colder, stated_questions, judge) -> None:
    asked = {**data.draw(stated_questions), "service_data": None}
    # Without rings what a wet clutch runs in leads as long as it flows, and that is thin.
    assume(asked["rings"] or not asked["wet_clutch"])
    cold = max(asked["coldest_start_c"] - tenths_colder / 10, -50.0)
    mild, harsh = first_oil(judge(**asked)), first_oil(judge(**{**asked, "coldest_start_c": cold}))
    if mild and harsh:
        assert harsh.viscosity_span_mm2_s(-20.0)[1] <= mild.viscosity_span_mm2_s(-20.0)[1]


@law(100)
@given(data=st.data(), tenths_hotter=st.integers(1, 600))
def test_the_leader_is_never_thinner_when_it_runs_hotter(data, tenths_hotter, stated_questions, judge) -> None:
    asked = {**data.draw(stated_questions), "service_data": None}
    hot = min(asked["sump_hot_c"] + tenths_hotter / 10, 150.0)
    cool, hot = first_oil(judge(**asked)), first_oil(judge(**{**asked, "sump_hot_c": hot}))
    if cool and hot:
        assert hot.kv100_min_mm2_s >= cool.kv100_min_mm2_s


@pytest.mark.parametrize("shares_the_sump", [{"wet_clutch": True}, {"limited_slip": True}, {"wet_clutch": False}])
@pytest.mark.parametrize("coldest", [10.0, -15.0, -28.0, -40.0])
@pytest.mark.parametrize("facing", ["bronze", "sintered", "paper"])
def test_a_caution_that_all_carry_changes_no_leader(judge, box, facing, coldest, shares_the_sump) -> None:
    stated = box(facing, condition="worn", coldest_start_c=coldest)
    assert first_oil(judge(**{**stated, **shares_the_sump})) == first_oil(judge(**stated))


@pytest.mark.parametrize("coldest", [0.0, -15.0, -28.0])
def test_what_clutches_run_in_leads_a_box_without_rings_beside_a_wet_clutch(judge, box, coldest) -> None:
    # Common practice, no source: boxes without rings that share their oil with a wet clutch are filled with engine oil.
    assert first_oil(judge(**box(None, wet_clutch=True, coldest_start_c=coldest))).family.id == "engine-oil"


@pytest.mark.parametrize("hot", [130.0, 140.0, 145.0, 150.0])
def test_a_very_hot_sump_does_not_put_an_axle_grade_first(judge, box, hot) -> None:
    # Common practice, no source: axle grades stay out of synchronized boxes.
    assert "140" not in first_oil(judge(**box("bronze", duty="towing", coldest_start_c=15.0, sump_hot_c=hot))).grade


def test_where_the_named_class_is_refused_what_is_as_thick_comes_before_what_is_thinner(judge, box, place_of) -> None:
    named = {"family": "gl-1", "grade": "90"}
    judgement = judge(**box("bronze", condition="worn", coldest_start_c=-20.0, service_data=named))
    assert judgement.verdict(place_of["gl-1-90"]) == "does-not-fit"
    assert [judgement.lubricants[place].grade[-2:] for place in judgement.order[:3]] == ["90", "90", "90"]


@pytest.mark.parametrize("facing", ["sintered", "paper", "carbon"])
def test_the_usual_class_leads_in_a_mild_place(judge, box, facing, base) -> None:
    leader = first_oil(judge(**box(facing, coldest_start_c=0.0, sump_hot_c=90.0)))
    assert leader.id == base.facings[facing].usual_lubricant


@pytest.mark.parametrize("named", ["gl-4-80w-90", "mtf-75w-80", "gl-5-75w-90", "gl-3-80w-90"])
def test_what_the_service_data_names_stands_first_where_it_serves(judge, box, named, base) -> None:
    row = base.lubricant_rows[named]
    assert first_oil(judge(**box("bronze", service_data={"family": row.family, "grade": row.grade}))).id == named


def test_service_data_lifts_no_oil_that_cannot_flow_at_the_coldest_start(judge, box, place_of) -> None:
    judgement = judge(**box("bronze", coldest_start_c=-35.0, service_data={"family": "gl-4", "grade": "80W-90"}))
    assert judgement.verdict(place_of["gl-4-80w-90"]) == "does-not-fit"
    assert place_of["gl-4-80w-90"] not in judgement.order


@pytest.mark.parametrize("coldest", [-30.0, -15.0, 0.0, 10.0])
@pytest.mark.parametrize("sump", [60.0, 90.0, 110.0])
def test_plain_bronze_is_never_led_by_an_axle_grade(judge, box, coldest, sump) -> None:
    leader = first_oil(judge(**box("bronze", coldest_start_c=coldest, sump_hot_c=sump)))
    assert leader.family.id in ("gl-4", "mtf")
    assert not leader.grade.endswith(("110", "140"))


@pytest.mark.parametrize("facing", ["paper", "carbon"])
@pytest.mark.parametrize("coldest", [-30.0, -15.0, 10.0])
def test_lined_rings_are_led_by_a_dedicated_fluid(judge, box, facing, coldest) -> None:
    assert first_oil(judge(**box(facing, coldest_start_c=coldest))).family.id == "mtf"
