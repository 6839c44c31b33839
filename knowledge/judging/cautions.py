"""The cautions that go with a box, and what goes with every fill."""

from collections.abc import Collection, Iterable, Mapping, Sequence
from functools import lru_cache
from operator import itemgetter
from typing import NamedTuple

import numpy as np

from knowledge.base import KnowledgeBase
from knowledge.box.cases import Cases
from knowledge.box.circumstances import CIRCUMSTANCES
from knowledge.box.facts import FACTS
from knowledge.judging.columns import Flags
from knowledge.judging.condition import OF_COMBINATIONS, only_if
from knowledge.parts.notes import CautionNote
from knowledge.parts.provenance import SEVERITIES_FROM_WORST, Caution


def cautions_of(
    cases: Cases | None, base: KnowledgeBase, surely: Collection[str] = (), *, with_possible: bool = True
) -> tuple[Caution, ...]:
    """The cautions that go with a box or, without one, with some circumstances; worst first.

    One goes with a box when one of its circumstances can occur in a case that is still open; where none of them occurs
    in all cases, it says on what it depends, or is left out. Of like severity what surely applies stands before what
    only may.
    """
    occasions = _occasions(cases) if cases else {}
    always = {*surely, *(name for name, occasion in occasions.items() if occasion is True)}
    may_be = {name: occasion for name, occasion in occasions.items() if isinstance(occasion, _Possible)}
    found = []
    for row in base.cautions.values():
        condition = None
        if always.isdisjoint(row.when):
            if cases is None or may_be.keys().isdisjoint(row.when):
                continue
            possible = [may_be[name] for name in row.when if name in may_be]
            masks = _masks(possible)
            if not any(along.all() for along in masks.values()):
                if not with_possible:
                    continue
                condition = _condition(possible, masks, cases)
        caution: Caution = row.model_copy(update={"only_if": condition}) if condition else row
        found.append((SEVERITIES_FROM_WORST.index(row.severity), condition is not None, "always" in row.when, caution))
    found.sort(key=itemgetter(0, 1, 2))
    return tuple([caution for *_, caution in found])


class EveryFill(NamedTuple):
    """The cautions that go with every fill, and all of them in one line."""

    ids: tuple[str, ...]
    words: str


@lru_cache(maxsize=4)
def every_fill(base: KnowledgeBase) -> EveryFill:
    """What goes with every fill, the gravest first."""
    rows = sorted(
        (row for row in base.cautions.values() if "always" in row.when),
        key=lambda row: SEVERITIES_FROM_WORST.index(row.severity),
    )
    words = "; ".join(row.in_short for row in rows if row.in_short)
    return EveryFill(tuple(row.id for row in rows), f"{words[:1].upper()}{words[1:]}.")


def not_against(
    families: Collection[str | None], cautions: Iterable[Caution], base: KnowledgeBase
) -> tuple[Caution, ...]:
    """Cautions but for those that speak against the very fluid that an answer fills, by its families."""
    return tuple(item for item in cautions if set(base.cautions[item.id].not_beside).isdisjoint(families))


def of_this_box(cautions: Iterable[Caution], base: KnowledgeBase, most: int | None) -> tuple[CautionNote, ...]:
    """What does not go with every fill, the gravest first: in short what surely applies, in full what may."""
    common = set(every_fill(base).ids)
    own = [item for item in cautions if item.id not in common and (most is None or item.only_if is None)]
    return tuple(CautionNote(id=item.id, severity=item.severity, text=item.in_full) for item in own[:most])


class _Possible(NamedTuple):
    """A circumstance that occurs with some alternatives of an axis, and the fields it follows from."""

    axis: int
    along: Flags
    fields: tuple[str, ...]


def _occasions(cases: Cases) -> dict[str, "_Possible | bool"]:
    """For each circumstance whether it occurs in all cases, in none, or with which alternatives."""
    found: dict[str, _Possible | bool] = {}
    for name, (fact, holds) in CIRCUMSTANCES.items():
        if fact is None:
            found[name] = holds(cases.question)
            continue
        axis, values, value_of = cases.fact(fact)
        held = [holds(value) for value in values]
        if all(held) or not any(held) or axis is None:
            found[name] = held[0]
        else:
            found[name] = _Possible(axis, np.array(held)[value_of], FACTS[fact].reads)
    return found


def _masks(possible: Sequence[_Possible]) -> dict[int, Flags]:
    """Along each axis, with which alternatives one of some circumstances occurs."""
    masks: dict[int, Flags] = {}
    for axis, along, _ in possible:
        masks[axis] = masks[axis] | along if axis in masks else along
    return masks


def _condition(possible: Sequence[_Possible], masks: Mapping[int, Flags], cases: Cases) -> str:
    """What has to be so for one of some circumstances to occur."""
    # Where several axes can bring it about, no value of one of them is needed.
    fields = {field for occasion in possible for field in occasion.fields}
    return only_if(masks, fields, cases) if len(masks) == 1 else OF_COMBINATIONS
