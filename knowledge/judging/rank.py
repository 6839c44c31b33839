"""The order of the classes: over any set of worlds, and whether what is unknown can change its top."""

from collections.abc import Iterator, Sequence
from operator import itemgetter
from typing import Any, NamedTuple

from knowledge.box.axes import NO_RINGS
from knowledge.box.worlds import Worlds
from knowledge.judging.judged import Judged
from knowledge.judging.rules import RULES


class Ranking(NamedTuple):
    """The classes that serve, best first; and those that lead.

    Those are the first and what differs from it only in what is usual, or all of a family that the service data names
    without a grade.
    """

    order: tuple[Judged, ...]
    leading: tuple[Judged, ...]


def ranked(judged: Sequence[Judged], worlds: Worlds) -> Ranking:
    """The classes that serve in some world, best first.

    What the service data names stands first where it serves; then what surely serves; then what is not warned of;
    then what is as thick as the service data asks for; then what needs no care at all; then, among those that depend,
    what serves in more of the worlds; then what is warned of in fewer; then, where a wet clutch and no ring is in it,
    what clutches run in; then the family that is fitter for the facing; then one label before a double one; then what
    keeps farther from the nearest limit that refuses, more than comfortable counting as comfortable; then what lets
    first cold shifts come more easily, free counting as free; then what is usual for the facing.
    A colder start therefore never calls for a thicker class.
    """
    within = _Within(worlds.every, worlds)
    placed = sorted([(within.order(item), item) for item in judged if item.serves], key=itemgetter(0))
    best = placed[0][0][:-1] if placed else ()
    is_family_named = worlds.named.family is not None and worlds.named.grades is None
    leading = [
        item
        for measures, item in placed
        if measures[:-1] == best or (is_family_named and item.is_asked_for and item.serves == worlds.every)
    ]
    return Ranking(order=tuple([item for _, item in placed]), leading=tuple(leading))


def leader(judged: Sequence[Judged], held: int, worlds: Worlds) -> Judged | None:
    """The first of the ranked classes, found without ordering the rest."""
    within = _Within(held, worlds)
    best = [item for item in judged if item.serves & held]
    for measure in (within.how_well, within.how_often, within.how_warned, within.how_close):
        if len(best) > 1:
            measured = [measure(item) for item in best]
            least = min(measured)
            best = [item for item, value in zip(best, measured) if value == least]
    return best[0] if best else None


def facings_in(held: int, worlds: Worlds) -> set[str]:
    """Every facing that a box may have in a set of worlds, and `none` where it may have no rings."""
    rings = [part.value for part in worlds.parts("facings") if part.worlds & held]
    return {facing for facings in rings for facing in facings or (NO_RINGS,)}


def is_for_a_clutch(held: int, worlds: Worlds) -> bool:
    """Whether in each of these worlds no ring but a wet clutch is in the oil."""
    has_wet_clutch = all(part.value for part in worlds.parts("wet_clutch") if part.worlds & held)
    return has_wet_clutch and facings_in(held, worlds) == {NO_RINGS}


class _Within:
    """The order of the classes within a set of worlds."""

    def __init__(self, held: int, worlds: Worlds) -> None:
        self.held = held
        self.base = worlds.base
        self.comfortable = worlds.base.limit("margin-comfortable-from")
        self.facings = facings_in(held, worlds)
        self.is_for_a_clutch = is_for_a_clutch(held, worlds)
        self.usual = {self.base.facings[facing].usual_lubricant for facing in self.facings - {NO_RINGS}}

    def order(self, item: Judged) -> tuple[float, ...]:
        """All that the order follows from; less is better."""
        return *self.how_well(item), self.how_often(item), self.how_warned(item), *self.how_close(item)

    def how_well(self, item: Judged) -> tuple[int, ...]:
        """How well a class serves; less is better."""
        verdict = item.verdict(self.held)
        return (
            not item.is_asked_for,
            verdict == "depends",
            bool(item.warned & self.held),
            not item.is_as_thick_as_asked_for,
            verdict != "fits",
        )

    def how_often(self, item: Judged) -> int:
        """In how many worlds a class serves, where that depends; less is better."""
        serves = item.serves & self.held
        return -serves.bit_count() if serves != self.held else 0

    def how_warned(self, item: Judged) -> int:
        """In how many worlds more than a nuisance is said of a class; less is better."""
        return (item.warned & self.held).bit_count()

    def fitness(self, item: Judged) -> int:
        """The fitness of its family for the facing that it serves worst; less is better."""
        return max(self.base.fitness[facing, item.oil.family.id] for facing in self.facings)

    def how_close(self, item: Judged) -> tuple[float, ...]:
        """What decides between classes that serve equally well; less is better. Sorting keeps the table's order."""
        return (
            self.is_for_a_clutch and not item.oil.family.suits_wet_clutch,
            self.fitness(item),
            item.oil.family.dual_label,
            -min(item.margin(self.held), self.comfortable),
            -min(_as_judged(item.ease(self.held)), 1),
            item.oil.id not in self.usual,
        )


def _as_judged(ease: float) -> float:
    """The ease of a shift to the two digits that its judged sizes can bear."""
    return float(f"{ease:.2g}")


def has_one_leader(judged: Sequence[Judged], worlds: Worlds) -> bool:
    """Whether the same class stands at the top in every world."""
    if worlds.count == 1:
        return True
    leaders: set[Any] = set()
    for held in _worlds_to_compare(judged, worlds):
        first = leader(judged, held, worlds)
        leaders.add(first and first.oil.id)
        if len(leaders) > 1:
            return False
    return True


def _worlds_to_compare(judged: Sequence[Judged], worlds: Worlds) -> Iterator[int]:
    """Sets of worlds whose order is one and the same; two far apart come first, since they mostly tell it already."""
    yield worlds.every & -worlds.every
    yield 1 << worlds.every.bit_length() - 1
    for _, cell in worlds.cells(_facts_that_order()):
        yield from _alike(judged, cell)


def _facts_that_order() -> tuple[str, ...]:
    """The facts that the order follows from where classes serve equally well."""
    of_rules = (fact for rule in RULES if rule.sets_margin or rule.sets_comfort_margin for fact in rule.reads)
    return tuple(dict.fromkeys(("facings", "wet_clutch", *of_rules)))


def _alike(judged: Sequence[Judged], cell: int) -> list[int]:
    """The worlds of a cell, divided until every class has one verdict in each part."""
    parts = [cell]
    for item in judged:
        for mark in (item.fits, item.serves, item.warned):
            parts = [piece for part in parts for piece in (part & mark, part & ~mark) if piece]
    return parts
