"""From which size of a bearing or a ring on another class leads."""

from collections.abc import Callable, Iterator, Mapping, Sequence
from functools import cache, partial
from itertools import pairwise
from math import log
from typing import Any, Literal, NamedTuple

from knowledge.base import KnowledgeBase
from knowledge.box.facts import bearing, cone_shape
from knowledge.box.question import Bearing
from knowledge.fill.over_temperatures import leading_id
from knowledge.fill.turning import Turn, Turning, name_of_leader
from knowledge.judging.judgement import Judgement
from knowledge.parts.ring import RingGeometry
from knowledge.parts.units import in_words, unit_of
from knowledge.text import plain

# Of the sizes of gears a film follows that is only told: they turn nothing.
MESH = "mesh"
# Between sizes with one leader that are a third apart no other is looked for.
APART = 4 / 3


class Size(NamedTuple):
    """A size of a part of the question: what it is now, stated or assumed, and who leads with another value of it."""

    pointer: str
    value: float
    values: Sequence[float]
    leader_at: Callable[[float], str | None]

    @property
    def in_words(self) -> str:
        """`Detent force of the ring`."""
        _, part, name = self.pointer.split("/")
        return f"{in_words(name).capitalize()} of the {part.partition('_')[0]}"

    @property
    def unit(self) -> str:
        """Its unit as it stands behind a number."""
        unit = unit_of(self.pointer)
        return unit if unit == "°" else f" {unit}"


def turns_of_sizes(judgement: Judgement, now: str | None) -> Iterator[Turn]:
    """Each size with the values, to two digits, from which on another class leads than the one that does now."""
    question, base = judgement.question, judgement.base
    of_bearing, geometry = bearing(question, base), question.ring_geometry or RingGeometry()
    half_angle_deg = geometry.half_angle_deg or _half_angle_deg(judgement)
    shape = cone_shape(question.ring_geometry, base)._replace(half_angle_deg=half_angle_deg)
    for part, given, assumed in (("bearing", of_bearing, of_bearing), ("ring_geometry", geometry, shape)):
        for name, allowed in type(given).model_json_schema()["properties"].items():
            size = Size(
                pointer=f"/{part}/{name}",
                value=getattr(assumed, name),
                values=_two_digits(allowed),
                leader_at=partial(_leader_with, judgement, part, given, name),
            )
            is_stated = getattr(getattr(question, part), name, None) is not None
            changes = [*_changes(size, "below", now, base), *_changes(size, "above", now, base)]
            changes.sort(key=partial(_steps_from, size.value))
            yield Turn(pointer=size.pointer, stated=is_stated, changes=tuple(changes))
    yield Turn(pointer=f"/{MESH}", stated=question.mesh is not None, changes=())


def _half_angle_deg(judgement: Judgement) -> float:
    """Of a ring whose half angle nobody stated: that of its facing, the first of those it may have."""
    facings = next((of for of in judgement.cases.values("facings") if of), tuple(judgement.base.facings))
    return next(row.half_angle_deg for row in judgement.base.ring_lands.values() if row.facing == facings[0])


def _two_digits(allowed: Mapping[str, Any]) -> Sequence[float]:
    """The numbers of two digits that the schema of a size allows, with both of its ends."""
    shape = next(shape for shape in (allowed, *allowed.get("anyOf", ())) if "minimum" in shape)
    low, high = float(shape["minimum"]), float(shape["maximum"])
    numbers = (float(f"{digits}e{exponent}") for exponent in range(-4, 5) for digits in range(10, 100))
    return sorted({low, *(number for number in numbers if low <= number <= high), high})


def _leader_with(judgement: Judgement, part: str, given: Bearing | RingGeometry, name: str, value: float) -> str | None:
    asked = judgement.question.model_copy(update={part: given.model_copy(update={name: value})})
    return leading_id(Judgement.of(asked, judgement.base, region=judgement.region))


def _steps_from(value: float, change: Turning) -> float:
    return abs(log((change.at or value) / value))


def _changes(size: Size, side: Literal["below", "above"], now: str | None, base: KnowledgeBase) -> Iterator[Turning]:
    """The changes of the leader on one side of what the size is."""
    is_below = side == "below"
    beyond = [value for value in size.values if (value < size.value if is_below else value > size.value)]
    along = [size.value, *(reversed(beyond) if is_below else beyond)]

    @cache
    def leader(place: int) -> str | None:
        return size.leader_at(along[place]) if place else now

    for place in (at for stops in pairwise(_stops(along)) for at in _turning_points(*stops, leader)):
        instead = name_of_leader(leader(place), leader(place - 1), base)
        words = f"{size.in_words} {plain(along[place])}{size.unit} or {'less' if is_below else 'more'}: {instead}."
        yield Turning(at=along[place], side=side, value=None, leader=leader(place), words=words)


def _stops(sizes: Sequence[float]) -> Sequence[int]:
    """The places of the first, of each that is a step apart from the one before, and of the last."""
    places = [0]
    for place, size in enumerate(sizes):
        if abs(log(size / sizes[places[-1]])) >= log(APART) or place == len(sizes) - 1:
            places.append(place)
    return places


def _turning_points(first: int, last: int, leader: Callable[[int], str | None]) -> Iterator[int]:
    """The places that another class leads at than at the one before; none between two with the same leader."""
    if leader(first) == leader(last):
        return
    if last - first == 1:
        yield last
        return
    middle = (first + last) // 2
    yield from _turning_points(first, middle, leader)
    yield from _turning_points(middle, last, leader)
