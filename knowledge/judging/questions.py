"""Which open field to ask about next, and what each reply leads to."""

from collections.abc import Iterator
from typing import Any, NamedTuple

import numpy as np

from knowledge.box.axes import OpenField
from knowledge.judging.rank import Measures, Ranking
from knowledge.judging.rules import RULES

FIELDS_READ = frozenset(field for rule in RULES for field in rule.fields)


class PossibleReply(NamedTuple):
    """A value of an open field, the lubricant that would then lead, and the share of cases in which any serves."""

    value: Any
    leader: int | None
    served: float


class OpenQuestion(NamedTuple):
    """A question about an open field, and the expected share of the undecided lubricants that a reply decides."""

    name: str
    pointer: str
    settles: float
    replies: tuple[PossibleReply, ...]


def open_questions(ranking: Ranking) -> tuple[OpenQuestion, ...]:
    """A question for each field left out that any rule reads, the one that settles most first.

    What a ring is like is asked once it is known that there are rings.

    A lubricant is undecided while it is refused in some cases and not in others. Ties go to the question
    whose replies lead to the most different lubricants, then to the one that is easiest to answer.
    """
    serves, weight = ranking.judged.serves, ranking.cases.weight
    undecided = (serves > 0) & (serves < weight)
    asked = []
    for axis, fields in _askable(ranking):
        measures, totals = ranking.within(axis, fields)
        leaders = measures.leaders()
        decided = totals * _decided(measures, totals, undecided)
        shares = ranking.judged.refused.any_share_along(axis) * ranking.cases.axes[axis].weights
        start = 0
        for field in fields:
            here = slice(start, start + len(field.values))
            start = here.stop
            settles = float(decided[here].sum()) / (weight * int(undecided.sum())) if undecided.any() else 0.0
            weights = np.bincount(field.value_of, ranking.cases.axes[axis].weights)
            served = np.bincount(field.value_of, shares) / weights
            replies = tuple(map(PossibleReply, field.values, leaders[here], served.tolist()))
            effort = ranking.cases.base.unknowns[field.name].effort
            order = (-settles, -len(set(leaders[here])), effort)
            asked.append((order, OpenQuestion(field.name, field.pointer, settles, replies)))
    return tuple(question for _, question in sorted(asked, key=lambda pair: pair[0]))


def _askable(ranking: Ranking) -> Iterator[tuple[int, list[OpenField]]]:
    knows_rings = ranking.cases.question.rings is not None
    for place, axis in enumerate(ranking.cases.axes):
        fields = [
            field
            for field in axis.open
            if field.field in FIELDS_READ and (knows_rings or not field.pointer.startswith("/rings/"))
        ]
        if fields:
            yield place, fields


def _decided(measures: Measures, totals: Any, undecided: Any) -> Any:
    """How many of the undecided lubricants each value decides."""
    still_open = (measures.serves > 0) & (measures.serves < totals[:, None])
    return int(undecided.sum()) - still_open[:, undecided].sum(axis=1)
