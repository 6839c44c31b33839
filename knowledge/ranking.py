"""The order of the classes: over any set of worlds, and whether what is unknown can change its top."""

from collections.abc import Sequence
from typing import Any

from knowledge.answers import Verdict
from knowledge.axes import NO_RINGS
from knowledge.judging import Judged
from knowledge.rules import RULES
from knowledge.worlds import Worlds

VERDICTS_FROM_BEST: tuple[Verdict, ...] = ("fits", "fits-with-care", "depends")


def ranked(judged: Sequence[Judged], held: int, worlds: Worlds) -> tuple[Judged, ...]:
    """The classes that serve in some of these worlds, best first.

    What the service data names stands first where it serves; then by verdict, a nuisance before a warning;
    then, among those that depend, by the share of worlds in which a class serves; then by the fitness of the
    family for the facing; then by the margin to the nearest limit that refuses; then what is usual for the facing.
    """
    base = worlds.base
    rings = [part.value for part in worlds.parts("facings") if part.worlds & held]
    facings = {facing for held_facings in rings for facing in held_facings or (NO_RINGS,)}
    usual = {base.facings[facing].usual_lubricant for facing in facings - {NO_RINGS}}
    order = []
    for position, item in enumerate(judged):
        verdict = item.verdict(held)
        if verdict == "does-not-fit":
            continue
        key = (
            not item.is_named or verdict == "depends",
            VERDICTS_FROM_BEST.index(verdict),
            bool(item.warned & held),
            -(item.serves & held).bit_count() if verdict == "depends" else 0,
            max(base.fitness[facing, item.oil.family.id] for facing in facings),
            -item.margin(held),
            item.oil.id not in usual,
            position,
        )
        order.append((key, item))
    return tuple(item for _, item in sorted(order, key=lambda pair: pair[0]))


def has_one_leader(judged: Sequence[Judged], worlds: Worlds) -> bool:
    """Whether the same class stands at the top in every world."""
    leaders: set[Any] = set()
    for _, cell in worlds.cells(_facts_that_order()):
        for held in _alike(judged, cell):
            order = ranked(judged, held, worlds)
            leaders.add(order[0].oil.id if order else None)
            if len(leaders) > 1:
                return False
    return True


def _facts_that_order() -> tuple[str, ...]:
    """The facts that fitness and margins follow from."""
    return tuple(dict.fromkeys(("facings", *(fact for rule in RULES if rule.sets_margin for fact in rule.reads))))


def _alike(judged: Sequence[Judged], cell: int) -> list[int]:
    """The worlds of a cell, divided until every class has one verdict in each part."""
    parts = [cell]
    for item in judged:
        for mark in (item.fits, item.serves):
            parts = [piece for part in parts for piece in (part & mark, part & ~mark) if piece]
    return parts
