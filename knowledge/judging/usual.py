"""What is usually filled: the order of the lubricants by custom, for each kind of box that the table tells apart."""

from collections.abc import Container, Sequence
from functools import lru_cache
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from knowledge.base import KnowledgeBase
from knowledge.box.axes import COLD_START, DRIVE, DUTY, RINGS
from knowledge.box.cases import Cases
from knowledge.box.weights import most_delicate
from knowledge.judging.columns import Floats
from knowledge.loading.custom_rows import BoxKindRow, UsualFillRow
from knowledge.lubricant import Lubricant

SOLD_FROM_COMMON = ("everyday", "to-order", "rare")

AXES_OF_CUSTOM = (RINGS, DRIVE, COLD_START, DUTY)

FACTS_OF_CUSTOM = ("facings", "final_drive", "coldest_start_c", "duty_and_sump")


def usual_rows(cases: Cases, box_kind: str | None) -> NDArray[np.intp]:
    """The place of the row of custom for the values of each fact that it follows from, in a box of some kind."""
    base = cases.base
    sets, drives, colds, duties = (cases.values(fact) for fact in FACTS_OF_CUSTOM)
    facings = tuple([most_delicate(one, base) for one in sets])
    kinds = _with_layout(box_kind, base)
    if cases.count == 1:
        return np.array(row_of(kinds, facings[0], drives[0], duties[0][0], colds[0], base)).reshape(1, 1, 1, 1)
    return _rows_of_each(kinds, facings, drives, tuple([duty for duty, _ in duties]), colds, base)


# Most boxes are open in the same values.
@lru_cache(maxsize=256)
def _rows_of_each(
    kinds: frozenset[str],
    facings: tuple[str, ...],
    drives: tuple[str, ...],
    duties: tuple[str, ...],
    colds_c: tuple[float, ...],
    base: KnowledgeBase,
) -> NDArray[np.intp]:
    found = [
        [[[row_of(kinds, facing, drive, duty, cold_c, base) for duty in duties] for cold_c in colds_c]
         for drive in drives]
        for facing in facings
    ]  # fmt: skip
    rows = np.array(found)
    rows.setflags(write=False)
    return rows


def is_told_apart(box_kind: str | None, base: KnowledgeBase) -> bool:
    """Whether some row of custom speaks of a kind of box."""
    return not _with_layout(box_kind, base).isdisjoint(_kinds_of_rows(base))


@lru_cache(maxsize=4)
def _kinds_of_rows(base: KnowledgeBase) -> frozenset[str]:
    return frozenset(kind for row in base.rows(UsualFillRow) for kind in row.box_kinds)


def row_of_box(cases: Cases) -> int:
    """The place of the row of custom at the likeliest value of each fact that is open."""
    rows = usual_rows(cases, cases.question.box_kind)
    if rows.size == 1:
        return int(rows.item())
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


def row_of(
    kinds: frozenset[str], facing: str, final_drive: str, duty: str, coldest_start_c: float, base: KnowledgeBase
) -> int:
    """The place of the first row of custom that holds for a box; past the last one where none does."""
    rows = base.rows(UsualFillRow)
    held = (place for place, row in enumerate(rows) if row.holds(kinds, facing, final_drive, duty, coldest_start_c))
    return next(held, len(rows))


class CustomOrder(NamedTuple):
    """The place of each lubricant in the order of each row of custom, and of none; shape (rows + 1, lubricants).

    Behind the usual ones stand those where first shifts with the first choice are surely hard. `first` is its place
    among the lubricants, -1 where it is not there; `gives_way`: whether that order is another; `is_kin`: whether a
    lubricant is of its family or of a twin family.
    """

    usual_and_colder: NDArray[np.int32]
    first: NDArray[np.intp]
    gives_way: NDArray[np.bool_]
    is_kin: NDArray[np.bool_]

    @property
    def usual(self) -> NDArray[np.int32]:
        """The order of each row."""
        return self.usual_and_colder[: len(self.first)]

    @property
    def colder(self) -> NDArray[np.int32]:
        """The order of each row where first shifts with its first choice are surely hard."""
        return self.usual_and_colder[len(self.first) :]


def custom_order(
    lubricants: Sequence[Lubricant], base: KnowledgeBase, region: str | None, rows: Container[int] | None = None
) -> CustomOrder:
    """The order of some lubricants by custom; all alike where a row is none of those that are asked for.

    First what the row names, in its order, a twin beside each. Then what is sold every day before what is to order and
    what is rare; of these the same family or its twin; and what is nearest in thickness to the first that is named.
    """
    table = base.rows(UsualFillRow)
    named = [*(row.lubricants for row in table), ()]
    colder = [*((*filter(None, [row.colder]), *row.lubricants) for row in table), ()]
    classes = {oil.id: oil for oil in base.lubricants}
    firsts = [classes[ids[0]] if ids else None for ids in named]
    kinds = list(dict.fromkeys((oil.family.id, oil.grade) for oil in lubricants))
    place = {kind: at for at, kind in enumerate(kinds)}
    kind_of = np.array([place[oil.family.id, oil.grade] for oil in lubricants], np.intp)
    at_first = dict(zip(kinds, np.unique(kind_of, return_index=True)[1].tolist(), strict=True))
    middles = np.array([_middle_mm2_s(oil) for oil in lubricants])

    found = {}

    def places(row: int, ids: tuple[str, ...]) -> NDArray[np.int32]:
        if rows is not None and row not in rows:
            return np.zeros(len(lubricants), np.int32)
        if ids not in found:
            keys = np.array([_key_of(kind, ids, base, region) for kind in kinds], float)[kind_of]
            found[ids] = _places(keys, middles, classes[ids[0]] if ids else None)
        return found[ids]

    usual, in_the_cold = (np.array([places(row, ids) for row, ids in enumerate(of)]) for of in (named, colder))
    return CustomOrder(
        np.concatenate((usual, in_the_cold)),
        np.array([at_first.get((one.family.id, one.grade), -1) if one else -1 for one in firsts]),
        (in_the_cold != usual).any(axis=1),
        np.array([[one is None or _is_kin(one.family.id, family, base) for family, _ in kinds] for one in firsts])[
            :, kind_of
        ],
    )


def work_of(family: str, base: KnowledgeBase) -> str:
    """The family that stands for all that do the same work as one in a box with rings."""
    return base.families[family].works_as or family


@lru_cache(maxsize=1_000)
def _is_kin(first: str, family: str, base: KnowledgeBase) -> bool:
    return work_of(first, base) == work_of(family, base)


@lru_cache(maxsize=4_000)
def _key_of(
    kind: tuple[str, str], ids: tuple[str, ...], base: KnowledgeBase, region: str | None
) -> tuple[int, int, int, bool]:
    """What orders an oil of a family and grade behind some usual ones, the last whether it is none of them.

    Kept, since the oils that jugs may hold are mostly of the families and grades of classes.
    """
    (family, grade), usual = kind, [one for id in ids for one in base.lubricants if one.id == id]
    alike = [(at, one.family.id) for at, one in enumerate(usual) if one.grade == grade]
    listed = next((at for at, id in alike if id == family), None)
    if listed is not None:
        return listed, 0, 0, False
    common = _sold(kind, base, region)
    twin = next((at for at, id in alike if _is_kin(id, family, base)), None)
    if twin is not None:
        return twin, 1, common, False
    is_strange = bool(usual) and not _is_kin(usual[0].family.id, family, base)
    return len(usual) + common, is_strange, 0, True


def _places(keys: Floats, middles_mm2_s: Floats, first: Lubricant | None) -> NDArray[np.int32]:
    """The place of each lubricant by its key, equal ones alike; of what is usual `first` is the first choice."""
    group, second, third, is_other = keys.T
    every = np.arange(float(len(keys)))
    apart = np.abs(np.log(middles_mm2_s / _middle_mm2_s(first))) if first else every
    columns = np.array((every * is_other, np.where(is_other, apart, third), second, group))
    order = np.lexsort(columns)
    is_next = np.any(np.diff(columns[:, order]) != 0, axis=0)
    found = np.empty(len(order), np.int32)
    found[order] = np.concatenate(([0], np.cumsum(is_next)))
    return found


def _sold(kind: tuple[str, str], base: KnowledgeBase, region: str | None) -> int:
    """How commonly an oil of a family and grade is sold, 0 for every day; what no class stands for is to order."""
    known = (base.sold(one.id, region) for one in base.lubricants if (one.family.id, one.grade) == kind)
    return SOLD_FROM_COMMON.index(next(known, "to-order"))


def is_twin(first: Lubricant, second: Lubricant, base: KnowledgeBase) -> bool:
    """Whether two lubricants are much the same oil under other names: they do the same work at one grade."""
    return first.grade == second.grade and _is_kin(first.family.id, second.family.id, base)


def is_same_class(first: Lubricant, second: Lubricant) -> bool:
    """Whether two lubricants are of one family and grade."""
    return (first.family.id, first.grade) == (second.family.id, second.grade)


def _middle_mm2_s(oil: Lubricant) -> float:
    return (oil.kv100_min_mm2_s * oil.kv100_max_mm2_s) ** 0.5


@lru_cache(maxsize=8)
def custom_order_of_classes(base: KnowledgeBase, region: str | None) -> CustomOrder:
    """The order of every class; kept, since every answer needs it."""
    return custom_order(base.lubricants, base, region)
