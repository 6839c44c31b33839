"""The cautions of one box, and what goes with every fill."""

from collections.abc import Iterable
from functools import lru_cache
from typing import NamedTuple

from knowledge.base import KnowledgeBase
from knowledge.judging.judgement import Judgement
from knowledge.judging.wording import as_condition
from knowledge.parts.notes import CautionNote
from knowledge.parts.provenance import SEVERITIES_FROM_WORST, Caution

MOST_CAUTIONS = 5

FIRST_SHIFTS = "cold-first-shifts-need-the-film-wiped"


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


def cautions_for(judgement: Judgement, leads: bool) -> tuple[Caution, ...]:
    """The cautions that go with the box, but for those that speak against the very fluid that leads."""
    leader = judgement.leader if leads else None
    family = None if leader is None else judgement.lubricants[leader].family.id
    rows = judgement.base.cautions
    is_stiff = leader is None or judgement.outcome(FIRST_SHIFTS, leader) not in ("free", "no-rings")
    return tuple(
        item
        for item in judgement.cautions()
        if family not in rows[item.id].not_beside and (is_stiff or "cold-start" not in rows[item.id].when)
    )


def of_this_box(cautions: Iterable[Caution], base: KnowledgeBase, most: int | None) -> tuple[CautionNote, ...]:
    """What does not go with every fill, the gravest first: in short what surely applies, in full what may."""
    common = set(every_fill(base).ids)
    own = [item for item in cautions if item.id not in common and (most is None or item.only_if is None)]
    return tuple(
        CautionNote(id=item.id, severity=item.severity, text=as_condition(item.text, item.only_if))
        for item in own[:most]
    )
