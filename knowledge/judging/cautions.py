"""The cautions that go with a box."""

from collections.abc import Collection
from functools import reduce
from operator import or_

from knowledge.base import KnowledgeBase
from knowledge.box.circumstances import occasions
from knowledge.box.worlds import Worlds
from knowledge.judging.wording import only_if
from knowledge.parts.provenance import SEVERITIES_FROM_WORST, Caution


def cautions_of(worlds: Worlds | None, base: KnowledgeBase, surely: Collection[str] = ()) -> tuple[Caution, ...]:
    """The cautions that go with a box or, without one, with some circumstances; worst first.

    Of like severity what surely applies stands before what only may.
    """
    of_box = occasions(worlds) if worlds else {}
    found = []
    for row in base.cautions.values():
        condition = None
        if set(row.when).isdisjoint(surely):
            called_by = [of_box[name] for name in row.when] if worlds else []
            bites = reduce(or_, (occasion.worlds for occasion in called_by), 0)
            if not bites:
                continue
            condition = only_if(bites, frozenset().union(*(occasion.axes for occasion in called_by)), worlds)
        caution = row.model_copy(update={"only_if": condition}) if condition else row
        found.append((caution, "always" in row.when))
    found.sort(key=lambda item: (SEVERITIES_FROM_WORST.index(item[0].severity), bool(item[0].only_if), item[1]))
    return tuple(caution for caution, _ in found)
