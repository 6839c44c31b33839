"""What is usually filled: the order of the lubricants by custom, for each kind of box that the table tells apart."""

from collections.abc import Sequence
from functools import lru_cache
from math import log
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from knowledge.base import KnowledgeBase
from knowledge.box.axes import COLD_START, DRIVE, DUTY, RINGS
from knowledge.box.cases import Cases
from knowledge.box.weights import most_delicate
from knowledge.loading.custom_rows import BoxKindRow, UsualFillRow
from knowledge.lubricant import Lubricant

# Families of which an oil of one grade does the same work in a box with rings.
TWINS = frozenset({"gl-4", "mtf"})

SOLD_FROM_COMMON = ("everyday", "to-order", "rare")

AXES_OF_CUSTOM = (RINGS, DRIVE, COLD_START, DUTY)

FACTS_OF_CUSTOM = ("facings", "final_drive", "coldest_start_c", "duty_and_sump")


def are_twins(first: Lubricant, second: Lubricant) -> bool:
    """Whether two lubricants of one grade do the same work."""
    families = {first.family.id, second.family.id}
    return first.grade == second.grade and (len(families) == 1 or families <= TWINS)


def usual_rows(cases: Cases, box_kind: str | None) -> NDArray[np.intp]:
    """The place of the row of custom for the values of each fact that it follows from, in a box of some kind."""
    base = cases.base
    kinds = _with_layout(box_kind, base)
    sets, drives, colds, duties = (cases.values(fact) for fact in FACTS_OF_CUSTOM)
    found = [
        [[[row_of(kinds, facing, drive, duty, cold, base) for duty, _ in duties] for cold in colds] for drive in drives]
        for facing in (most_delicate(one, base) for one in sets)
    ]
    return np.array(found)


def is_told_apart(box_kind: str | None, base: KnowledgeBase) -> bool:
    """Whether some row of custom speaks of a kind of box."""
    return not _with_layout(box_kind, base).isdisjoint(_kinds_of_rows(base))


@lru_cache(maxsize=4)
def _kinds_of_rows(base: KnowledgeBase) -> frozenset[str]:
    return frozenset(kind for row in base.rows(UsualFillRow) for kind in row.box_kinds)


def row_of_box(cases: Cases) -> int:
    """The place of the row of custom at the likeliest value of each fact that is open."""
    rows = usual_rows(cases, cases.question.box_kind)
    likeliest = []
    for axis, fact in zip(AXES_OF_CUSTOM, FACTS_OF_CUSTOM, strict=True):
        weights = np.bincount(cases.fact(fact).value_of, weights=cases.axes[axis].weights)
        likeliest.append(int(weights.argmax()))
    return int(rows[tuple(likeliest)])


def _with_layout(kind: str | None, base: KnowledgeBase) -> frozenset[str]:
    if kind is None:
        return frozenset()
    layout = base.by_id(BoxKindRow)[kind].layout
    return frozenset({kind, layout} if layout else {kind})


@lru_cache(maxsize=4096)
def row_of(
    kinds: frozenset[str], facing: str, final_drive: str, duty: str, coldest_start_c: float, base: KnowledgeBase
) -> int:
    """The place of the first row of custom that holds for a box; past the last one where none does."""
    rows = base.rows(UsualFillRow)
    held = (place for place, row in enumerate(rows) if row.holds(kinds, facing, final_drive, duty, coldest_start_c))
    return next(held, len(rows))


class CustomOrder(NamedTuple):
    """The place of each lubricant in the order of each row of custom, and of none; shape (rows + 1, lubricants).

    `colder` is the order where first shifts with the first choice are surely hard; `first` is its place among the
    lubricants, -1 where it is not there; `is_kin`: whether a lubricant is of its family or of a twin family.
    """

    usual: NDArray[np.int32]
    colder: NDArray[np.int32]
    first: NDArray[np.intp]
    is_kin: NDArray[np.bool_]


def custom_order(lubricants: Sequence[Lubricant], base: KnowledgeBase, region: str | None) -> CustomOrder:
    """The order of some lubricants by custom.

    First what the row names, in its order, a twin beside each. Then what is sold every day before what is to order and
    what is rare; of these the same family or its twin; and what is nearest in thickness to the first that is named.
    """
    named = [row.lubricants for row in base.rows(UsualFillRow)]
    colder = [(*filter(None, [row.colder]), *row.lubricants) for row in base.rows(UsualFillRow)]
    classes = {oil.id: oil for oil in base.lubricants}
    places = {(oil.family.id, oil.grade): at for at, oil in reversed(list(enumerate(lubricants)))}
    firsts = [places.get((classes[ids[0]].family.id, classes[ids[0]].grade), -1) for ids in named]
    return CustomOrder(
        _dense([_keys(ids, lubricants, base, region) for ids in (*named, ())]),
        _dense([_keys(ids, lubricants, base, region) for ids in (*colder, ())]),
        np.array([*firsts, -1]),
        np.array([[_is_kin(classes[ids[0]], oil) for oil in lubricants] for ids in named] + [[True] * len(lubricants)]),
    )


def _is_kin(first: Lubricant, oil: Lubricant) -> bool:
    families = {first.family.id, oil.family.id}
    return len(families) == 1 or families <= TWINS


def _dense(keys: Sequence[Sequence[tuple[float, ...]]]) -> NDArray[np.int32]:
    places = []
    for of_row in keys:
        dense = {key: place for place, key in enumerate(sorted(set(of_row)))}
        places.append([dense[key] for key in of_row])
    return np.array(places, np.int32)


def _keys(
    named: Sequence[str], lubricants: Sequence[Lubricant], base: KnowledgeBase, region: str | None
) -> list[tuple[float, ...]]:
    classes = {oil.id: oil for oil in base.lubricants}
    usual = [classes[id] for id in named]
    found: list[tuple[float, ...]] = []
    for place, oil in enumerate(lubricants):
        listed = next((at for at, one in enumerate(usual) if is_same_class(one, oil)), None)
        twin = next((at for at, one in enumerate(usual) if are_twins(one, oil)), None)
        sold = _sold(oil, base, region)
        if listed is not None:
            found.append((listed, 0.0, 0.0, 0.0))
        elif twin is not None:
            found.append((twin, 1.0, sold, 0.0))
        else:
            first = usual[0] if usual else None
            is_strange = first is not None and not _is_kin(first, oil)
            apart = abs(log(_middle_mm2_s(oil) / _middle_mm2_s(first))) if first else float(place)
            found.append((len(usual) + sold, float(is_strange), apart, float(place)))
    return found


def _sold(oil: Lubricant, base: KnowledgeBase, region: str | None) -> int:
    """How commonly an oil of this family and grade is sold, 0 for every day; what no class stands for is to order."""
    known = (base.sold(one.id, region) for one in base.lubricants if is_same_class(one, oil))
    return SOLD_FROM_COMMON.index(next(known, "to-order"))


def is_same_class(first: Lubricant, second: Lubricant) -> bool:
    """Whether two lubricants are of one family and grade."""
    return (first.family.id, first.grade) == (second.family.id, second.grade)


def _middle_mm2_s(oil: Lubricant) -> float:
    return (oil.kv100_min_mm2_s * oil.kv100_max_mm2_s) ** 0.5


@lru_cache(maxsize=8)
def custom_order_of_classes(base: KnowledgeBase, region: str | None) -> CustomOrder:
    """The order of every class; kept, since every answer needs it."""
    return custom_order(base.lubricants, base, region)
