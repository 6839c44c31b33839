"""The classes whose bands lie nearest to the figures of a jug."""

from collections.abc import Iterator
from contextlib import suppress
from math import log

from knowledge.fluids.data_sheet import Sheet
from knowledge.fluids.grades import grades_in
from knowledge.jug.answer import NearestClass
from knowledge.lubricant import Lubricant
from knowledge.physics.limits import OutOfRange
from knowledge.text import Said, digits, plain

SHOWN = 3


def nearest_classes(sheet: Sheet) -> tuple[NearestClass, ...]:
    """The classes of the jug's family, of every family where the label names none, nearest first.

    Nearness is the sum of the logarithms by which its viscosities miss the band; then come a cold limit that is
    missed and the grade on the label. Without any figure only the grade counts.
    """
    has_figures = sheet.jug.kv40_mm2_s is not None or sheet.jug.kv100_mm2_s is not None
    label_grades = grades_in(sheet.grade_text, sheet.base)
    found = []
    for position, lubricant in enumerate(sheet.base.lubricants):
        has_grade = lubricant.grade in label_grades
        if (sheet.label_family is None or sheet.label_family.id == lubricant.family.id) and (has_figures or has_grade):
            misses, cold = tuple(_misses(lubricant, sheet)), tuple(_cold_misses(lubricant.cold_limit_c, sheet))
            key = (sum(log(ratio) for ratio, _ in misses), bool(cold), not has_grade, position)
            found.append((key, lubricant.lubricant_name, (*(words for _, words in misses), *cold)))
    found.sort(key=lambda one: one[0])
    return tuple(NearestClass(lubricant=name, inside=not off, off=off) for _, name, off in found[:SHOWN])


def _misses(lubricant: Lubricant, sheet: Sheet) -> Iterator[tuple[float, str]]:
    """How far each viscosity lies outside of the band, as a ratio above 1, and in words.

    KV40 is held against the band at that very KV100, where both are known: a viscosity index beside the usual shows so.
    It follows from the viscosity index usual in the trade, which bears two digits.
    """
    kv40s = [corner.kv40_mm2_s for corner in lubricant.corners]
    if sheet.kv100_mm2_s is not None and sheet.jug.kv40_mm2_s is not None:
        with suppress(OutOfRange):
            indices = (lubricant.viscosity_index_min, lubricant.viscosity_index_max)
            kv40s = [lubricant.kv40_mm2_s(kv100_mm2_s=sheet.kv100_mm2_s, viscosity_index=one) for one in indices]
    for name, value, low, high, most in (
        ("KV100", sheet.jug.kv100_mm2_s, *lubricant.kv100_band_mm2_s, 3),
        ("KV40", sheet.jug.kv40_mm2_s, min(kv40s), max(kv40s), 2),
    ):
        if value is not None and value < low:
            percent = 100 * (1 - value / low)
            text = f"{name} is {percent:.0f} % below the {digits(low, most)} mm²/s it begins at"
            yield (
                low / value,
                Said(text, "below-the-band", figure=name, percent=round(percent), limit_mm2_s=float(digits(low, most))),
            )
        elif value is not None and value > high:
            percent = 100 * (value / high - 1)
            text = f"{name} is {percent:.0f} % above the {digits(high, most)} mm²/s it ends at"
            yield (
                value / high,
                Said(
                    text, "above-the-band", figure=name, percent=round(percent), limit_mm2_s=float(digits(high, most))
                ),
            )


def _cold_misses(cold_limit_c: float | None, sheet: Sheet) -> Iterator[str]:
    if cold_limit_c is not None and sheet.cold.contradicts(cold_limit_c):
        text = f"its cold figures do not reach the {plain(cold_limit_c)} °C of this class"
        yield Said(text, "cold-figures-do-not-reach", cold_limit_c=cold_limit_c)
