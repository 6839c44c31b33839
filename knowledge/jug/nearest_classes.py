"""The classes whose bands lie nearest to the figures of a jug."""

from collections.abc import Iterator
from math import log
from typing import NamedTuple

from knowledge.base import KnowledgeBase
from knowledge.fluids.data_sheet import Sheet
from knowledge.fluids.grades import plain_grade
from knowledge.jug.answer import NearestClass
from knowledge.lubricant import Lubricant
from knowledge.text import digits, plain

SHOWN = 5


class _Miss(NamedTuple):
    """How far a figure lies outside of a band, as a ratio above 1, and in words."""

    ratio: float
    words: str


def nearest_classes(sheet: Sheet, base: KnowledgeBase) -> tuple[NearestClass, ...]:
    """The classes of the jug's family, of every family where the label names none, nearest first.

    Nearness is the sum of the logarithms by which its viscosities miss the band; then come a cold limit that is
    missed and the grade on the label. Without any figure only the grade counts.
    """
    jug = sheet.jug
    has_figures = jug.kv40_mm2_s is not None or jug.kv100_mm2_s is not None
    if not has_figures and sheet.grade_text is None:
        return ()
    found = []
    for position, oil in enumerate(base.lubricants):
        if sheet.label_family is not None and oil.family is not sheet.label_family:
            continue
        has_grade = plain_grade(sheet.grade_text or "") == plain_grade(oil.grade)
        if not has_figures and not has_grade:
            continue
        misses = tuple(_misses(oil, sheet))
        off = sum(log(miss.ratio) for miss in misses)
        cold = tuple(_cold_misses(oil, sheet))
        found.append(((off, bool(cold), not has_grade, position), oil, (*(miss.words for miss in misses), *cold)))
    return tuple(
        NearestClass(
            lubricant=oil.lubricant_name,
            inside=not off,
            off=off,
        )
        for _, oil, off in sorted(found, key=lambda item: item[0])[:SHOWN]
    )


def _misses(oil: Lubricant, sheet: Sheet) -> Iterator[_Miss]:
    jug = sheet.jug
    if jug.kv100_mm2_s is not None:
        yield from _outside("KV100", jug.kv100_mm2_s, oil.kv100_min_mm2_s, oil.kv100_max_mm2_s)
    if jug.kv40_mm2_s is not None:
        kv40s = [corner.kv40_mm2_s for corner in oil.corners]
        yield from _outside("KV40", jug.kv40_mm2_s, min(kv40s), max(kv40s))


def _outside(name: str, value: float, low: float, high: float) -> Iterator[_Miss]:
    if value < low:
        below = f"{100 * (1 - value / low):.0f} % below"
        yield _Miss(low / value, f"{name} is {below} the {digits(low)} mm²/s it begins at")
    elif value > high:
        above = f"{100 * (value / high - 1):.0f} % above"
        yield _Miss(value / high, f"{name} is {above} the {digits(high)} mm²/s it ends at")


def _cold_misses(oil: Lubricant, sheet: Sheet) -> Iterator[str]:
    if sheet.cold.contradicts(oil.cold_limit_c):
        yield f"its cold figures do not reach the {plain(oil.cold_limit_c)} °C of this class"
