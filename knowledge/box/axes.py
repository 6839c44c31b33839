"""The independent fields of a question, each with the values it may take."""

from collections.abc import Callable, Iterator, Mapping
from typing import Any, NamedTuple

from knowledge.base import KnowledgeBase
from knowledge.box.question import FillQuestion

NO_RINGS = "none"


class Unknown(NamedTuple):
    """A field of an axis that the caller left out: its id, its pointer, and how to read it off the axis value."""

    name: str
    pointer: str
    part_of: Callable[[Any], Any]


class Axis(NamedTuple):
    """One field, or two that hang together, and its values; a known field has just one."""

    name: str
    values: tuple[Any, ...]
    unknown: tuple[Unknown, ...] = ()


def _itself(value: Any) -> Any:
    return value


def _flag(text: str) -> bool:
    return text == "true"


# The fields whose values stand in plausible_values.csv, and how those are read.
TRIED: Mapping[str, Callable[[str], Any]] = {
    "rings": str,
    "facing": str,
    "body": str,
    "cones": int,
    "condition": str,
    "yellow_metal": _flag,
    "final_drive": str,
    "limited_slip": _flag,
    "wet_clutch": _flag,
    "coldest_start_c": float,
    "duty": str,
}

# And every field that a caller may be asked for; how hot a sump gets stands with its duty.
UNKNOWNS = (*TRIED, "sump_hot_c")

RING_PARTS = ("facing", "body", "cones", "condition")


def pointer_of(name: str) -> str:
    """Where an unknown field stands in the question; of rings that lack it the first speaks for all."""
    return f"/rings/0/{name}" if name in RING_PARTS else f"/{name}"


def _tried(base: KnowledgeBase, field: str) -> tuple[Any, ...]:
    return tuple(TRIED[field](row.value) for row in base.plausible_values if row.field == field)


def axes_of(question: FillQuestion, base: KnowledgeBase) -> Iterator[Axis]:
    """The axes of a question, in the order in which its fields stand."""
    yield _facing_axis(question, base)
    yield _ring_axis(question, base, "body")
    yield _ring_axis(question, base, "cones")
    yield _ring_axis(question, base, "condition")
    yield _plain_axis(question, base, "yellow_metal")
    yield _plain_axis(question, base, "final_drive")
    yield _plain_axis(question, base, "limited_slip")
    yield _plain_axis(question, base, "wet_clutch")
    yield _plain_axis(question, base, "coldest_start_c")
    yield _duty_axis(question, base)


def _plain_axis(question: FillQuestion, base: KnowledgeBase, name: str) -> Axis:
    value = getattr(question, name)
    if value is not None:
        return Axis(name, (value,))
    return Axis(name, _tried(base, name), (Unknown(name, pointer_of(name), _itself),))


def _facing_axis(question: FillQuestion, base: KnowledgeBase) -> Axis:
    if question.rings is None:
        return Axis("facing", _tried(base, "rings"), (Unknown("rings", "/rings", _itself),))
    return _ring_axis(question, base, "facing")


def _ring_axis(question: FillQuestion, base: KnowledgeBase, name: str) -> Axis:
    """Rings that lack the same field are taken to be alike in it."""
    if question.rings is None:
        return Axis(name, _tried(base, name), (Unknown(name, pointer_of(name), _itself),))
    for index, ring in enumerate(question.rings):
        if getattr(ring, name) is None and not (name == "body" and ring.facing and base.facings[ring.facing].body):
            return Axis(name, _tried(base, name), (Unknown(name, f"/rings/{index}/{name}", _itself),))
    return Axis(name, (None,))


def _duty_axis(question: FillQuestion, base: KnowledgeBase) -> Axis:
    duties = (question.duty,) if question.duty else _tried(base, "duty")
    pairs = []
    for duty in duties:
        row = base.duties[duty]
        sumps = (row.sump_low_c, row.sump_high_c) if question.sump_hot_c is None else (question.sump_hot_c,)
        pairs.extend((duty, sump) for sump in sumps)
    unknown = []
    if question.duty is None:
        unknown.append(Unknown("duty", "/duty", lambda pair: pair[0]))
    if question.sump_hot_c is None:
        unknown.append(Unknown("sump_hot_c", "/sump_hot_c", lambda pair: pair[1]))
    return Axis("duty", tuple(pairs), tuple(unknown))
