"""What every answer carries beside its own matter: its id, its cautions, its sources."""

import hashlib
from collections.abc import Collection, Iterable
from functools import reduce
from operator import or_

from pydantic import BaseModel

from knowledge.base import KnowledgeBase
from knowledge.box.circumstances import occasions
from knowledge.box.worlds import Worlds
from knowledge.told import SEVERITIES_FROM_WORST, Caution, Finding, Source
from knowledge.verdicts.wording import only_if


def answer_id(kind: str, asked: BaseModel, *parts: str) -> str:
    """An id that is the same for the same question of a kind to the same knowledge."""
    said = "\n".join((kind, asked.model_dump_json(exclude_defaults=True), *parts))
    return hashlib.sha256(said.encode()).hexdigest()[:16]


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


def sources_of(speaking: Iterable[Finding | Caution], base: KnowledgeBase, *others: str) -> tuple[Source, ...]:
    """Every source that findings and cautions cite, and some others, in the order of the table."""
    used = {*others, *(citation.id for item in speaking for citation in item.sources)}
    return tuple(row for row in base.sources.values() if row.id in used)
