"""The fill answer says what an experienced rebuilder would say."""

import tomllib
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from knowledge.base import KnowledgeBase
from knowledge.box.question import FillQuestion
from knowledge.fill.answer import FillAnswer, FullFillAnswer
from knowledge.fill.compute import compute_fill_answer, compute_lubricant_answer
from tests.knowledge.every_case import every_case
from tests.knowledge.law import law

GOLDEN = Path(__file__).parents[2] / "golden" / "fill.toml"
CASES = tomllib.loads(GOLDEN.read_text(encoding="utf-8"))["case"]
VERDICTS = ("fits", "care", "never_plain", "refused")
pytestmark = pytest.mark.filterwarnings("ignore:Generating overly large repr")  # of the knowledge base


@pytest.mark.parametrize("case", CASES, ids=[case["claim"] for case in CASES])
def test_trade_case(case: dict[str, Any], judge, box, place_of, finds) -> None:
    fields = box(case.get("facing"), **case["given"])
    judgement = judge(**fields)
    leaders = {judgement.lubricants[place].id for place in judgement.order[:1]}
    if "leads" in case:
        assert leaders <= set(case["leads"])
        assert bool(leaders) == bool(case["leads"])
    judged = {key: {judgement.verdict(place_of[id]) for id in case.get(key, ())} for key in VERDICTS}
    assert judged["fits"] <= {"fits"}
    assert judged["care"] <= {"fits-with-care"}
    assert "fits" not in judged["never_plain"]
    assert judged["refused"] <= {"does-not-fit"}
    for id in case.get("refused", ()):
        assert finds(fields, id, case["by"]).effect == "excludes"


@pytest.mark.parametrize("case", CASES, ids=[case["id"] for case in CASES])
def test_every_trade_case_names_where_it_comes_from(case: dict[str, Any], base) -> None:
    assert case["source"] in base.sources
    assert case["locator"]


def test_every_thick_or_full_ep_oil_is_refused_over_paper(box, base, finds) -> None:
    for oil in base.lubricants:
        if oil.family.id.startswith("gl-5") or oil.kv100_min_mm2_s >= 13.5:
            finding = finds(box("paper"), oil.id, "lined-rings-burn-under-thick-gear-oil")
            assert finding.effect == "excludes"
            assert "paper" in finding.text


@pytest.mark.parametrize("facing", ["bronze", "molybdenum", "sintered", "paper", "carbon"])
@pytest.mark.parametrize("shared", [{"wet_clutch": True}, {"limited_slip": True, "final_drive": "helical"}])
def test_no_class_plainly_fits_a_box_with_a_clutch_in_its_oil(judge, box, facing, shared) -> None:
    assert "fits" not in judge(**box(facing, **shared)).judged.verdicts


def test_a_mixed_set_with_paper_refuses_what_paper_refuses(ask_short, judge, box) -> None:
    mixed = box("molybdenum", rings=[ring for facing in ("molybdenum", "paper") for ring in box(facing)["rings"]])
    assert {*judge(**mixed).order} <= {*judge(**box("paper")).order}
    assert "mixed-rings" in [item.id for item in ask_short(**mixed).cautions]


def test_paper_on_a_bronze_body_still_warns_of_yellow_metal(ask, box) -> None:
    answer = ask(**box("paper", body="bronze", yellow_metal=False))
    assert "yellow-metal" in [item.id for item in answer.cautions]
    (corrected,) = [item for item in answer.question.assumed if item.pointer == "/yellow_metal"]
    assert corrected.value == "yes"
    assert "bronze" in corrected.reason


def test_a_box_without_copper_does_not_warn_of_yellow_metal(ask_short, box) -> None:
    assert "yellow-metal" not in [item.id for item in ask_short(**box("paper")).cautions]


def test_hypoid_with_bronze_says_that_only_service_data_can_settle_it(ask_short, box) -> None:
    answer = ask_short(**box("bronze", final_drive="hypoid"))
    assert answer.outcome == "none-suitable"
    assert "service data" in answer.summary
    assert answer.leader is answer.window is answer.safest_if_unanswered is None
    assert "service data" in answer.way_out[0]
    assert "hypoid-shares-oil" in [item.id for item in answer.cautions]


@law(15)
@given(data=st.data())
def test_a_full_answer_holds_together(data, partly_stated_questions, ask, ask_short, base) -> None:
    fields = data.draw(partly_stated_questions)
    answer = ask(**fields)
    assert_each_class_has_one_place(answer, base)
    assert_what_is_held_against_a_class_is_said_once(answer)
    assert_every_source_can_be_looked_up(answer, base)
    assert_it_says_all_that_the_short_one_says(answer, ask_short(**fields))
    assert FullFillAnswer.model_validate_json(answer.model_dump_json()).model_dump() == answer.model_dump()


def assert_each_class_has_one_place(answer: FullFillAnswer, base: KnowledgeBase) -> None:
    assert sorted(item.lubricant.id for item in answer.candidates) == sorted(base.lubricant_rows)
    ranks = [item.rank for item in answer.candidates if item.rank is not None]
    assert ranks == list(range(1, len(ranks) + 1))
    shown = {answer.leader and answer.leader.lubricant.id, *(item.lubricant.id for item in answer.others)} - {None}
    refused = [id for group in answer.refused for id in group.lubricants]
    assert sorted(refused) == sorted(item.lubricant.id for item in answer.candidates[len(ranks) :])
    assert not shown & set(refused)


def assert_what_is_held_against_a_class_is_said_once(answer: FullFillAnswer) -> None:
    assert len(set(answer.findings)) == len(answer.findings)
    for item in answer.candidates:
        against = [finding.text for finding in item.findings if finding.effect != "supports"]
        assert [answer.findings[place].text for place in item.findings_at] == against


def assert_every_source_can_be_looked_up(answer: FullFillAnswer, base: KnowledgeBase) -> None:
    findings = [finding for item in answer.candidates for finding in item.findings]
    assert all(finding.sources for finding in findings if finding.effect != "supports" or finding.figures)
    cautions = [base.cautions[item.id] for item in answer.cautions]
    named = {citation.id for part in (*findings, *cautions) for citation in part.sources}
    assert named <= {source.id for source in answer.sources} <= set(base.sources)


def assert_it_says_all_that_the_short_one_says(full: FullFillAnswer, short: FillAnswer) -> None:
    for name in set(type(short).model_fields) - {"ask_next", "cautions"}:
        assert getattr(short, name) == getattr(full, name)
    assert short.cautions == full.cautions[: len(short.cautions)]
    assert short.ask_next == full.ask_next[:3]


@law(30)
@given(data=st.data())
def test_an_answer_stays_short_and_is_the_same_each_time(data, partly_stated_questions, ask_short) -> None:
    fields = data.draw(partly_stated_questions)
    answer = ask_short(**fields)
    assert 0 < len(answer.summary) <= 140
    assert 0 < len(answer.say.split()) <= 40
    assert len(answer.every_fill_words.split()) <= 25
    assert len(answer.others) <= 6
    assert len(answer.cautions) <= 5
    assert ask_short(**fields).model_dump_json() == answer.model_dump_json()


@law(25)
@given(data=st.data())
def test_the_outcome_and_the_safest_class_follow_from_every_case(
    data, partly_stated_questions, base, judge, ask_short
) -> None:
    question = data.draw(partly_stated_questions)
    answer, cases = ask_short(**question), every_case(question, base, judge)
    leaders = {next(iter(case.judgement.order), None) for case in cases}
    # Nothing unknown changes what is followed where the service data names a grade that no class has.
    is_settled = len(leaders) == 1 or not cases[0].judgement.named.is_listed
    assert answer.outcome == ("none-suitable" if leaders == {None} else "settled" if is_settled else "depends")
    safe = [oil.id for at, oil in enumerate(base.lubricants) if all(case.serves(at) for case in cases)]
    safest = answer.safest_if_unanswered
    assert safest is None or answer.outcome == "depends"
    if question["service_data"] is None and answer.outcome == "depends":
        assert (safest.lubricant.id in safe) if safest else not safe


def test_a_class_is_explained_as_the_full_answer_judges_it(ask, box, base, of) -> None:
    fields = box("bronze", coldest_start_c=-30.0)
    for id in ("gl-4-75w-90", "gl-5-75w-90"):
        explained = compute_lubricant_answer(id, FillQuestion.model_validate(fields), base)
        judged = of(ask(**fields), id)
        assert (explained.verdict, explained.rank, explained.figures) == (judged.verdict, judged.rank, judged.figures)
        assert explained.findings == judged.findings
        assert {one.id for finding in explained.findings for one in finding.sources} == {
            source.id for source in explained.sources
        }


def test_the_summary_stays_short_when_a_class_leads_and_the_longest_question_follows(ask_short, box) -> None:
    rings = [{"facing": None, "body": "bronze", "cones": 2, "condition": None}]
    highway = {"coldest_start_c": -23.3, "sump_hot_c": 69.2, "duty": "highway"}
    answer = ask_short(**box("bronze", rings=rings, yellow_metal=None, **highway))
    assert len(answer.summary) <= 140


def test_another_question_has_another_answer_id(ask_short, box) -> None:
    assert ask_short(**box("bronze")).answer_id != ask_short(**box("bronze", coldest_start_c=-16.0)).answer_id


def test_the_empty_question_is_told_what_to_ask(ask) -> None:
    answer = ask()
    assert answer.outcome == "depends"
    assert answer.ask_next[0].pointer == "/rings"
    assert "ask next" in answer.summary
    assert answer.worlds.tried > 1000


def test_shapes_that_were_not_given_are_listed_as_assumed(ask, box) -> None:
    assumed = {item.pointer: item for item in ask(**box("bronze")).question.assumed}
    assert {"/bearing/speed_rpm", "/mesh/torque_nm", "/ring_geometry/detent_force_n"} <= set(assumed)
    given_bearing = ask(**box("bronze", bearing={"pitch_diameter_mm": 60.0, "speed_rpm": 1500.0}))
    assert not [item for item in given_bearing.question.assumed if item.pointer.startswith("/bearing")]


def test_the_sign_of_zero_is_nobody_s_business(base) -> None:
    questions = [FillQuestion(coldest_start_c=value, rings=()) for value in (-0.0, 0.0)]
    minus, plus = (compute_fill_answer(question, base).model_dump_json() for question in questions)
    assert minus == plus
    assert "-0 °C" not in minus


def test_a_caution_about_what_is_not_known_says_on_what_it_depends(ask_short) -> None:
    texts = {item.id: item.text for item in ask_short().cautions}
    assert texts["yellow-metal"].startswith("If there is yellow metal in the oil: with yellow metal")
    assert texts["too-slippery"].startswith("If the box has synchronizer rings of any kind: more slippery")
    assert not texts["service-data-missing"].startswith("If")


def test_what_goes_with_every_fill_stands_apart_from_what_belongs_to_this_box(ask_short, base) -> None:
    answer = ask_short()
    assert {"hot-oil-burns", "supporting-the-vehicle", "lifting-the-gearbox"} <= set(answer.every_fill)
    assert set(answer.every_fill) == {row.id for row in base.cautions.values() if "always" in row.when}
    assert not set(answer.every_fill) & {item.id for item in answer.cautions}
    assert answer.every_fill_words.startswith("Let the oil cool; stands, no jack;")


def test_a_caution_that_surely_applies_depends_on_nothing_and_stands_before_what_only_may(ask_short, box) -> None:
    cautions = ask_short(**box("paper", final_drive=None)).cautions
    texts = {item.id: item.text for item in cautions}
    assert texts["lining-burn-and-glaze"].startswith("Keep thick")
    ranks = [("danger", "warning", "note").index(item.severity) for item in cautions]
    assert ranks == sorted(ranks)


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


@pytest.mark.parametrize(
    ("facing", "changes", "by"),
    [
        ("bronze", {"service_data": {"family": "mtf", "grade": "75W-80"}}, "service-data"),
        ("bronze", {"coldest_start_c": 5.0}, "custom"),
        ("paper", {"sump_hot_c": 140.0, "duty": "competition"}, "heat"),
    ],
)
def test_the_leader_says_what_put_it_first(ask_short, box, base, facing, changes, by) -> None:
    leader = ask_short(**box(facing, **changes)).leader
    assert leader.leads_by == by
    usual = base.facings[facing].usual_lubricant
    assert (leader.lubricant.id == usual) == (by == "custom")


def test_the_leader_says_how_the_first_shifts_go(ask_short, box) -> None:
    steps = {
        (shifts.step, shifts.sure)
        for cold in (-45.0, -20.0, 30.0)
        if (shifts := ask_short(**box("bronze", coldest_start_c=cold)).leader.first_shifts)
    }
    assert steps == {("hard", False), ("slow", False), ("free", True)}
    assert ask_short(**box(None)).leader.first_shifts is None


def test_what_rests_on_judgement_is_shown_with_two_digits(ask_short, box) -> None:
    figures = ask_short(**box("bronze")).leader.figures
    for name, figure in figures.items():
        if figure.rests_on == "judgement" and not name.endswith("_c"):
            ends = [value for value in (figure.min, figure.max) if value is not None]
            assert ends == [float(f"{value:.2g}") for value in ends]
    assert figures["shifts_freely_above_c"].min % 5 == 0
    assert figures["kv_hot_mm2_s"].at_c == 90.0


def test_no_class_is_the_headline_of_a_conflict_or_of_a_box_that_nothing_fits(ask_short, box, base) -> None:
    conflict = ask_short(**box("bronze", service_data={"family": "gl-5", "grade": "75W-90"}))
    nothing = ask_short(**box("paper", final_drive="hypoid"))
    for answer in (conflict, nothing):
        assert not any(oil.name in answer.summary for oil in base.lubricants)
        assert not answer.summary.startswith("Fill")
    assert conflict.say.startswith("Do not fill yet.")
    assert (nothing.leader, nothing.others, nothing.window) == (None, (), None)


def test_the_line_to_fill_names_the_kinds_that_serve_alike(ask_short, box) -> None:
    answer = ask_short(**box("bronze", coldest_start_c=5.0))
    assert answer.summary == "Fill GL-4 or MTF, 75W-90. Check the book first."
    assert answer.leader.alike == ("mtf-75w-90",)
    assert "Never pour GL-5" in answer.say
