"""The lubricants that a jug may hold: what its label leaves open, narrowed by what its data sheet measures."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from functools import lru_cache
from math import inf, isinf, log
from typing import Any

from knowledge.base import KnowledgeBase
from knowledge.fluids.data_sheet import Sheet
from knowledge.fluids.grades import GradeName, grade_name, grades_in
from knowledge.loading.fluid_rows import FamilyRow
from knowledge.lubricant import Corner, Lubricant, w_limit
from knowledge.parts.jug import CopperStrip, Jug
from knowledge.physics.limits import OutOfRange
from knowledge.physics.viscosity import viscosity_line

MOST_STEPS, NEAR_ENOUGH = 60, 1e-10


def possible_lubricants(sheet: Sheet, open_classes: Sequence[Lubricant] | None = None) -> tuple[Lubricant, ...]:
    """Every lubricant the jug may hold; none where its figures are beyond what can be computed.

    A class that the figures leave as it is stands here itself, so that a jug of a class is judged as that class.
    What the label leaves open may be known already.
    """
    found: dict[tuple[Any, ...], Lubricant] = {}
    for lubricant in open_to(sheet) if open_classes is None else open_classes:
        corners = _measured_corners(lubricant, sheet)
        for cold_limit_c in _cold_limits_c(lubricant, sheet) if corners else ():
            one = _as_measured(lubricant, corners, cold_limit_c, sheet)
            key = (one.family.id, one.grade, one.corners, one.cold_limit_c, one.density15_kg_m3)
            found.setdefault(key, one)
    return tuple(found.values())


def classes_at_hand(jugs: Iterable[Jug], base: KnowledgeBase) -> frozenset[str]:
    """The ids of the classes that jugs are, where label and data sheet leave no other open."""
    may_be = ({one.id for one in possible_lubricants(Sheet(jug, base))} for jug in jugs)
    return frozenset(id for ids in may_be if len(ids) == 1 for id in ids)


def open_to(sheet: Sheet) -> tuple[Lubricant, ...]:
    """The classes the label leaves open, of its family or else of every family."""
    label_family, of_families = sheet.label_family, _classes_of_families(sheet.base)
    text = sheet.grade_text or _measured_grade(sheet)
    if label_family is None:
        return tuple([one for classes in of_families.values() for one in _of_family(classes, text, sheet)])
    classes = of_families[label_family.id]
    if label_family is not sheet.base.families[label_family.id]:
        classes = [_claiming_more(one, label_family) for one in classes]
    return tuple(_of_family(classes, text, sheet))


@lru_cache(maxsize=2)
def _classes_of_families(base: KnowledgeBase) -> Mapping[str, Sequence[Lubricant]]:
    return {id: [one for one in base.lubricants if one.family is family] for id, family in base.families.items()}


def _claiming_more(lubricant: Lubricant, family: FamilyRow) -> Lubricant:
    """A class whose label claims a second category."""
    strip = CopperStrip(rating=family.copper_strip_limit or "", temperature_c=family.copper_strip_temperature_c)
    return replace(lubricant, family=family, copper_strip=strip)


def _of_family(classes: Sequence[Lubricant], text: str | None, sheet: Sheet) -> Sequence[Lubricant]:
    """The classes of a family at the grade of the jug; where none has it, those near it, moved to that grade's band."""
    grades = grades_in(text, sheet.base) if text else ()
    if exact := [one for one in classes if one.grade in grades]:
        return exact
    if text and (moved := _moved(tuple(classes), text, sheet.base)):
        return moved
    return [one for one in classes if _may_have_figures(one, sheet)] or classes


def _measured_grade(sheet: Sheet) -> str | None:
    """The grade that the sheet proves, in the first edition, where it proves both of its parts."""
    grade = next(iter(sheet.sheet_grades.values()), None)
    return grade.name if grade and grade.winter and grade.summer else None


def _near(classes: Sequence[Lubricant], grade: GradeName, base: KnowledgeBase) -> Sequence[Lubricant]:
    """The classes whose viscosity index and density a grade borrows: of its W part, else of its band, else all."""
    part = "summer" if grade.winter is None else "winter"
    names = ((one, grade_name(one.grade, base)) for one in classes)
    if same := [one for one, name in names if name and getattr(name, part) is getattr(grade, part)]:
        return same
    low = grade.kv100_min_mm2_s
    high = (grade.summer and grade.summer.kv100_max_mm2_s) or float("inf")
    return [one for one in classes if one.kv100_min_mm2_s < high and one.kv100_max_mm2_s > low] or classes


@lru_cache(maxsize=1_000)
def _moved(classes: tuple[Lubricant, ...], text: str, base: KnowledgeBase) -> Sequence[Lubricant]:
    """The classes near a grade as oils of it; none where a text names no grade. Kept: the grades of jugs are few."""
    grade = grade_name(text, base)
    return [_at_grade(one, text, grade, base) for one in _near(classes, grade, base)] if grade else ()


def _at_grade(lubricant: Lubricant, text: str, grade: GradeName, base: KnowledgeBase) -> Lubricant:
    """A class moved to the band and to the cold limit of a grade; what the grade does not fix stays the class's."""
    low = grade.kv100_min_mm2_s
    if grade.summer is None:
        low, high = max(low, lubricant.kv100_min_mm2_s), max(low, lubricant.kv100_max_mm2_s)
    else:
        high = max(low, grade.summer.kv100_max_mm2_s or low)
    return replace(
        lubricant,
        name=f"{lubricant.family.label} {text}",
        grade=text,
        kv100_min_mm2_s=low,
        kv100_max_mm2_s=high,
        corners=(),
        cold_limit_c=grade.winter.cold_limit_c if grade.winter else None,
        w_limit=w_limit(grade.winter, base.limit("flow-limit-mpa-s")),
    )


def _may_have_figures(lubricant: Lubricant, sheet: Sheet) -> bool:
    kv40, kv100 = sheet.jug.kv40_mm2_s, sheet.jug.kv100_mm2_s
    if kv100 is not None:
        return lubricant.kv100_min_mm2_s <= kv100 < lubricant.kv100_max_mm2_s
    if kv40 is not None:
        kv40s = [corner.kv40_mm2_s for corner in lubricant.corners]
        return min(kv40s) <= kv40 <= max(kv40s)
    return True


def _measured_corners(lubricant: Lubricant, sheet: Sheet) -> tuple[Corner, ...]:
    """The region of the lubricant: a point where both viscosities are known, else what the viscosity index spans."""
    kv40, kv100 = sheet.jug.kv40_mm2_s, sheet.jug.kv100_mm2_s
    indices = (lubricant.viscosity_index_min, lubricant.viscosity_index_max)
    try:
        if kv40 is not None and kv100 is not None:
            return _corners([(kv40, kv100)])
        if kv40 is not None:
            return _corners((kv40, _kv100_at(index, kv40, lubricant)) for index in indices)
        if kv100 is not None:
            return tuple(lubricant.corner(kv100_mm2_s=kv100, viscosity_index=index) for index in indices)
        return lubricant.corners or _corners_of_band(lubricant)
    except OutOfRange:
        return ()


@lru_cache(maxsize=1_000)
def _corners_of_band(lubricant: Lubricant) -> tuple[Corner, ...]:
    """Those of an oil that is kept; raises OutOfRange."""
    return lubricant.corners_of_band()


def _corners(pairs: Iterable[tuple[float, float]]) -> tuple[Corner, ...]:
    """Corners by their KV40 and KV100; raises OutOfRange."""
    return tuple(Corner(kv40, kv100, viscosity_line(kv40_mm2_s=kv40, kv100_mm2_s=kv100)) for kv40, kv100 in pairs)


def _kv100_at(viscosity_index: float, kv40_mm2_s: float, lubricant: Lubricant) -> float:
    """The KV100 of an oil of known KV40 and viscosity index: it rises with KV40, nearly as a power of it.

    By false position on the logarithms, where an end that stays is taken at half its distance (the Illinois rule).
    """

    def beyond(kv100_mm2_s: float) -> float:
        try:
            return log(lubricant.kv40_mm2_s(kv100_mm2_s=kv100_mm2_s, viscosity_index=viscosity_index) / kv40_mm2_s)
        except OutOfRange:
            return inf

    low, high = lubricant.reference_oils[0].kv100_min_mm2_s, kv40_mm2_s
    low_at, high_at, moved = beyond(low), inf, 0
    if high <= low or low_at > 0:
        raise OutOfRange(quantity="KV40", value=kv40_mm2_s, low=low, high=inf, unit="mm2/s")
    for _ in range(MOST_STEPS):
        if high - low <= NEAR_ENOUGH * high or low_at == 0:
            break
        share = 0.5 if isinf(high_at) else low_at / (low_at - high_at)
        middle = low * (high / low) ** share
        if (at := beyond(middle)) <= 0:
            low, low_at, high_at, moved = middle, at, high_at / (2 if moved < 0 else 1), -1
        else:
            high, high_at, low_at, moved = middle, at, low_at / (2 if moved > 0 else 1), 1
    return low


def _cold_limits_c(lubricant: Lubricant, sheet: Sheet) -> Iterator[float | None]:
    """The cold limits it may have: the measured one, else the claimed one while no measurement contradicts it.

    What was only found too thick may have any limit from there up to the warmest in the tables; of what is thicker
    than its label says, or has cold figures that contradict each other, nothing claimed counts.
    """
    cold = sheet.cold
    is_claim_worthless = sheet.is_thicker_than_labelled or cold.contradictions
    claimed_c = None if is_claim_worthless else sheet.claimed_cold_limit_c
    if cold.limit_c is not None:
        yield cold.limit_c
    elif cold.flows_at_c is not None:
        yield cold.flows_at_c if claimed_c is None else min(cold.flows_at_c, claimed_c)
    elif cold.too_thick_at_c is None:
        yield None if is_claim_worthless else lubricant.cold_limit_c
    elif claimed_c is not None and not cold.contradicts(claimed_c):
        yield claimed_c
    else:
        warmest_c = max(one.cold_limit_c for one in sheet.base.lubricants if one.cold_limit_c is not None)
        yield from {cold.too_thick_at_c, max(cold.too_thick_at_c, warmest_c)}


def _as_measured(
    lubricant: Lubricant, corners: tuple[Corner, ...], cold_limit_c: float | None, sheet: Sheet
) -> Lubricant:
    """A lubricant with what the label leaves open and the sheet measures; itself where that is the same."""
    kv100s = [corner.kv100_mm2_s for corner in corners]
    limited_slip = sheet.jug.limited_slip
    measured: dict[str, Any] = {
        "corners": corners,
        "kv100_min_mm2_s": min(kv100s),
        "kv100_max_mm2_s": max(kv100s),
        "cold_limit_c": cold_limit_c,
        "density15_kg_m3": sheet.density15_kg_m3 or lubricant.density15_kg_m3,
        "copper_strip": _copper_strip(lubricant, sheet),
        "limited_slip": lubricant.limited_slip if limited_slip is None else limited_slip,
        "measured_copper_strip": sheet.jug.copper_strip,
    }
    is_as_it_was = all(getattr(lubricant, name) == value for name, value in measured.items())
    found = lubricant if is_as_it_was else replace(lubricant, **measured)
    once_sheared = _once_sheared(found, sheet)
    return replace(found, once_sheared=once_sheared) if once_sheared else found


def _once_sheared(lubricant: Lubricant, sheet: Sheet) -> Lubricant | None:
    """The jug after the shear test, thinned at every temperature in the proportion that was measured at 100 °C."""
    fresh, sheared = sheet.kv100_mm2_s, sheet.kv100_sheared_mm2_s
    if fresh is None or sheared is None or sheared >= fresh:
        return None
    share = sheared / fresh
    try:
        corners = _corners((corner.kv40_mm2_s * share, corner.kv100_mm2_s * share) for corner in lubricant.corners)
    except OutOfRange:
        return None
    return replace(lubricant, corners=corners, kv100_min_mm2_s=sheared, kv100_max_mm2_s=sheared)


def _copper_strip(lubricant: Lubricant, sheet: Sheet) -> CopperStrip | None:
    """The jug's own strip; one without heat and hours proves nothing good, and still what is bad."""
    strip = sheet.jug.copper_strip
    return lubricant.copper_strip if strip is None or sheet.copper_strip_is_open else strip
