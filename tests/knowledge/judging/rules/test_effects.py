"""Every rule says what the trade and the standards claim, in a golden case for each outcome that it can have."""

import ast
import inspect
import sys
import tomllib
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from textwrap import dedent
from typing import Any, get_args

import pytest

from knowledge.box.question import FillQuestion
from knowledge.drain.compute import compute_drain_answer
from knowledge.drain.question import DrainQuestion
from knowledge.every_table import EVERY_RULE
from knowledge.fluids.data_sheet import Sheet
from knowledge.fluids.possible_lubricants import possible_lubricants
from knowledge.judging.explain import explain
from knowledge.judging.judge import Judged
from knowledge.judging.judgement import Judgement
from knowledge.judging.rules import RULES as FILL_RULES
from knowledge.jug.question import JugQuestion
from knowledge.loading.facing_rows import FITNESS_FROM_BEST
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
        facing, also, unstated = given.pop("facing"), given.pop("also", None), given.pop("unstated", ())
        whole = box(None if facing == "none" else facing, **given, **dict.fromkeys(unstated))
        return whole | {"rings": [*whole["rings"], *box(also)["rings"]]} if also else whole

    return fields


@pytest.fixture
def judged(base, oil, stated):
    """The class of a case, or what its jug may hold, judged for its box."""

    def of_case(case: dict[str, Any]) -> Judged:
        if "oil" in case:
            lubricants = (oil(case["oil"]),)
        else:
            lubricants = possible_lubricants(Sheet(JugQuestion.model_validate(case["jug"]), base))
        known = base
        if "fitness" in case:
            pair = (case["box"]["facing"], lubricants[0].family.id)
            known = replace(base, fitness={**base.fitness, pair: FITNESS_FROM_BEST.index(case["fitness"])})
        return Judgement.of(FillQuestion.model_validate(stated(case)), known, lubricants).judged

    return of_case


@pytest.fixture
def told(base, judged, read, stated):
    """What the rule says of the subject of a case; None where it says nothing."""

    def found(rule: str, case: dict[str, Any]) -> Finding | None:
        question = {"question": stated(case)} if "box" in case else {}
        if "oil" in case:
            return explain(judged(case), PLACES[rule], 0)
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


@pytest.mark.parametrize(("rule", "case"), OF_A_BOX)
def test_a_golden_case_has_the_outcome_that_it_names(judged, rule, case) -> None:
    found = judged(case)
    rows, place = found.outcomes.of_rules[PLACES[rule]].rows, PLACES[rule]
    outcomes = {rows[found.only_outcome(place, at)[0]].outcome for at in range(found.lubricants.size)}
    assert outcomes == {case["outcome"]}


@pytest.mark.parametrize("rule", FILL_RULES, ids=lambda rule: rule.id)
def test_no_outcome_of_a_rule_is_without_a_golden_case(base, rule) -> None:
    golden = {case["outcome"] for id, case in (param.values for param in OF_A_BOX) if id == rule.id}
    golden |= {outcome for id, outcome in OF_NO_QUESTION if id == rule.id}
    assert golden == {row.outcome for row in base.outcomes if row.rule == rule.id}


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
