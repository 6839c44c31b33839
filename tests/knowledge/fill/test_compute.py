"""The fill answer says what an experienced rebuilder would say."""

import tomllib
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from knowledge.box.question import FillQuestion
from knowledge.fill.answer import FillAnswer
from knowledge.fill.compute import fill_answer, worked_out
from knowledge.judging.rules import RULES

GOLDEN = Path(__file__).parents[2] / "golden" / "fill.toml"
CASES = tomllib.loads(GOLDEN.read_text(encoding="utf-8"))["case"]
LAW = settings(max_examples=60, deadline=None, suppress_health_check=list(HealthCheck))
pytestmark = pytest.mark.filterwarnings("ignore:Generating overly large repr")  # of the knowledge base


@pytest.fixture(scope="module")
def golden(ask, box) -> dict[str, FillAnswer]:
    """The answer to each case."""
    return {case["id"]: ask(**box(case.get("facing"), **case["given"])) for case in CASES}


@pytest.mark.parametrize("case", CASES, ids=[case["claim"] for case in CASES])
def test_trade_case(case: dict[str, Any], golden, of, says) -> None:
    answer = golden[case["id"]]
    leaders = [item.lubricant.id for item in answer.candidates if item.rank == 1]
    if "leads" in case:
        assert set(leaders) <= set(case["leads"])
        assert bool(leaders) == bool(case["leads"])
    judged = [id for key in ("fits", "care", "never_plain", "refused") for id in case.get(key, ())]
    verdicts = {id: of(answer, id).verdict for id in judged}
    assert {id for id in case.get("fits", ()) if verdicts[id] != "fits"} == set()
    assert {id for id in case.get("care", ()) if verdicts[id] != "fits-with-care"} == set()
    assert {id for id in case.get("never_plain", ()) if verdicts[id] == "fits"} == set()
    assert {id for id in case.get("refused", ()) if verdicts[id] != "does-not-fit"} == set()
    for id in case.get("refused", ()):
        assert says(answer, id, case["by"]).effect == "excludes"


@pytest.mark.parametrize("case", CASES, ids=[case["id"] for case in CASES])
def test_every_trade_case_names_where_it_comes_from(case: dict[str, Any], base) -> None:
    assert case["source"] in base.sources
    assert case["locator"]


def test_every_thick_or_full_ep_oil_is_refused_over_paper(ask, box, base, says) -> None:
    answer = ask(**box("paper"))
    for oil in base.lubricants:
        if oil.family.id.startswith("gl-5") or oil.kv100_min_mm2_s >= 13.5:
            finding = says(answer, oil.id, "lined-rings-burn-under-thick-gear-oil")
            assert finding.effect == "excludes"
            assert "paper" in finding.text


def test_paper_on_a_bronze_body_still_warns_of_yellow_metal(ask, box) -> None:
    answer = ask(**box("paper", body="bronze", yellow_metal=False))
    assert "yellow-metal" in [item.id for item in answer.cautions]
    (corrected,) = [item for item in answer.question.assumed if item.pointer == "/yellow_metal"]
    assert corrected.value == "yes"
    assert "bronze" in corrected.reason


def test_a_box_without_copper_does_not_warn_of_yellow_metal(ask, box) -> None:
    assert "yellow-metal" not in [item.id for item in ask(**box("paper")).cautions]


def test_hypoid_with_bronze_says_that_only_service_data_can_settle_it(ask, box) -> None:
    answer = ask(**box("bronze", final_drive="hypoid"))
    assert answer.outcome == "none-suitable"
    assert "service data" in answer.summary
    assert answer.safest_if_unanswered is None
    assert "service data" in answer.safest_reason
    assert "hypoid-shares-oil" in [item.id for item in answer.cautions]


@pytest.mark.parametrize("facing", ["bronze", "molybdenum", "sintered", "paper", "carbon"])
@pytest.mark.parametrize("shared", [{"wet_clutch": True}, {"limited_slip": True, "final_drive": "helical"}])
def test_no_class_plainly_fits_a_box_with_a_clutch_in_its_oil(ask, box, facing, shared) -> None:
    answer = ask(**box(facing, **shared))
    assert "fits" not in {item.verdict for item in answer.candidates}


def test_the_most_demanding_ring_of_a_mixed_set_is_named(ask, box, says) -> None:
    rings = [{"facing": facing, "body": "steel", "cones": 1, "condition": "new"} for facing in ("molybdenum", "paper")]
    answer = ask(**box("molybdenum", rings=rings))
    finding = says(answer, "gl-4-75w-80", "mixed-sets-follow-the-most-demanding-ring")
    assert finding.effect == "cautions"
    assert "the paper ones decide" in finding.text
    assert "mixed-rings" in [item.id for item in answer.cautions]


def test_a_mixed_set_with_paper_refuses_what_paper_refuses(ask, box, of) -> None:
    rings = [{"facing": facing, "body": "steel", "cones": 1, "condition": "new"} for facing in ("molybdenum", "paper")]
    mixed, paper = ask(**box("molybdenum", rings=rings)), ask(**box("paper"))
    refused = {item.lubricant.id for item in paper.candidates if item.verdict == "does-not-fit"}
    assert all(of(mixed, id).verdict == "does-not-fit" for id in refused)


@LAW
@given(data=st.data())
def test_every_rule_reports_on_every_class(data, partly_stated_questions, ask, base) -> None:
    answer = ask(**data.draw(partly_stated_questions))
    assert sorted(item.lubricant.id for item in answer.candidates) == sorted(base.lubricant_rows)
    for item in answer.candidates:
        assert [finding.rule for finding in item.findings] == [rule.id for rule in RULES]


@LAW
@given(data=st.data())
def test_every_source_named_in_an_answer_can_be_looked_up(data, partly_stated_questions, ask, base) -> None:
    answer = ask(**data.draw(partly_stated_questions))
    listed = {source.id for source in answer.sources}
    findings = [finding for item in answer.candidates for finding in item.findings]
    assert all(finding.sources for finding in findings if finding.effect != "supports" or finding.figures)
    named = {citation.id for part in (*findings, *answer.cautions) for citation in part.sources}
    assert named <= listed <= set(base.sources)


@LAW
@given(data=st.data())
def test_the_summary_stays_short(data, partly_stated_questions, ask) -> None:
    assert 0 < len(ask(**data.draw(partly_stated_questions)).summary) <= 140


def test_the_summary_stays_short_when_a_class_leads_and_the_longest_question_follows(ask, box) -> None:
    rings = [{"facing": None, "body": "bronze", "cones": 2, "condition": None}]
    highway = {"coldest_start_c": -23.3, "sump_hot_c": 69.2, "duty": "highway"}
    answer = ask(**box("bronze", rings=rings, yellow_metal=None, **highway))
    assert len(answer.summary) <= 140


@LAW
@given(data=st.data())
def test_the_same_question_has_the_same_answer_id(data, stated_questions, base) -> None:
    question = FillQuestion.model_validate(data.draw(stated_questions))
    worked_out_twice = [worked_out(question, base) for _ in range(2)]
    assert len({answer.answer_id for answer in worked_out_twice}) == 1
    assert len({answer.model_dump_json() for answer in worked_out_twice}) == 1


def test_another_question_has_another_answer_id(ask, box) -> None:
    assert ask(**box("bronze")).answer_id != ask(**box("bronze", coldest_start_c=-16.0)).answer_id


@LAW
@given(data=st.data())
def test_an_answer_survives_its_journey_as_json(data, partly_stated_questions, ask) -> None:
    answer = ask(**data.draw(partly_stated_questions))
    assert FillAnswer.model_validate_json(answer.model_dump_json()).model_dump() == answer.model_dump()


def test_the_empty_question_is_told_what_to_ask(ask) -> None:
    answer = ask()
    assert answer.outcome == "depends"
    assert answer.ask_next[0].pointer == "/rings"
    assert "ask next" in answer.summary
    assert answer.worlds.tried > 1000


def test_the_answer_to_the_empty_question_is_kept_whatever_else_is_asked(base) -> None:
    first = fill_answer(FillQuestion(), base)
    for cold in range(40):
        fill_answer(FillQuestion(coldest_start_c=-cold, rings=()), base)
    assert fill_answer(FillQuestion(), base) is first


def test_shapes_that_were_not_given_are_listed_as_assumed(ask, box) -> None:
    assumed = {item.pointer: item for item in ask(**box("bronze")).question.assumed}
    assert {"/bearing/speed_rpm", "/mesh/torque_nm", "/ring_geometry/detent_force_n"} <= set(assumed)
    given_bearing = ask(**box("bronze", bearing={"pitch_diameter_mm": 60.0, "speed_rpm": 1500.0}))
    assert not [item for item in given_bearing.question.assumed if item.pointer.startswith("/bearing")]


def test_the_sign_of_zero_is_nobody_s_business(base) -> None:
    questions = [FillQuestion(coldest_start_c=value, rings=()) for value in (-0.0, 0.0)]
    minus, plus = (worked_out(question, base).model_dump_json() for question in questions)
    assert minus == plus
    assert "-0 °C" not in minus


def test_a_caution_about_what_is_not_known_says_on_what_it_depends(ask) -> None:
    possible = {item.id: item.only_if for item in ask().cautions if item.only_if}
    assert possible["limited-slip-clutch"] == "Only if the sump holds a limited-slip clutch pack."
    assert possible["hypoid-shares-oil"] == "Only if the sump holds a hypoid final drive."
    assert {"lining-burn-and-glaze", "thin-when-hot", "worn-ring-stays-worn", "yellow-metal"} <= set(possible)
    assert {item.id for item in ask().cautions if not item.only_if} >= {"hot-oil-burns", "supporting-the-vehicle"}


def test_a_caution_that_surely_applies_depends_on_nothing_and_stands_before_what_only_may(ask, box) -> None:
    cautions = ask(**box("paper")).cautions
    assert {item.id: item.only_if for item in cautions}["lining-burn-and-glaze"] is None
    for severity in ("danger", "warning", "note"):
        may = [bool(item.only_if) for item in cautions if item.severity == severity]
        assert may == sorted(may)


def test_no_caution_claims_of_the_box_what_nobody_said(base) -> None:
    """Each text has to be true of a box of which nothing is known: it speaks of what would be, or tells what to do."""
    for row in base.cautions.values():
        if "always" not in row.when:
            assert not any(claim in row.text for claim in ("this oil", "These rings", "This box has")), row.id


@pytest.mark.parametrize(("unstated", "figure"), [("sump_hot_c", "kv_hot_mm2_s"), ("coldest_start_c", "kv_cold_mm2_s")])
def test_a_viscosity_rests_on_the_temperature_that_nobody_stated(ask, box, unstated, figure) -> None:
    stated, assumed = ask(**box("bronze")), ask(**box("bronze", **{unstated: None}))
    of_stated, of_assumed = (
        {found.rests_on for item in answer.candidates if (found := getattr(item.figures, figure))}
        for answer in (stated, assumed)
    )
    assert "judgement" not in of_stated
    assert of_assumed == {"judgement"}
