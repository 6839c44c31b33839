"""Every rule says what the trade and the standards claim, in a golden case for each outcome that it can have."""

import ast
import inspect
import re
import sys
import tomllib
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from textwrap import dedent
from typing import Any, get_args

import pytest

from knowledge.assemble import read_knowledge
from knowledge.box.question import FillQuestion
from knowledge.catalogue import EVERY_RULE
from knowledge.drain.compute import compute_drain_answer
from knowledge.drain.question import DrainQuestion
from knowledge.fluids.data_sheet import Sheet
from knowledge.fluids.possible_lubricants import possible_oils
from knowledge.judging.explain import explain
from knowledge.judging.judgement import Judgement
from knowledge.judging.rules import RULES as FILL_RULES
from knowledge.jug.question import JugQuestion
from knowledge.loading.files import TABLES
from knowledge.parts.provenance import Finding, Standing
from knowledge.rings.shift_question import ShiftQuestion
from knowledge.rule import Rule
from knowledge.shift.compute import full_shift_answer

GOLDEN = Path(__file__).parents[3] / "golden" / "rules.toml"
TOLD = tomllib.loads(GOLDEN.read_text(encoding="utf-8"))
RULES, EASY_SHIFT = TOLD["rule"], TOLD["easy_shift"]
OTHER_RULES = [rule for rule in EVERY_RULE if isinstance(rule, Rule)]
PLACES = {rule.id: place for place, rule in enumerate(FILL_RULES)}
TWO_LITRES = {"capacity_l": 2, "drained_l": 1.6}
SAID_BY = {
    "supports": "supports",
    "cautions": "cautions",
    "excludes": "excludes",
    "no_data": "no-data",
    "not_concerned": "not concerned",
}
OF_NO_QUESTION = {
    # Each class and each jug has a cold limit, known or claimed; test_cold.py judges an oil without one.
    ("cold-start-needs-oil-that-flows", "unknown"),
    ("cold-start-needs-oil-that-flows", "not-called-for"),
    # Speed and pressure are those at first slip, which every shift has.
    ("sliding-speed-stays-within-the-facing", "no-data"),
    ("pressure-stays-within-the-facing", "no-data"),
}


def one_by_one(case: dict[str, Any]) -> Iterator[dict[str, Any]]:
    """A case for each of the facings that it lists; `{facing}` in its words is that one."""
    facings = case.get("box", {}).get("facing")
    if not isinstance(facings, list):
        yield case
        return
    for facing in facings:
        words = case.get("words", "").replace("{facing}", facing)
        box = {**case["box"], "facing": facing}
        yield {**case, "id": f"{case['id']}-on-{facing}", "box": box, "words": words}


CASES = [
    pytest.param(rule["id"], one, id=f"{rule['id']}--{one['id']}")
    for rule in RULES
    for case in rule["cases"]
    for one in one_by_one(case)
]
OF_A_BOX = [param for param in CASES if "outcome" in param.values[1]]
UNITS = {rule["id"]: rule.get("units", {}) for rule in RULES}


@pytest.fixture
def stated(box):
    """The fill question of a case, fully stated."""

    def fields(case: dict[str, Any]) -> dict[str, Any]:
        given = dict(case["box"])
        facing, also = given.pop("facing"), given.pop("also", None)
        whole = box(None if facing == "none" else facing, **given)
        return whole | {"rings": [*whole["rings"], *box(also)["rings"]]} if also else whole

    return fields


@pytest.fixture
def told(base, finds, read, stated):
    """What the rule says of the subject of a case; None where it says nothing."""

    def found(rule: str, case: dict[str, Any]) -> Finding | None:
        question = {"question": stated(case)} if "box" in case else {}
        if "oil" in case:
            return finds(question["question"], case["oil"], rule)
        if "jug" in case:
            answer = read(**case["jug"], **question)
            findings = answer.findings if question else answer.label_findings
        elif "drain" in case:
            asked = TWO_LITRES | case["drain"] | question
            findings = compute_drain_answer(DrainQuestion.model_validate(asked), base, detail="full").findings
        else:
            rows = [row.model_copy(update={"standing": case.get("limits", row.standing)}) for row in base.facing_limits]
            asked = ShiftQuestion.model_validate(EASY_SHIFT | case["shift"])
            findings = full_shift_answer(asked, replace(base, facing_limits=tuple(rows))).facings[0].findings
        return next((item for item in findings if item.rule == rule), None)

    return found


@pytest.mark.parametrize(("rule", "case"), CASES)
def test_a_rule_says_what_the_trade_claims(told, rule, case) -> None:
    finding = told(rule, case)
    if case["effect"] == "not concerned":
        assert finding is None or (finding.effect, finding.sources) == ("supports", ())
        return
    assert finding.effect == case["effect"]
    assert finding.sources
    assert finding.severity == case.get("severity", finding.severity)
    assert finding.text.endswith(".")
    assert not finding.text[0].islower()
    assert case.get("words", "") in finding.text


@pytest.mark.parametrize(
    ("rule", "case"), [param for param in CASES if param.values[1]["effect"] in ("supports", "cautions", "excludes")]
)
def test_a_rule_measures_what_it_speaks_of(told, rule, case) -> None:
    finding = told(rule, case)
    measured = case.get("figures", {})
    units = {} if measured == {} and "figures" in case else UNITS[rule]
    assert [(figure.name, figure.unit) for figure in finding.figures] == list(units.items())
    standings = {case["rests_on"]} if "rests_on" in case else set(get_args(Standing.__value__))
    assert {figure.rests_on for figure in finding.figures} <= standings
    assert {figure.screening for figure in finding.figures} <= {case.get("screening", False)}
    for figure in finding.figures:
        least_and_most = measured.get(figure.name, [figure.min, figure.max])
        ends = least_and_most if isinstance(least_and_most, list) else [least_and_most, least_and_most]
        assert [figure.min, figure.max] == pytest.approx(ends, rel=5e-3)
    assert finding.margin == (pytest.approx(case["margin"], rel=5e-3) if "margin" in case else None)


@pytest.mark.parametrize(("rule", "case"), [case for case in CASES if "shift" in case.values[1]])
def test_the_margin_of_a_shift_turns_at_its_limit(told, rule, case) -> None:
    finding = told(rule, case)
    if finding is not None and finding.margin is not None:
        warns = (finding.effect, finding.severity) == ("cautions", "warning")
        assert (finding.margin < 1) == (finding.effect == "excludes" or warns)


def test_every_golden_rule_names_where_its_expectation_comes_from(base) -> None:
    assert {rule["source"] for rule in RULES} <= set(base.sources)
    assert all(rule["locator"] for rule in RULES)
    assert len({case.id for case in CASES}) == len(CASES)


def outcomes(judgement: Judgement, rule: str) -> set[str]:
    """The outcomes that a rule has for the lubricants of a fully stated box."""
    rows, single = judgement.judged.outcomes.of_rules[PLACES[rule]].rows, judgement.judged.single
    return {rows[single.outcome(PLACES[rule], place)[0]].outcome for place in range(len(judgement.lubricants))}


@pytest.mark.parametrize(("rule", "case"), OF_A_BOX)
def test_a_golden_case_has_the_outcome_that_it_names(base, oil, stated, rule, case) -> None:
    if "oil" in case:
        lubricants = (oil(case["oil"]),)
    else:
        lubricants = possible_oils(Sheet.of(JugQuestion.model_validate(case["jug"]), base), base)
    judgement = Judgement.of(FillQuestion.model_validate(stated(case)), base, lubricants)
    assert outcomes(judgement, rule) == {case["outcome"]}


# What no facing takes today, though the table of facings and families may say so tomorrow.
REGRADED = {"paper,gl-3": "light-duty", "sintered,gl-3": "light-duty", "none,gl-3": "light-duty",
            "bronze,gl-1": "refused", "sintered,gl-1": "refused", "none,gl-1": "refused"}  # fmt: skip
OF_REGRADED = {"paper": "lined-rings-take-dedicated-fluid",
               "bronze": "solid-and-sprayed-rings-take-gl-4-or-dedicated-fluid",
               "sintered": "sintered-rings-answer-fluids-their-own-way",
               "none": "unsynchronized-boxes-take-gear-oil"}  # fmt: skip


@pytest.fixture(scope="module")
def regraded(base, tmp_path_factory):
    """The knowledge with facings that take a family otherwise than any does today."""
    folder = tmp_path_factory.mktemp("regraded")
    for path in TABLES.iterdir():
        text = path.read_text(encoding="utf-8")
        for pair, fitness in REGRADED.items() if path.name == "facing_families.csv" else ():
            text = re.sub(rf"^{pair},[a-z-]+,", f"{pair},{fitness},", text, flags=re.MULTILINE)
        (folder / path.name).write_text(text, encoding="utf-8")
    return read_knowledge(folder)


BY_FITNESS = [(pair.split(",")[0], pair.split(",")[1], *found) for pair, fitness in REGRADED.items() for found in (
    [("refused", "street", False, "excludes"), ("refused", "street", True, "cautions")] if fitness == "refused" else
    [("light-duty", "street", False, "cautions"), ("heavier-duty", "towing", False, "excludes"),
     ("light-duty-named", "towing", True, "cautions")])]  # fmt: skip


@pytest.mark.parametrize(("facing", "family", "outcome", "duty", "is_named", "effect"), BY_FITNESS)
def test_what_no_facing_takes_today_is_judged_alike(
    regraded, box, facing, family, outcome, duty, is_named, effect
) -> None:
    named = {"service_data": {"family": family}} if is_named else {}
    question = box(None if facing == "none" else facing, duty=duty, **named)
    lubricants = [row for row in regraded.lubricants if row.family.id == family]
    judgement = Judgement.of(FillQuestion.model_validate(question), regraded, lubricants)
    assert outcomes(judgement, OF_REGRADED[facing]) == {outcome}
    assert explain(judgement.judged, PLACES[OF_REGRADED[facing]], 0).effect == effect


@pytest.mark.parametrize("rule", FILL_RULES, ids=lambda rule: rule.id)
def test_no_outcome_of_a_rule_is_without_a_golden_case(base, rule) -> None:
    golden = {case["outcome"] for id, case in (param.values for param in OF_A_BOX) if id == rule.id}
    golden |= {outcome for id, outcome in OF_NO_QUESTION if id == rule.id}
    golden |= {outcome for facing, _, outcome, *_ in BY_FITNESS if OF_REGRADED[facing] == rule.id}
    assert golden == {row.outcome for row in base.outcomes if row.rule == rule.id}


def test_no_rule_yields_to_service_data_without_a_golden_case(base) -> None:
    refusals = {(row.rule, row.outcome) for row in base.outcomes if row.effect == "excludes"}
    warns = {(id, case["outcome"]) for id, case in (param.values for param in OF_A_BOX) if case["effect"] == "cautions"}
    warns |= {(OF_REGRADED[facing], outcome) for facing, _, outcome, *_, effect in BY_FITNESS if effect == "cautions"}
    # GL-1 that is named is never refused to begin with.
    assert {id for id, _ in refusals & warns} == {rule.id for rule in FILL_RULES if rule.yields_to_service_data} - {
        "gl-1-carries-no-protection"
    }


def effects(rule: Rule) -> set[str]:
    """What a rule of another question can say, by what its function and those of its module that it calls return."""
    module, seen, todo = sys.modules[rule.judge.__module__], set(), [rule.judge]
    while todo:
        tree = ast.parse(dedent(inspect.getsource(todo.pop())))
        called = {node.func.id for node in ast.walk(tree) if isinstance(node, ast.Call) and hasattr(node.func, "id")}
        todo.extend(getattr(module, name) for name in called - seen if name.startswith("_"))
        seen |= called
    return {SAID_BY[name] for name in seen & SAID_BY.keys()}


@pytest.mark.parametrize("rule", OTHER_RULES, ids=lambda rule: rule.id)
def test_no_effect_of_a_rule_is_without_a_golden_case(rule) -> None:
    golden = {case["effect"] for id, case in (param.values for param in CASES) if id == rule.id}
    assert golden | {effect for id, effect in OF_NO_QUESTION if id == rule.id} == effects(rule)
