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


@pytest.mark.parametrize("named", ["gl-4-80w-90", "mtf-75w-80", "gl-5-75w-90", "gl-3-80w-90"])
def test_what_the_service_data_names_stands_first_where_it_serves(ask, box, named, base) -> None:
    row = base.lubricants[named]
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
