"""What the rules say of an old fluid that stays in a box, over every case that the box leaves open."""

from collections.abc import Iterator, Mapping
from dataclasses import replace
from itertools import compress
from typing import Any

import numpy as np

from knowledge.base import KnowledgeBase
from knowledge.box.cases import Cases
from knowledge.box.facts import FACTS, pointers
from knowledge.box.question import FillQuestion
from knowledge.drain.change import Change
from knowledge.drain.rules import LEFTOVER_RULES
from knowledge.judging.condition import only_if
from knowledge.parts.provenance import EFFECTS_FROM_WORST, SEVERITIES_FROM_WORST, Finding
from knowledge.rule import Rule, RuleOutcome

# Where a drain question says what the rules read of a change.
POINTERS: Mapping[str, tuple[str, ...]] = {
    "old_family": ("/old",),
    "old_is_limited_slip": ("/old",),
    "new_family": ("/new",),
    "most_left_of_its_kind": ("/old", "/new"),
    "left_share": ("/drained_l", "/rounds"),
    "rounds_shown": ("/rounds",),
    "has_blend": ("/old", "/new"),
    "rounds_to_target": ("/drained_l", "/target_old_share"),
    "target_old_share": ("/target_old_share",),
    "drained_share": ("/capacity_l", "/drained_l"),
}

IN_IT_NOW = dict.fromkeys(POINTERS, ("/in_it_now",))


def change_findings(
    change: Change, question: FillQuestion, base: KnowledgeBase, placed: Mapping[str, tuple[str, ...]], box: str
) -> Iterator[Finding]:
    """What the rules say of a change; the worst outcome of each rule that is concerned in some case of the box.

    `placed` are pointers to what a rule reads of the change, `box` stands before the pointers into the box.
    """
    cases, facts = Cases.of(question, base), change.facts
    for rule in LEFTOVER_RULES:
        known = {name: facts[name] for name in rule.reads if name not in FACTS}
        of_box = [name for name in rule.reads if name in FACTS]
        found = _worst(rule, known, of_box[0], cases) if of_box else (rule.judge(**known), None, 1.0)
        if found is None or not found[0].is_concerned:
            continue
        outcome, condition, share = found
        of_change = (pointer for name in rule.reads for pointer in placed.get(name, ()))
        in_box = (f"{box}{pointer}" for name in of_box for pointer in pointers(name, len(question.rings or ())))
        limits = tuple(change.limits[name] for name in rule.reads if name in change.limits)
        finding = rule.finding(outcome._replace(limits=limits), tuple(dict.fromkeys((*of_change, *in_box))))
        yield replace(finding, only_if=condition, share_of_worlds=share)


def _worst(
    rule: Rule, known: Mapping[str, Any], fact: str, cases: Cases
) -> tuple[RuleOutcome, str | None, float] | None:
    """The worst outcome over the values of a fact of the box, when it holds, and in which share of the cases.

    None where the rule is nowhere concerned.
    """
    axis, values, value_of = cases.fact(fact)
    outcomes = [rule.judge(**known, **{fact: value}) for value in values]
    if axis is None or not any(outcome.is_concerned for outcome in outcomes):
        return None
    effect = min((outcome.effect for outcome in outcomes), key=EFFECTS_FROM_WORST.index)
    biting = [outcome.effect == effect and outcome.is_concerned for outcome in outcomes]
    if not any(biting):
        biting = [True] * len(outcomes)
    along, weights = np.array(biting)[value_of], cases.axes[axis].weights
    worst = min(compress(outcomes, biting), key=lambda outcome: SEVERITIES_FROM_WORST.index(outcome.severity))
    condition = None if along.all() else only_if({axis: along}, FACTS[fact].reads, cases)
    return worst, condition, float(weights[along].sum() / weights.sum())
