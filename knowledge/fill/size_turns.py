"""From which size of a bearing or a ring on another class leads."""

from collections.abc import Callable, Iterator, Sequence
from itertools import pairwise
from math import log
from typing import Any, Literal

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


def turns_of_sizes(judgement: Judgement, now: str | None) -> Iterator[Turn]:
    """Each size with the values, to two digits, from which on another class leads than the one that does now."""
    question, base = judgement.question, judgement.base
    of_bearing, geometry = bearing(question, base), question.ring_geometry or RingGeometry()
    shape = cone_shape(question.ring_geometry, base)._replace(
        half_angle_deg=geometry.half_angle_deg or _half_angle_deg(judgement)
    )
    for part, given, assumed in (("bearing", of_bearing, of_bearing), ("ring_geometry", geometry, shape)):
        for name in type(given).model_fields:
            stated = getattr(getattr(question, part), name, None)

            def leader_at(value: float, part: str = part, given: Any = given, name: str = name) -> str | None:
                asked = question.model_copy(update={part: given.model_copy(update={name: value})})
                return leading_id(Judgement.of(asked, base, region=judgement.region))

            changes = _changes(part, name, getattr(assumed, name), leader_at, judgement, now)
            yield Turn(pointer=f"/{part}/{name}", stated=stated is not None, changes=tuple(changes))
    yield Turn(pointer=f"/{MESH}", stated=question.mesh is not None, changes=())


def _half_angle_deg(judgement: Judgement) -> float:
    """Of a ring whose half angle nobody stated: that of its facing, the first of those it may have."""
    facings = next((of for of in judgement.cases.values("facings") if of), tuple(judgement.base.facings))
    return next(row.half_angle_deg for row in judgement.base.ring_lands.values() if row.facing == facings[0])


def _changes(
    part: str,
    name: str,
    value: float,
    leader_at: Callable[[float], str | None],
    judgement: Judgement,
    now: str | None,
) -> Sequence[Turning]:
    """The changes of the leader on both sides of a value, the nearest first."""
    sizes = two_digits(*_range(Bearing if part == "bearing" else RingGeometry, name))
    sides: tuple[tuple[Literal["below", "above"], str, Sequence[float]], ...] = (
        ("below", "less", [size for size in reversed(sizes) if size < value]),
        ("above", "more", [size for size in sizes if size > value]),
    )
    found = []
    what = f"{in_words(name).capitalize()} of the {part.partition('_')[0]}"
    unit = unit_of(name) if unit_of(name) == "°" else f" {unit_of(name)}"
    for side, further, beyond in sides:
        known = {0: now}

        def leader(place: int, known: dict[int, str | None] = known, beyond: Sequence[float] = beyond) -> str | None:
            if place not in known:
                known[place] = leader_at(beyond[place - 1])
            return known[place]

        stops = _stops([value, *beyond])
        for place in (at for stop in pairwise(stops) for at in _turning_points(*stop, leader)):
            words = f"{what} {plain(beyond[place - 1])}{unit} or {further}"
            instead = name_of_leader(leader(place), leader(place - 1), judgement.base)
            found.append(
                Turning(at=beyond[place - 1], side=side, value=None, leader=leader(place), words=f"{words}: {instead}.")
            )
    return sorted(found, key=lambda change: abs(log((change.at or value) / value)))


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


def two_digits(low: float, high: float) -> list[float]:
    """The numbers of two digits from the one to the other."""
    numbers = (float(f"{digits}e{exponent}") for exponent in range(-4, 5) for digits in range(10, 100))
    return sorted({low, *(number for number in numbers if low <= number <= high), high})


def _range(model: type[Bearing | RingGeometry], name: str) -> tuple[float, float]:
    """What the model allows a size to be."""
    schema = model.model_json_schema()["properties"][name]
    shape = next(shape for shape in (schema, *schema.get("anyOf", ())) if "minimum" in shape)
    return float(shape["minimum"]), float(shape["maximum"])
