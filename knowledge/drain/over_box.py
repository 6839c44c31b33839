"""What a box makes of a change of fluid: each rule over every case that the box leaves open, and its cautions."""

from collections.abc import Iterator, Mapping, Sequence
from itertools import compress
from typing import Any, NamedTuple

import numpy as np

from knowledge.base import KnowledgeBase
from knowledge.box.cases import Cases
from knowledge.box.facts import FACTS, pointers
from knowledge.box.question import FillQuestion
from knowledge.judging.cautions import cautions_of
from knowledge.judging.condition import only_if
from knowledge.parts.provenance import EFFECTS_FROM_WORST, SEVERITIES_FROM_WORST, Caution
from knowledge.rule import Rule, RuleOutcome

WITHOUT_A_BOX = frozenset({"always", "leftover-fluid"})


class OverBox(NamedTuple):
    """The worst outcome of a rule, the parts of the box it was read from, and the cases in which it holds."""

    rule: Rule
    outcome: RuleOutcome
    about: tuple[str, ...]
    only_if: str | None
    share: float


def over_box(
    rules: Sequence[Rule], given: Mapping[str, Any], question: FillQuestion, base: KnowledgeBase
) -> Iterator[OverBox]:
    """Each rule that is concerned in some case of the box; `given` is what rules read besides the box."""
    cases = Cases.of(question, base)
    for rule in rules:
        of_box = tuple(name for name in rule.reads if name in FACTS)
        known = {name: given[name] for name in rule.reads if name not in FACTS}
        found = _worst(rule, known, of_box[0], cases) if of_box else _Worst(rule.judge(**known), None, 1.0)
        if found is not None and found.outcome.is_concerned:
            about = tuple(pointer for name in of_box for pointer in pointers(name, len(question.rings or ())))
            yield OverBox(rule, found.outcome, about, found.only_if, found.share)


class _Worst(NamedTuple):
    """The worst outcome over all cases, when it holds and in which share of them."""

    outcome: RuleOutcome
    only_if: str | None
    share: float


def _worst(rule: Rule, known: Mapping[str, Any], fact: str, cases: Cases) -> _Worst | None:
    """The worst outcome of a rule that reads one fact of the box; None where it is nowhere concerned."""
    axis, values, value_of = cases.fact(fact)
    outcomes = [rule.judge(**known, **{fact: value}) for value in values]
    if axis is None or not any(outcome.is_concerned for outcome in outcomes):
        return None
    effect = min((outcome.effect for outcome in outcomes), key=EFFECTS_FROM_WORST.index)
    biting = [outcome.effect == effect and outcome.is_concerned for outcome in outcomes]
    if not any(biting):
        biting = [True] * len(outcomes)
    along, weights = np.array(biting)[value_of], cases.axes[axis].weights
    return _Worst(
        outcome=min(compress(outcomes, biting), key=lambda it: SEVERITIES_FROM_WORST.index(it.severity)),
        only_if=None if along.all() else only_if({axis: along}, FACTS[fact].reads, cases),
        share=float(weights[along].sum() / weights.sum()),
    )


def box_cautions(question: FillQuestion | None, base: KnowledgeBase) -> tuple[Caution, ...]:
    """The cautions that go with draining a box, or with any drain where none is described; worst first."""
    return cautions_of(Cases.of(question, base) if question else None, base, WITHOUT_A_BOX)
