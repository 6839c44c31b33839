"""The independent axes along which a box may be unknown, each with its alternatives and their weights."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from itertools import product
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from knowledge.base import KnowledgeBase
from knowledge.box.possible import POSSIBILITIES, copper_rings
from knowledge.box.question import FillQuestion
from knowledge.box.weights import BY_KIND, by_kind, how_often, how_often_beside_rings, kind_shares, stated_of_kind
from knowledge.loading.facing_rows import NO_RINGS
from knowledge.parts.ring import Ring

RINGS, DRIVE, WET_CLUTCH, COLD_START, DUTY, DRAWS = range(6)
# What hangs together stands on one axis, so that every combination of alternatives can occur. No field of the question
# lies along the last: it has one alternative, or one for each draw of figures (`drawn_cases.py`).
FIELDS_OF_AXES: tuple[tuple[str, ...], ...] = (
    ("facing", "body", "cones", "condition", "yellow_metal"),
    ("final_drive", "limited_slip"),
    ("wet_clutch",),
    ("coldest_start_c",),
    ("duty",),
    (),
)
POSSIBLE_ALONG = tuple(
    tuple(item for item in POSSIBILITIES if set(item.reads) <= set(fields)) for fields in FIELDS_OF_AXES
)
AXIS_OF = {field: axis for axis, fields in enumerate(FIELDS_OF_AXES) for field in fields}
RING_PARTS = ("facing", "body", "cones", "condition")
# Of a question that is answered in a moment.
MOST_LEFT_OUT = 2


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
# And every field that a caller may be asked for.
UNKNOWNS = (*TRIED, "box_kind", "service_data", "replaced")


class OpenField(NamedTuple):
    """A field that the caller left out: the values tried for it, and which of them each alternative of its axis has."""

    name: str
    field: str
    pointer: str
    values: tuple[Any, ...]
    value_of: NDArray[np.intp]


@dataclass(frozen=True, slots=True, eq=False)
class Axis:
    """The alternatives of some fields that hang together, each with its weight."""

    fields: tuple[str, ...]
    alternatives: tuple[tuple[Any, ...], ...]
    weights: NDArray[np.float64]
    open: tuple[OpenField, ...]

    @property
    def size(self) -> int:
        """How many alternatives there are."""
        return len(self.alternatives)


def _itself(value: Any) -> Any:
    return value


class _Tried(NamedTuple):
    """The values of one field; where it is open what it is called, its pointer, and how its own value is read off."""

    values: tuple[Any, ...]
    name: str = ""
    pointer: str = ""
    part_of: Callable[[Any], Any] = _itself


def takes_long(question: FillQuestion) -> bool:
    """Whether a question is more than about five times the work of a box that is stated: it has jugs, or much is open.

    What a box of the shop would fill in counts as left out.
    """
    rings = question.rings
    left_out = sum(
        rings is None or any(getattr(ring, field) is None for ring in rings)
        if field in RING_PARTS
        else getattr(question, field) is None
        for field in AXIS_OF
    )
    return bool(question.on_hand) or question.use_shelf or left_out > MOST_LEFT_OUT


def axis_of(place: int, question: FillQuestion, base: KnowledgeBase) -> Axis:
    """The axis at a place of `FIELDS_OF_AXES`: every combination of its fields that can occur, with its weight.

    What the trade never meets is not tried, unless nothing else is left.
    """
    fields = FIELDS_OF_AXES[place]
    tried = [_tried(field, question, base) for field in fields]
    alternatives = []
    for values in product(*(item.values for item in tried)):
        at = dict(zip(fields, values, strict=True))
        if all(item.holds(question, base, *(at[field] for field in item.reads)) for item in POSSIBLE_ALONG[place]):
            alternatives.append(values)
    if len(alternatives) == 1:
        return Axis(fields, tuple(alternatives), np.ones(1), ())
    weights = np.array(weights_of(place, alternatives, question, base))
    met = [values for values, weight in zip(alternatives, weights, strict=True) if weight]
    alternatives, weights = (met, weights[weights > 0]) if met else (alternatives, np.ones(len(alternatives)))
    opened = tuple(
        found
        for index, (field, item) in enumerate(zip(fields, tried, strict=True))
        if item.name and (found := _open_field(field, item, [values[index] for values in alternatives]))
    )
    return Axis(fields, tuple(alternatives), weights / weights.sum(), opened)


def weights_of(
    place: int, alternatives: Sequence[tuple[Any, ...]], question: FillQuestion, base: KnowledgeBase
) -> list[Any]:
    """How often the trade meets each alternative of an axis, given what is stated of the box; in many draws, arrays."""
    stated = stated_of_kind(question, base)
    shares = kind_shares(question.box_kind, stated, base)
    fields = FIELDS_OF_AXES[place]
    facing = stated.get("facing")
    of_kind = {
        field: by_kind(field, shares, base)
        for index, field in enumerate(fields)
        if field in BY_KIND and (field not in stated or len({values[index] for values in alternatives}) > 1)
    }
    found = []
    for values in alternatives:
        at = {field: value[0] if field == "duty" else value for field, value in zip(fields, values, strict=True)}
        at["facing"] = at.get("facing") or facing or NO_RINGS
        at["box_kind"] = question.box_kind
        for field in RING_PARTS[1:]:
            if "facing" in of_kind and at[field] is None:
                at[field] = _stated_part(field, at["facing"], question)
        weight: Any = 1.0
        for field in fields:
            if field in of_kind:
                weight *= of_kind[field].get(at[field], 0.0)
            elif field == "yellow_metal":
                if not copper_rings(question, base, *values[:2]):
                    weight *= how_often_beside_rings(at[field], at["facing"], base)
            elif (
                field not in BY_KIND
                and at[field] is not None
                and not (field in RING_PARTS and at["facing"] == NO_RINGS)
            ):
                weight *= how_often(field, at[field], at, base)
        found.append(weight)
    return found


def _stated_part(field: str, facing: str, question: FillQuestion) -> Any:
    """What is stated of a part of the rings that are of a facing or of none that is stated; None where nothing is."""
    of_facing = (ring for ring in question.rings or () if ring.facing in (None, facing))
    return next((value for ring in of_facing if (value := getattr(ring, field)) is not None), None)


def _open_field(field: str, tried: _Tried, alternatives: list[Any]) -> OpenField | None:
    """The field with its different values, temperatures in rising order; None where only one can occur."""
    values = [tried.part_of(alternative) for alternative in alternatives]
    can_occur = set(values)
    different = [value for value in dict.fromkeys(map(tried.part_of, tried.values)) if value in can_occur]
    if len(different) < 2:
        return None
    if all(isinstance(value, float) for value in different):
        different.sort()
    place = {value: index for index, value in enumerate(different)}
    value_of = np.array([place[value] for value in values])
    return OpenField(tried.name, field, tried.pointer, tuple(different), value_of)


def pointer_of(name: str) -> str:
    """Where an unknown field stands in the question; of rings that lack it the first speaks for all."""
    if name in (*RING_PARTS, "replaced"):
        return f"/rings/0/{name}"
    return "/service_data/family" if name == "service_data" else f"/{name}"


def _tried(field: str, question: FillQuestion, base: KnowledgeBase) -> _Tried:
    if field == "duty":
        return _duties(question, base)
    if field == "facing" and question.rings is None:
        return _Tried(_of_table("rings", base), "rings", "/rings")
    if field in RING_PARTS and question.rings is not None:
        return _of_rings(field, question.rings, base)
    if field not in RING_PARTS and (value := getattr(question, field)) is not None:
        return _Tried((value,))
    return _Tried(_of_table(field, base), field, pointer_of(field))


def _of_table(field: str, base: KnowledgeBase) -> tuple[Any, ...]:
    return tuple(TRIED[field](row.value) for row in base.plausible_values if row.field == field)


def _of_rings(field: str, rings: tuple[Ring, ...], base: KnowledgeBase) -> _Tried:
    """Rings that lack the same field are taken to be alike in it."""
    for index, ring in enumerate(rings):
        if getattr(ring, field) is None and not (field == "body" and ring.facing and base.facings[ring.facing].body):
            return _Tried(_of_table(field, base), field, f"/rings/{index}/{field}")
    return _Tried((None,))


def _duties(question: FillQuestion, base: KnowledgeBase) -> _Tried:
    """Each duty with its sump temperature, or with the one that is stated."""
    duties = (question.duty,) if question.duty else _of_table("duty", base)
    pairs = tuple((duty, sump_of(duty, question, base)) for duty in duties)
    return _Tried(pairs, "duty", "/duty", lambda pair: pair[0])


def sump_of(duty: str, question: FillQuestion, base: KnowledgeBase) -> float:
    """The sump temperature that is stated, or else the one that goes with a duty [°C]."""
    return base.duties[duty].sump_hot_c if question.sump_hot_c is None else question.sump_hot_c
