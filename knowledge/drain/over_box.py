"""What a box makes of a change of fluid: each rule over every case that the box leaves open, and its cautions."""

from collections.abc import Iterator, Mapping, Sequence
from functools import reduce
from operator import or_
from typing import Any, NamedTuple

from knowledge.base import KnowledgeBase
from knowledge.box.facts import FACTS, pointers
from knowledge.box.question import FillQuestion
from knowledge.box.worlds import Worlds
from knowledge.judging.cautions import cautions_of
from knowledge.judging.wording import only_if
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
    worlds = Worlds.of(question, base)
    for rule in rules:
        of_box = tuple(name for name in rule.reads if name in FACTS)
        known = {name: given[name] for name in rule.reads if name not in FACTS}
        cells = [(rule.judge(**known, **facts), held) for facts, held in worlds.cells(of_box)]
        if not any(outcome.is_concerned for outcome, _ in cells):
            continue
        effect = min((outcome.effect for outcome, _ in cells), key=EFFECTS_FROM_WORST.index)
        biting = [(outcome, held) for outcome, held in cells if outcome.effect == effect and outcome.is_concerned]
        biting = biting or cells
        held = reduce(or_, (held for _, held in biting))
        axes = frozenset(axis for name in of_box for axis in FACTS[name].reads)
        ring_sets = len(question.rings or ())
        yield OverBox(
            rule=rule,
            outcome=min((outcome for outcome, _ in biting), key=lambda it: SEVERITIES_FROM_WORST.index(it.severity)),
            about=tuple(pointer for name in of_box for pointer in pointers(name, ring_sets)),
            only_if=only_if(held, axes, worlds),
            share=held.bit_count() / worlds.count,
        )


def box_cautions(question: FillQuestion | None, base: KnowledgeBase) -> tuple[Caution, ...]:
    """The cautions that go with draining a box, or with any drain where none is described; worst first."""
    return cautions_of(Worlds.of(question, base) if question else None, base, WITHOUT_A_BOX)
