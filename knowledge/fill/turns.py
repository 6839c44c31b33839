"""What would turn an answer: for each field of the question the values with which another class leads."""

from collections.abc import Callable, Iterator, Mapping, Sequence
from math import ceil, floor
from typing import Annotated, Any, Literal, NamedTuple

from pydantic import Field

from knowledge.base import KnowledgeBase
from knowledge.box.axes import RING_PARTS
from knowledge.box.question import FillQuestion, ServiceData
from knowledge.fill.compute import judged_box
from knowledge.fill.over_temperatures import AS_ASKED, leaders_over, leading_id
from knowledge.fill.size_turns import turns_of_sizes
from knowledge.fill.turning import Turn, Turning, name_of_leader
from knowledge.judging.condition import value_words
from knowledge.judging.judgement import Judgement
from knowledge.loading.custom_rows import BoxKindRow
from knowledge.loading.facing_rows import NO_RINGS
from knowledge.parts.provenance import KnowledgeStamp, sent
from knowledge.parts.ranges import COLDEST_START_C, COOLEST_SUMP_C, HOTTEST_SUMP_C, MILDEST_START_C, MOST_CONES
from knowledge.parts.ring import Ring
from knowledge.shop.shop import NO_SHOP, Shop
from knowledge.text import plain

STEP_C = 5
NOT_HERE = "no class here has that grade"


@sent
class Turns:
    """What would change the leader of an answer: one field changed at a time, all else as it was asked."""

    knowledge: KnowledgeStamp
    answer_id: str
    leader: Annotated[str | None, Field(description="The id of the class that leads; null where none does.")]
    turns: Annotated[tuple[Turn, ...], Field(description="Every field that was tried, in the order of the question.")]


class Tried(NamedTuple):
    """A field with its other values in the order of the tables, and what is asked with each of them, in words too."""

    pointer: str
    is_stated: bool
    values: Sequence[Any]
    asked: Callable[[Any], FillQuestion]
    words: Callable[[Any], str]


def turns_of(asked: FillQuestion, base: KnowledgeBase, shop: Shop = NO_SHOP) -> Turns:
    """What would turn the answer to a fill question.

    Errors: UnknownIds, when the question names an id that the knowledge or the shop does not have.
    """
    box = judged_box(asked, base, shop)
    judgement, now = box.judgement, leading_id(box.judgement)
    by_values = (
        Turn(pointer=tried.pointer, stated=tried.is_stated, changes=tuple(_by_value(tried, judgement, now)))
        for tried in _fields(judgement)
    )
    return Turns(
        knowledge=base.stamp,
        answer_id=box.answer_id,
        leader=now,
        turns=(*by_values, _of_cold(judgement, now), _of_heat(judgement, now), *turns_of_sizes(judgement, now)),
    )


# Values


def _by_value(tried: Tried, judgement: Judgement, now: str | None) -> Iterator[Turning]:
    for value in tried.values:
        then = Judgement.of(tried.asked(value), judgement.base, region=judgement.region)
        leader = leading_id(then)
        if leader != now:
            is_of_no_class = then.named.is_possible and not then.named.is_listed
            name = NOT_HERE if is_of_no_class else name_of_leader(leader, now, judgement.base)
            words = f"If {tried.words(value)}: {name}."
            yield Turning(at=None, side=None, value=value, leader=leader, words=words)


def _fields(judgement: Judgement) -> Iterator[Tried]:
    """Every field of the question with the values that it may have instead."""
    question, base = judgement.question, judgement.base
    values: Mapping[str, Sequence[Any]] = {
        "box_kind": tuple(base.by_id(BoxKindRow)),
        "yellow_metal": (True, False),
        "final_drive": tuple(item.value for item in base.plausible_values if item.field == "final_drive"),
        "limited_slip": (True, False),
        "wet_clutch": (True, False),
        "duty": tuple(base.duties),
    }
    for name, of in values.items():
        yield _plain(name, getattr(question, name), of, question, base)
        if name == "box_kind":
            yield from _of_rings(question, base)
    yield from _of_book(question, base)


def _plain(name: str, now: Any, values: Sequence[Any], question: FillQuestion, base: KnowledgeBase) -> Tried:
    return Tried(
        f"/{name}",
        now is not None,
        [value for value in values if value != now],
        lambda value: question.model_copy(update={name: value}),
        lambda value: _in_words(name, value, base),
    )


def _of_rings(question: FillQuestion, base: KnowledgeBase) -> Iterator[Tried]:
    rings = question.rings
    others = (NO_RINGS,) if rings else tuple(base.facings) if rings == () else (NO_RINGS, *base.facings)
    yield Tried(
        "/rings",
        rings is not None,
        others,
        lambda value: question.model_copy(update={"rings": () if value == NO_RINGS else (Ring(facing=value),)}),
        lambda value: _in_words("rings", value, base),
    )
    for index, ring in enumerate(rings or ()):
        of_parts: Mapping[str, Sequence[Any]] = {
            "facing": tuple(base.facings),
            "body": () if ring.facing and base.facings[ring.facing].body else tuple(base.bodies),
            "cones": range(1, MOST_CONES + 1),
            "condition": ("new", "worn"),
            "replaced": (True, False),
        }
        for name, values in of_parts.items():
            yield _of_ring(index, name, values, question, base)
        if ring.fluid_named:
            yield _of_ring(index, "fluid_named", (None,), question, base)


def _of_ring(index: int, name: str, values: Sequence[Any], question: FillQuestion, base: KnowledgeBase) -> Tried:
    """A part of one set; what several sets lack, they are alike in."""
    rings = question.rings or ()
    now = getattr(rings[index], name)
    is_alike = now is None and name in RING_PARTS

    def asked(value: Any) -> FillQuestion:
        changed = tuple(
            ring.model_copy(update={name: value}) if at == index or (is_alike and getattr(ring, name) is None) else ring
            for at, ring in enumerate(rings)
        )
        return question.model_copy(update={"rings": changed})

    where = f" in set {index + 1}" if len(rings) > 1 else ""
    return Tried(
        f"/rings/{index}/{name}",
        now is not None,
        [value for value in values if value != now],
        asked,
        lambda value: f"{_in_words(name, value, base)}{where}",
    )


def _of_book(question: FillQuestion, base: KnowledgeBase) -> Iterator[Tried]:
    """What the book names: another family, the family in another grade, or nothing."""
    book = question.service_data

    def named(name: str) -> Callable[[Any], FillQuestion]:
        return lambda value: question.model_copy(
            update={"service_data": value and (book or ServiceData()).model_copy(update={name: value})}
        )

    family, grade = (book.family, book.grade) if book else (None, None)
    families = [id for id in base.families if id != family]
    yield Tried(
        "/service_data/family",
        family is not None,
        [None, *families] if family else families,
        named("family"),
        lambda value: f"the book names {base.families[value].label if value else 'nothing'}",
    )
    if grade:
        of_family = (oil.grade for oil in base.lubricants if family in (None, oil.family.id))
        yield Tried(
            "/service_data/grade",
            True,
            [other for other in dict.fromkeys(of_family) if other != grade],
            named("grade"),
            lambda value: f"the book names {value}",
        )


def _in_words(name: str, value: Any, base: KnowledgeBase) -> str:
    if name == "fluid_named":
        return "the maker of the rings names nothing"
    if name == "replaced":
        return "the rings were changed" if value else "these are the first rings"
    return base.unknowns[name].phrase.format(values=value_words(name, value, base))


# Temperatures


def _of_cold(judgement: Judgement, now: str | None) -> Turn:
    degrees = _whole(COLDEST_START_C, MILDEST_START_C)
    leaders = [row[0] for row in leaders_over(judgement, colds_c=degrees)]
    return _of_degrees("coldest_start_c", judgement, degrees, leaders, now)


def _of_heat(judgement: Judgement, now: str | None) -> Turn:
    degrees = _whole(COOLEST_SUMP_C, HOTTEST_SUMP_C)
    (leaders,) = leaders_over(judgement, AS_ASKED, degrees)
    return _of_degrees("sump_hot_c", judgement, degrees, leaders, now)


def _whole(least_c: float, most_c: float) -> tuple[float, ...]:
    return tuple(float(degree) for degree in range(ceil(least_c), floor(most_c) + 1))


def _of_degrees(
    name: str, judgement: Judgement, degrees: Sequence[float], leaders: Sequence[str | None], now: str | None
) -> Turn:
    """The changes on both sides of what is stated; else of the degree nearest to the likeliest where it leads too."""
    stated_c = getattr(judgement.question, name)
    from_c = stated_c
    if stated_c is None:
        likeliest_c = judgement.cases.likeliest(name)
        alike = [degree for degree, leader in zip(degrees, leaders, strict=True) if leader == now]
        from_c = min(alike, key=lambda degree: abs(degree - likeliest_c), default=likeliest_c)
    pairs = list(zip(degrees, leaders, strict=True))
    # A leader that no single degree has is not that of the start either.
    is_start_told = stated_c is None and now not in leaders
    below = [pair for pair in reversed(pairs) if pair[0] < from_c or (is_start_told and pair[0] == from_c)]
    above = [pair for pair in pairs if pair[0] > from_c or (is_start_told and pair[0] == from_c)]
    changes = [*_along(below, "below", now, judgement.base), *_along(above, "above", now, judgement.base)]
    changes.sort(key=lambda change: abs((change.at or 0.0) - from_c))
    return Turn(pointer=f"/{name}", stated=stated_c is not None, changes=tuple(changes))


def _along(
    pairs: Sequence[tuple[float, str | None]], side: Literal["below", "above"], now: str | None, base: KnowledgeBase
) -> Iterator[Turning]:
    """Each degree from which on another class leads, away from the start."""
    for place, (degree, leader) in enumerate(pairs):
        if leader != now:
            last = next((at for at in range(place, len(pairs)) if pairs[at][1] != leader), len(pairs)) - 1
            told = _told(degree, pairs[last][0], side)
            words = f"From {told} °C {'down' if side == 'below' else 'up'}: {name_of_leader(leader, now, base)}."
            yield Turning(at=degree, side=side, value=None, leader=leader, words=words)
        now = leader


def _told(first: float, last: float, side: str) -> str:
    """The first step of 5 °C within a stretch of degrees; the degree itself where there is none."""
    step = STEP_C * (floor(first / STEP_C) if side == "below" else ceil(first / STEP_C))
    return plain(step if abs(step - first) <= abs(last - first) else first)
