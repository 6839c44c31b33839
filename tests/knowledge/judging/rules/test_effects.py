"""Every rule says what the trade and the standards claim, in a golden case for each effect that it can have."""

import ast
import inspect
import sys
import tomllib
from dataclasses import replace
from pathlib import Path
from textwrap import dedent
from typing import Any, get_args

import pytest

from knowledge.catalogue import EVERY_RULE
from knowledge.drain.compute import compute_drain_answer
from knowledge.drain.question import DrainQuestion
from knowledge.parts.provenance import Finding, Standing
from knowledge.rings.shift_question import ShiftQuestion
from knowledge.rule import Rule
from knowledge.shift.compute import full_shift_answer

GOLDEN = Path(__file__).parents[3] / "golden" / "rules.toml"
TOLD = tomllib.loads(GOLDEN.read_text(encoding="utf-8"))
RULES, EASY_SHIFT = TOLD["rule"], TOLD["easy_shift"]
CASES = [pytest.param(rule["id"], case, id=f"{rule['id']}--{case['id']}") for rule in RULES for case in rule["cases"]]
TWO_LITRES = {"capacity_l": 2, "drained_l": 1.6}
SAID_BY = {
    "supports": "supports",
    "cautions": "cautions",
    "excludes": "excludes",
    "no_data": "no-data",
    "not_concerned": "not concerned",
}
OF_NO_QUESTION = {
    # Each class and each jug has a cold limit, known or claimed; test_cold.py asks the rule about an oil without one.
    ("cold-start-needs-oil-that-flows", "no-data"),
    # Speed and pressure are those at first slip, which every shift has.
    ("sliding-speed-stays-within-the-facing", "no-data"),
    ("pressure-stays-within-the-facing", "no-data"),
}


@pytest.fixture
def told(base, ask, box, of, read):
    """All that the answer to a case says of its subject."""

    def stated(fields: dict[str, Any]) -> dict[str, Any]:
        fields = dict(fields)
        facing, also = fields.pop("facing"), fields.pop("also", None)
        whole = box(None if facing == "none" else facing, **fields)
        return whole | {"rings": [*whole["rings"], *box(also)["rings"]]} if also else whole

    def findings(case: dict[str, Any]) -> tuple[Finding, ...]:
        question = {"question": stated(case["box"])} if "box" in case else {}
        if "oil" in case:
            return of(ask(**question["question"]), case["oil"]).findings
        if "jug" in case:
            answer = read(**case["jug"], **question)
            return answer.findings if question else answer.label_findings
        if "drain" in case:
            asked = TWO_LITRES | case["drain"] | question
            return compute_drain_answer(DrainQuestion.model_validate(asked), base, detail="full").findings
        rows = [row.model_copy(update={"standing": case.get("limits", row.standing)}) for row in base.facing_limits]
        asked = ShiftQuestion.model_validate(EASY_SHIFT | case["shift"])
        return full_shift_answer(asked, replace(base, facing_limits=tuple(rows))).facings[0].findings

    return findings


@pytest.mark.parametrize(("rule", "case"), CASES)
def test_a_rule_says_what_the_trade_claims(told, rule, case) -> None:
    finding = next((item for item in told(case) if item.rule == rule), None)
    if case["effect"] == "not concerned":
        assert finding is None or (finding.effect, finding.sources) == ("supports", ())
        return
    assert finding.effect == case["effect"]
    assert finding.sources
    assert finding.severity == case.get("severity", finding.severity)
    assert finding.text.endswith(".") and not finding.text[0].islower()
    assert case.get("words", "") in finding.text


MEASURED = [
    pytest.param(rule, case, id=f"{rule['id']}--{case['id']}")
    for rule in RULES
    for case in rule["cases"]
    if case["effect"] in ("supports", "cautions", "excludes")
]


@pytest.mark.parametrize(("rule", "case"), MEASURED)
def test_a_rule_measures_what_it_speaks_of(told, rule, case) -> None:
    finding = next(item for item in told(case) if item.rule == rule["id"])
    measured = case.get("figures", {})
    units = {} if measured == {} and "figures" in case else rule.get("units", {})
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
    finding = next(item for item in told(case) if item.rule == rule)
    if finding.margin is not None:
        warns = (finding.effect, finding.severity) == ("cautions", "warning")
        assert (finding.margin < 1) == (finding.effect == "excludes" or warns)


def test_every_golden_rule_names_where_its_expectation_comes_from(base) -> None:
    assert {rule["source"] for rule in RULES} <= set(base.sources)
    assert all(rule["locator"] for rule in RULES)
    assert len({case.id for case in CASES}) == len(CASES)


def effects(rule: Rule) -> set[str]:
    """What a rule can say, by what its function and those of its module that it calls return.

    A refusal that yields to service data turns into a caution.
    """
    module, seen, todo = sys.modules[rule.judge.__module__], set(), [rule.judge]
    while todo:
        tree = ast.parse(dedent(inspect.getsource(todo.pop())))
        called = {node.func.id for node in ast.walk(tree) if isinstance(node, ast.Call) and hasattr(node.func, "id")}
        todo.extend(getattr(module, name) for name in called - seen if name.startswith("_"))
        seen |= called
    return {SAID_BY[name] for name in seen & SAID_BY.keys()} | ({"cautions"} if rule.yields_to_service_data else set())


@pytest.mark.parametrize("rule", EVERY_RULE, ids=lambda rule: rule.id)
def test_no_effect_of_a_rule_is_without_a_golden_case(rule) -> None:
    golden = {case["effect"] for id, case in (param.values for param in CASES) if id == rule.id}
    assert golden | {effect for id, effect in OF_NO_QUESTION if id == rule.id} == effects(rule)
