"""The oils that a jug may hold: what its label leaves open, narrowed by what its data sheet measures."""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import Any

from knowledge.base import KnowledgeBase
from knowledge.fluids.data_sheet import Sheet
from knowledge.fluids.grades import GradeName, grade_name, plain_grade
from knowledge.lubricant import Corner, Lubricant, corners_of_band
from knowledge.parts.jug import CopperStrip
from knowledge.physics.limits import OutOfRange
from knowledge.physics.viscosity import viscosity_line
from knowledge.physics.viscosity_index import kv40_at_viscosity_index_mm2_s

HALVINGS = 40


def possible_oils(sheet: Sheet, base: KnowledgeBase) -> tuple[Lubricant, ...]:
    """Every oil the jug may hold; none where its figures are beyond what can be computed.

    A class that the figures leave as it is stands here itself, so that a jug of a class is judged as that class.
    """
    oils: dict[tuple[Any, ...], Lubricant] = {}
    for oil in _of_label(sheet, base):
        corners = _measured_corners(oil, sheet, base)
        for cold_limit in _cold_limits(oil, sheet, base) if corners else ():
            made = _made(oil, corners, cold_limit, sheet, base)
            key = (made.family.id, made.grade, made.corners, made.cold_limit_c, made.density15_kg_m3)
            oils.setdefault(key, made)
    return tuple(oils.values())


def _of_label(sheet: Sheet, base: KnowledgeBase) -> Iterator[Lubricant]:
    """The classes the label leaves open, of its family or else of every family."""
    for family in base.families.values():
        if sheet.label_family in (None, family):
            yield from _of_family([oil for oil in base.lubricants if oil.family is family], sheet, base)


def _of_family(oils: Sequence[Lubricant], sheet: Sheet, base: KnowledgeBase) -> Sequence[Lubricant]:
    """The classes of a family at the grade of the jug; where none has it, those near it, moved to that grade's band."""
    text = sheet.grade_text or _measured_grade(sheet)
    if text and (exact := [oil for oil in oils if plain_grade(oil.grade) == plain_grade(text)]):
        return exact
    if text and (grade := grade_name(text, base)):
        return [_at_grade(oil, text, grade) for oil in _near(oils, grade, base)]
    return [oil for oil in oils if _may_have_figures(oil, sheet)] or oils


def _measured_grade(sheet: Sheet) -> str | None:
    """The grade that the sheet proves, in the first edition, where it proves both of its parts."""
    for grade in sheet.sheet_grades.values():
        return grade.name if grade.winter and grade.summer else None
    return None


def _near(oils: Sequence[Lubricant], grade: GradeName, base: KnowledgeBase) -> Sequence[Lubricant]:
    """The classes whose viscosity index and density a grade borrows: of its W part, else of its band, else all."""
    names = [(oil, grade_name(oil.grade, base)) for oil in oils]
    if grade.winter is None:
        same = [oil for oil, name in names if name and name.summer is grade.summer]
    else:
        same = [oil for oil, name in names if name and name.winter is grade.winter]
    if same:
        return same
    low = max(row.kv100_min_mm2_s for row in (grade.winter, grade.summer) if row)
    high = (grade.summer and grade.summer.kv100_max_mm2_s) or float("inf")
    return [oil for oil in oils if oil.kv100_min_mm2_s < high and oil.kv100_max_mm2_s > low] or oils


def _at_grade(oil: Lubricant, text: str, grade: GradeName) -> Lubricant:
    """A class moved to the band and to the cold limit of a grade; what the grade does not fix stays the class's."""
    low = max(row.kv100_min_mm2_s for row in (grade.winter, grade.summer) if row)
    if grade.summer is None:
        low, high = max(low, oil.kv100_min_mm2_s), max(low, oil.kv100_max_mm2_s)
    else:
        high = max(low, grade.summer.kv100_max_mm2_s or low)
    cold_limit = grade.winter.cold_limit_c if grade.winter else None
    return replace(
        oil,
        name=f"{oil.family.label} {text}",
        grade=text,
        kv100_min_mm2_s=low,
        kv100_max_mm2_s=high,
        corners=(),
        cold_limit_c=cold_limit,
    )


def _may_have_figures(oil: Lubricant, sheet: Sheet) -> bool:
    kv40, kv100 = sheet.jug.kv40_mm2_s, sheet.jug.kv100_mm2_s
    if kv100 is not None:
        return oil.kv100_min_mm2_s <= kv100 < oil.kv100_max_mm2_s
    if kv40 is not None:
        thicknesses = [corner.kv40_mm2_s for corner in oil.corners]
        return min(thicknesses) <= kv40 <= max(thicknesses)
    return True


def _measured_corners(oil: Lubricant, sheet: Sheet, base: KnowledgeBase) -> tuple[Corner, ...]:
    """The region of the oil: a point where both viscosities are known, else what the viscosity index spans."""
    kv40, kv100 = sheet.jug.kv40_mm2_s, sheet.jug.kv100_mm2_s
    try:
        if kv40 is not None and kv100 is not None:
            return (Corner(kv40, kv100, viscosity_line(kv40_mm2_s=kv40, kv100_mm2_s=kv100)),)
        if kv40 is not None:
            pairs = [(kv40, _kv100_at(index, kv40, base)) for index in _indices(oil)]
        elif kv100 is not None:
            pairs = [(_kv40_at(index, kv100, base), kv100) for index in _indices(oil)]
        else:
            return oil.corners or corners_of_band(
                kv100_min_mm2_s=oil.kv100_min_mm2_s,
                kv100_max_mm2_s=oil.kv100_max_mm2_s,
                viscosity_index_min=oil.viscosity_index_min,
                viscosity_index_max=oil.viscosity_index_max,
                reference_oils=base.astm_d2270,
            )
        return tuple(Corner(*pair, viscosity_line(kv40_mm2_s=pair[0], kv100_mm2_s=pair[1])) for pair in pairs)
    except OutOfRange:
        return ()


def _indices(oil: Lubricant) -> tuple[float, float]:
    return oil.viscosity_index_min, oil.viscosity_index_max


def _kv40_at(viscosity_index: float, kv100_mm2_s: float, base: KnowledgeBase) -> float:
    return kv40_at_viscosity_index_mm2_s(
        viscosity_index=viscosity_index, kv100_mm2_s=kv100_mm2_s, reference_oils=base.astm_d2270
    )


def _kv100_at(viscosity_index: float, kv40_mm2_s: float, base: KnowledgeBase) -> float:
    """The KV100 of an oil of known KV40 and viscosity index, halved down to; it rises with KV40."""
    low, high = base.astm_d2270[0].kv100_min_mm2_s, kv40_mm2_s
    if high <= low or _kv40_at(viscosity_index, low, base) > kv40_mm2_s:
        raise OutOfRange(quantity="KV40", value=kv40_mm2_s, low=low, high=float("inf"), unit="mm2/s")
    for _ in range(HALVINGS):
        middle = (low + high) / 2
        if _is_below(viscosity_index, middle, kv40_mm2_s, base):
            low = middle
        else:
            high = middle
    return low


def _is_below(viscosity_index: float, kv100_mm2_s: float, kv40_mm2_s: float, base: KnowledgeBase) -> bool:
    try:
        return _kv40_at(viscosity_index, kv100_mm2_s, base) < kv40_mm2_s
    except OutOfRange:
        return False


def _cold_limits(oil: Lubricant, sheet: Sheet, base: KnowledgeBase) -> Iterator[float | None]:
    """The cold limits the oil may have: the measured one, else the claimed one while no measurement contradicts it.

    An oil that was only found too thick may have any limit from there up to the warmest in the tables; of one that is
    thicker than its label says, or whose cold figures contradict each other, nothing claimed counts.
    """
    cold, claimed = sheet.cold, sheet.claimed_cold_limit_c
    is_claim_worthless = sheet.is_thicker_than_labelled or cold.contradictions
    if is_claim_worthless:
        claimed = None
    if cold.limit_c is not None:
        yield cold.limit_c
    elif cold.flows_at_c is not None:
        yield min(cold.flows_at_c, claimed) if claimed is not None else cold.flows_at_c
    elif cold.too_thick_at_c is None:
        yield None if is_claim_worthless else oil.cold_limit_c
    elif claimed is not None and not cold.contradicts(claimed):
        yield claimed
    else:
        warmest = max(item.cold_limit_c for item in base.lubricants if item.cold_limit_c is not None)
        yield from {cold.too_thick_at_c, max(cold.too_thick_at_c, warmest)}


def _made(
    oil: Lubricant, corners: tuple[Corner, ...], cold_limit_c: float | None, sheet: Sheet, base: KnowledgeBase
) -> Lubricant:
    limited_slip = oil.limited_slip if sheet.jug.limited_slip is None else sheet.jug.limited_slip
    density = sheet.density15_kg_m3 or oil.density15_kg_m3
    strip = _copper_strip(oil, sheet, base)
    kv100s = [corner.kv100_mm2_s for corner in corners]
    made = replace(
        oil,
        corners=corners,
        kv100_min_mm2_s=min(kv100s),
        kv100_max_mm2_s=max(kv100s),
        cold_limit_c=cold_limit_c,
        density15_kg_m3=density,
        copper_strip=strip,
        limited_slip=limited_slip,
        measured_copper_strip=sheet.jug.copper_strip,
    )
    made = replace(made, once_sheared=_once_sheared(made, sheet))
    same = all(getattr(made, name) == getattr(oil, name) for name in Lubricant.__dataclass_fields__)
    return oil if same else made


def _once_sheared(oil: Lubricant, sheet: Sheet) -> Lubricant | None:
    """The jug after the shear test, thinned at every temperature in the proportion that was measured at 100 °C."""
    fresh, sheared = sheet.kv100_mm2_s, sheet.kv100_sheared_mm2_s
    if fresh is None or sheared is None or sheared >= fresh:
        return None
    share = sheared / fresh
    pairs = [(corner.kv40_mm2_s * share, corner.kv100_mm2_s * share) for corner in oil.corners]
    try:
        corners = tuple(Corner(*pair, viscosity_line(kv40_mm2_s=pair[0], kv100_mm2_s=pair[1])) for pair in pairs)
    except OutOfRange:
        return None
    return replace(oil, corners=corners, kv100_min_mm2_s=sheared, kv100_max_mm2_s=sheared)


def _copper_strip(oil: Lubricant, sheet: Sheet, base: KnowledgeBase) -> CopperStrip | None:
    """The jug's own strip; one without heat and hours proves nothing good, and still what is bad."""
    strip = sheet.jug.copper_strip
    if strip is None:
        return oil.copper_strip
    is_bad = base.copper_rank(strip.rating) > base.copper_rank(base.copper_strip_wanted)
    return strip if sheet.copper_strip_proves or is_bad else oil.copper_strip
