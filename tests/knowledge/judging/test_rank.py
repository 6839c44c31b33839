"""The order of the classes."""

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

FROM_BEST = ("fits", "fits-with-care", "depends")
LAW = settings(max_examples=50, deadline=None, suppress_health_check=list(HealthCheck))


@LAW
@given(data=st.data())
def test_ranks_count_from_one_and_nothing_refused_has_one(data, partly_stated_questions, ask) -> None:
    candidates = ask(**data.draw(partly_stated_questions)).candidates
    ranked = [item for item in candidates if item.rank is not None]
    assert [item.rank for item in ranked] == list(range(1, len(ranked) + 1))
    assert candidates[: len(ranked)] == tuple(ranked)
    assert {item.verdict for item in candidates[len(ranked) :]} <= {"does-not-fit"}
    assert "does-not-fit" not in {item.verdict for item in ranked}


@LAW
@given(data=st.data())
def test_without_service_data_a_better_verdict_stands_higher(data, partly_stated_questions, ask) -> None:
    answer = ask(**{**data.draw(partly_stated_questions), "service_data": None})
    order = [FROM_BEST.index(item.verdict) for item in answer.candidates if item.rank]
    assert order == sorted(order)


@LAW
@given(data=st.data())
def test_a_nuisance_stands_before_a_warning(data, stated_questions, ask) -> None:
    answer = ask(**{**data.draw(stated_questions), "service_data": None})
    warned = [
        any(finding.effect == "cautions" and finding.severity != "note" for finding in item.findings)
        for item in answer.candidates
        if item.verdict == "fits-with-care"
    ]
    assert warned == sorted(warned)


def first_oil(answer, base):
    """The class that leads, None where none serves."""
    first = answer.candidates[0]
    return next(oil for oil in base.lubricants if oil.id == first.lubricant.id) if first.rank else None


@LAW
@given(data=st.data(), colder=st.floats(0.1, 40))
def test_the_leader_is_never_thicker_when_it_starts_colder(data, colder, stated_questions, ask, base) -> None:
    asked = {**data.draw(stated_questions), "service_data": None}
    cold = max(asked["coldest_start_c"] - colder, -50.0)
    mild, harsh = first_oil(ask(**asked), base), first_oil(ask(**{**asked, "coldest_start_c": cold}), base)
    if mild and harsh:
        assert cold_corner_mm2_s(harsh) <= cold_corner_mm2_s(mild)


@LAW
@given(data=st.data(), hotter=st.floats(0.1, 60))
def test_the_leader_is_never_thinner_when_it_runs_hotter(data, hotter, stated_questions, ask, base) -> None:
    asked = {**data.draw(stated_questions), "service_data": None}
    hot = min(asked["sump_hot_c"] + hotter, 150.0)
    cool, hot = first_oil(ask(**asked), base), first_oil(ask(**{**asked, "sump_hot_c": hot}), base)
    if cool and hot:
        assert hot.kv100_min_mm2_s >= cool.kv100_min_mm2_s


def cold_corner_mm2_s(oil) -> float:
    """How thick a class can be at -20 °C."""
    return oil.viscosity_span_mm2_s(-20.0)[1]


@pytest.mark.parametrize("shares_the_sump", [{"wet_clutch": True}, {"limited_slip": True}, {"wet_clutch": False}])
@pytest.mark.parametrize("coldest", [10.0, -15.0, -28.0, -40.0])
@pytest.mark.parametrize("facing", ["bronze", "sintered", "paper"])
def test_a_caution_that_all_carry_changes_no_leader(ask, box, facing, coldest, shares_the_sump) -> None:
    stated = box(facing, condition="worn", coldest_start_c=coldest)
    assert ask(**{**stated, **shares_the_sump}).candidates[0].lubricant == ask(**stated).candidates[0].lubricant


@pytest.mark.parametrize("coldest", [0.0, -15.0, -28.0])
def test_what_clutches_run_in_leads_a_box_without_rings_beside_a_wet_clutch(ask, box, coldest) -> None:
    # Common practice, no source: boxes without rings that share their oil with a wet clutch are filled with engine oil.
    answer = ask(**box(None, wet_clutch=True, coldest_start_c=coldest))
    assert answer.candidates[0].lubricant.family == "engine-oil"


def test_a_very_hot_sump_does_not_put_an_axle_grade_first(ask, box) -> None:
    # Common practice, no source: axle grades stay out of synchronized boxes.
    for hot in (130.0, 140.0, 145.0, 150.0):
        answer = ask(**box("bronze", duty="towing", coldest_start_c=15.0, sump_hot_c=hot))
        assert "140" not in answer.candidates[0].lubricant.grade


def test_where_the_named_class_is_refused_what_is_as_thick_comes_before_what_is_thinner(ask, box) -> None:
    named = {"family": "gl-1", "grade": "90"}
    answer = ask(**box("bronze", condition="worn", coldest_start_c=-20.0, service_data=named))
    assert answer.service_data.status == "conflicts"
    assert [item.lubricant.grade[-2:] for item in answer.candidates[:3]] == ["90", "90", "90"]


@pytest.mark.parametrize("facing", ["sintered", "paper", "carbon"])
def test_the_usual_class_leads_in_a_mild_place(ask, box, facing, base) -> None:
    leader = ask(**box(facing, coldest_start_c=0.0, sump_hot_c=90.0)).candidates[0].lubricant
    assert leader.id == base.facings[facing].usual_lubricant


@pytest.mark.parametrize("named", ["gl-4-80w-90", "mtf-75w-80", "gl-5-75w-90", "gl-3-80w-90"])
def test_what_the_service_data_names_stands_first_where_it_serves(ask, box, named, base) -> None:
    row = base.lubricant_rows[named]
    answer = ask(**box("bronze", service_data={"family": row.family, "grade": row.grade}))
    assert answer.candidates[0].lubricant.id == named


def test_service_data_lifts_no_oil_that_cannot_flow_at_the_coldest_start(ask, box, of) -> None:
    answer = ask(**box("bronze", coldest_start_c=-35.0, service_data={"family": "gl-4", "grade": "80W-90"}))
    named = of(answer, "gl-4-80w-90")
    assert named.verdict == "does-not-fit"
    assert named.rank is None
    assert answer.service_data.status == "conflicts"


@pytest.mark.parametrize("coldest", [-30.0, -15.0, 0.0, 10.0])
@pytest.mark.parametrize("sump", [60.0, 90.0, 110.0])
def test_plain_bronze_is_never_led_by_an_axle_grade(ask, box, coldest, sump) -> None:
    answer = ask(**box("bronze", coldest_start_c=coldest, sump_hot_c=sump))
    leader = answer.candidates[0].lubricant
    assert leader.family in ("gl-4", "mtf")
    assert not leader.grade.endswith(("110", "140"))


@pytest.mark.parametrize("facing", ["paper", "carbon"])
@pytest.mark.parametrize("coldest", [-30.0, -15.0, 10.0])
def test_lined_rings_are_led_by_a_dedicated_fluid(ask, box, facing, coldest) -> None:
    assert ask(**box(facing, coldest_start_c=coldest)).candidates[0].lubricant.family == "mtf"
