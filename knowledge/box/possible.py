"""Which combinations of a box's fields can occur, and what its rings are."""

from collections.abc import Callable
from typing import NamedTuple

from knowledge.base import KnowledgeBase
from knowledge.box.question import FillQuestion
from knowledge.loading.facing_rows import NO_RINGS
from knowledge.parts.ring import Ring


class Possibility(NamedTuple):
    """Whether values of some fields can occur together."""

    reads: tuple[str, ...]
    holds: Callable[..., bool]


def rings_of(question: FillQuestion, facing: str | None) -> tuple[Ring, ...]:
    """The ring sets of a box; where nothing is known of them, one set of the facing that is tried."""
    if question.rings is not None:
        return question.rings
    return () if facing == NO_RINGS else (Ring.model_construct(facing=facing),)


def copper_rings(question: FillQuestion, base: KnowledgeBase, facing: str, body: str) -> tuple[str, ...]:
    """The ring parts that are copper alloys, in words."""
    words = set()
    for ring in rings_of(question, facing):
        row = base.facings[ring.facing or facing]
        if row.copper_alloy:
            words.add(f"{row.words} ring facings" if row.body is None else f"{row.words} rings")
        elif base.bodies[row.body or ring.body or body].copper_alloy:
            words.add(f"{base.bodies[row.body or ring.body or body].name.lower()} ring bodies")
    return tuple(sorted(words))


def _rings_settle_what_they_can(
    question: FillQuestion, base: KnowledgeBase, facing: str, body: str | None, cones: int | None, condition: str | None
) -> bool:
    """Without rings there is nothing to vary; a ring made of its facing has no other body."""
    rings = rings_of(question, facing)
    if not rings:
        first = {row.field: row.value for row in reversed(base.plausible_values)}
        return all(
            value is None or str(value) == first[name]
            for name, value in (("body", body), ("cones", cones), ("condition", condition))
        )
    bodies = [base.facings[ring.facing or facing].body for ring in rings if ring.body is None]
    return body is None or not bodies or None in bodies or body in bodies


def _copper_rings_are_yellow_metal(
    question: FillQuestion, base: KnowledgeBase, facing: str, body: str, yellow_metal: bool
) -> bool:
    """A copper-alloy ring is yellow metal in the sump.

    A caller who names such a ring and denies yellow metal is corrected; one who names none is believed.
    """
    if yellow_metal or (question.yellow_metal is False and _names_a_copper_ring(question, base)):
        return True
    return not copper_rings(question, base, facing, body)


def _names_a_copper_ring(question: FillQuestion, base: KnowledgeBase) -> bool:
    return any(
        (ring.facing and base.facings[ring.facing].copper_alloy) or (ring.body and base.bodies[ring.body].copper_alloy)
        for ring in question.rings or ()
    )


def _clutch_pack_needs_a_final_drive(
    question: FillQuestion, base: KnowledgeBase, final_drive: str, limited_slip: bool
) -> bool:
    """The limited-slip clutch pack sits in a final drive."""
    stated = question.final_drive is not None and question.limited_slip is not None
    return stated or not limited_slip or final_drive != "none"


POSSIBILITIES: tuple[Possibility, ...] = (
    Possibility(("facing", "body", "cones", "condition"), _rings_settle_what_they_can),
    Possibility(("facing", "body", "yellow_metal"), _copper_rings_are_yellow_metal),
    Possibility(("final_drive", "limited_slip"), _clutch_pack_needs_a_final_drive),
)
