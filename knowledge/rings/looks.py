"""Which facing a ring in the hand has, by what is seen of it."""

from collections.abc import Mapping
from typing import NamedTuple

from knowledge.base import KnowledgeBase
from knowledge.loading.custom_rows import RingLookRow


class Look(NamedTuple):
    """One reply to a step: what is seen, and the facings that are left with it."""

    words: str
    left: tuple[str, ...]


class Step(NamedTuple):
    """One thing to look for; `seen` is the reply that was given, if any."""

    id: str
    question: str
    looks: tuple[Look, ...]
    seen: str | None


class RingGuide(NamedTuple):
    """The steps in order, and the facings that look as was said."""

    steps: tuple[Step, ...]
    left: tuple[str, ...]


def ring_guide(seen: Mapping[str, str], base: KnowledgeBase) -> RingGuide:
    """The facings that look as was seen, and what each further look would leave of them.

    `seen` holds replies by their steps; a reply that no row knows leaves everything as it was.
    """
    rows = base.rows(RingLookRow)
    said = {(row.step, row.look): frozenset(row.facings) for row in rows}
    left = [id for id in base.facings if all(id in said[reply] for reply in seen.items() if reply in said)]
    steps = {row.step: row.question for row in rows}
    return RingGuide(
        tuple(
            Step(
                id,
                question,
                tuple(
                    Look(row.look, tuple(facing for facing in left if facing in row.facings))
                    for row in rows
                    if row.step == id
                ),
                seen.get(id),
            )
            for id, question in steps.items()
        ),
        tuple(left),
    )
