"""The cautions that go with a box."""

from collections.abc import Collection, Iterable

import numpy as np

from knowledge.base import KnowledgeBase
from knowledge.box.axes import AXIS_OF
from knowledge.box.cases import Cases
from knowledge.box.circumstances import CIRCUMSTANCES
from knowledge.box.facts import FACTS
from knowledge.judging.columns import Flags
from knowledge.judging.condition import OF_COMBINATIONS, only_if
from knowledge.parts.provenance import SEVERITIES_FROM_WORST, Caution


def cautions_of(cases: Cases | None, base: KnowledgeBase, surely: Collection[str] = ()) -> tuple[Caution, ...]:
    """The cautions that go with a box or, without one, with some circumstances; worst first.

    One goes with a box when one of its circumstances can occur in a case that is still open; where none of them occurs
    in all cases, it says on what it depends. Of like severity what surely applies stands before what only may.
    """
    found = []
    for row in base.cautions.values():
        condition: str | None = None
        if set(row.when).isdisjoint(surely):
            occasion = _occasion(row.when, cases) if cases else None
            if occasion is None:
                continue
            condition = occasion or None
        caution: Caution = row.model_copy(update={"only_if": condition}) if condition else row
        found.append((caution, "always" in row.when))
    found.sort(key=lambda item: (SEVERITIES_FROM_WORST.index(item[0].severity), bool(item[0].only_if), item[1]))
    return tuple(caution for caution, _ in found)


def _occasion(names: Iterable[str], cases: Cases) -> str | None:
    """What has to be so for one of some circumstances to occur: nothing where it surely does, None where it cannot."""
    masks: dict[int, Flags] = {}
    fields: set[str] = set()
    for name in names:
        fact, holds = CIRCUMSTANCES[name]
        if fact is None:
            if holds(cases.question):
                return ""
            continue
        _, values, value_of = cases.fact(fact)
        held = [bool(holds(value)) for value in values]
        if all(held):
            return ""
        if any(held):
            axis, along = AXIS_OF[FACTS[fact].reads[0]], np.array(held)[value_of]
            masks[axis] = masks[axis] | along if axis in masks else along
            fields |= set(FACTS[fact].reads)
    if not masks:
        return None
    if any(along.all() for along in masks.values()):
        return ""
    # Where several axes can bring it about, no value of one of them is needed.
    return only_if(masks, fields, cases) if len(masks) == 1 else OF_COMBINATIONS
