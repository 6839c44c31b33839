"""What must hold of the published scales, and of the classes and families so that each can be judged."""

from collections.abc import Iterable, Iterator
from itertools import pairwise
from math import isclose

from knowledge.base import DEFAULT_J306_EDITION, oil_of_row
from knowledge.errors import Fault
from knowledge.loading.cells import Placed, Tables
from knowledge.loading.facing_rows import FacingFamilyRow, FacingRow
from knowledge.loading.fluid_rows import FamilyRow, LubricantRow
from knowledge.loading.scales import CopperStripRow, IsoRow, J300Row, J306Row, ReferenceOilRow
from knowledge.parts.ranges import COLDEST_START_C
from knowledge.physics.limits import OutOfRange
from knowledge.physics.viscosity_index import ReferenceViscosities, reference_viscosities
from knowledge.text import plain

# Where two fits of ASTM D2270 meet they differ by 0.2 % at most.
FITS_MEET_WITHIN = 0.003

GradeRow = J306Row | J300Row
PlacedGrade = Placed[J306Row] | Placed[J300Row]


def fluid_faults(tables: Tables) -> Iterator[Fault]:
    """Every fault of the scales, every class that cannot be, every family without one, every unsuitable usual class."""
    scale_faults = tuple(_scale_faults(tables))
    yield from scale_faults
    impossible = tuple(fault for placed in tables[LubricantRow] for fault in _impossible_band(placed, tables))
    yield from impossible
    of_families = {row.family for row in tables.rows(LubricantRow)}
    families = {row.id: row for row in tables.rows(FamilyRow)}
    for oil in tables[LubricantRow]:
        family = families.get(oil.row.family)
        if family and oil.row.scale not in (*family.scales, "none"):
            yield oil.fault("scale", f"scale: {family.id!r} has no grades of {oil.row.scale}")
    for placed in tables[FamilyRow]:
        other = families.get(placed.row.works_as or "")
        if other and (other is placed.row or other.works_as):
            yield placed.fault("works_as", f"works_as: {other.id!r} stands for itself, or is told to work as another")
        if placed.row.id not in of_families:
            yield placed.fault("id", f"no class in lubricants.csv is of the family {placed.row.id!r}")
    if not scale_faults and not impossible and of_families <= {row.id for row in tables.rows(FamilyRow)}:
        yield from _unsuitable_usual_classes(tables)
        yield from _incomputable_where_drawn(tables)


def _scale_faults(tables: Tables) -> Iterator[Fault]:
    for edition in dict.fromkeys(row.edition for row in tables.rows(J306Row)):
        winter, hot = _by_season(placed for placed in tables[J306Row] if placed.row.edition == edition)
        yield from _not_rising(winter, "cold_limit_c", "kv100_min_mm2_s")
        yield from _not_rising(hot)
        yield from _gaps("sae_j306.csv", hot)
    winter, hot = _by_season(tables[J300Row])
    yield from _not_rising(winter, "cranking_temperature_c", "pumping_temperature_c", "kv100_min_mm2_s")
    yield from _not_rising(hot, "kv100_min_mm2_s", "kv100_max_mm2_s", "high_shear_viscosity_min_mpa_s")
    grades: tuple[PlacedGrade, ...] = (*tables[J306Row], *tables[J300Row])
    for placed in grades:
        if placed.row.grade.endswith("W") != (placed.row.cold_limit_c is not None):
            yield placed.fault("grade", "a grade has a W and a cold limit, or neither")
    for before, iso in pairwise(tables[IsoRow]):
        if iso.row.kv40_min_mm2_s <= before.row.kv40_max_mm2_s:
            yield iso.fault("midpoint_mm2_s", f"grade {iso.row.grade} reaches into the one before it")
    yield from _gaps("astm_d2270.csv", tables[ReferenceOilRow])
    yield from _fits_that_do_not_meet(tables[ReferenceOilRow])
    yield from _strips_out_of_order(tables[CopperStripRow])


def _by_season(items: Iterable[PlacedGrade]) -> tuple[tuple[PlacedGrade, ...], tuple[PlacedGrade, ...]]:
    """The W grades, and those of the hot oil."""
    grades = tuple(items)
    return (
        tuple(placed for placed in grades if placed.row.grade.endswith("W")),
        tuple(placed for placed in grades if not placed.row.grade.endswith("W")),
    )


def _not_rising(items: tuple[PlacedGrade, ...], *columns: str) -> Iterator[Fault]:
    """Grades whose number, or whose figures, fall below those of the grade before."""
    for before, placed in pairwise(items):
        if int(placed.row.grade.rstrip("W")) < int(before.row.grade.rstrip("W")):
            yield placed.fault("grade", f"grade {placed.row.grade} stands after {before.row.grade}")
        for column in columns:
            lower, upper = getattr(before.row, column), getattr(placed.row, column)
            if lower is None or upper is None or upper < lower:
                yield placed.fault(column, f"{column} must be there, and not below that of {before.row.grade}")


def _gaps(file: str, items: tuple[PlacedGrade, ...] | tuple[Placed[ReferenceOilRow], ...]) -> Iterator[Fault]:
    """Windows of KV100 that do not begin where the one before ends; the last has no upper edge."""
    for before, placed in pairwise(items):
        if placed.row.kv100_min_mm2_s != before.row.kv100_max_mm2_s:
            ends = before.row.kv100_max_mm2_s
            yield placed.fault("kv100_min_mm2_s", f"a row is missing or wrong: the one before ends at {ends}")
    if not items or items[-1].row.kv100_max_mm2_s is not None:
        yield Fault(file, items[-1].line if items else 1, 1, "the last row must have no upper edge")


def _fits_that_do_not_meet(items: tuple[Placed[ReferenceOilRow], ...]) -> Iterator[Fault]:
    for before, placed in pairwise(items):
        edge = placed.row.kv100_min_mm2_s
        ours, theirs = _at(edge, placed.row), _at(edge, before.row)
        for column, here, there in zip(("l_a", "h_a"), ours, theirs, strict=True):
            if not isclose(here, there, rel_tol=FITS_MEET_WITHIN):
                message = f"{column[0].upper()} at {plain(edge)} mm²/s is {here:.5g}, by the row before {there:.5g}"
                yield placed.fault(column, message)
        if not ours.l_mm2_s > ours.h_mm2_s > edge:
            yield placed.fault("l_a", f"at {plain(edge)} mm²/s L must be above H, and H above that")


def _at(kv100_mm2_s: float, row: ReferenceOilRow) -> ReferenceViscosities:
    """L and H by one row, at either of its edges."""
    return reference_viscosities(
        kv100_mm2_s=kv100_mm2_s,
        reference_oils=[row.model_copy(update={"kv100_min_mm2_s": 0.0, "kv100_max_mm2_s": None})],
    )


def _strips_out_of_order(items: tuple[Placed[CopperStripRow], ...]) -> Iterator[Fault]:
    if not any(placed.row.reassuring for placed in items):
        yield Fault("copper_strip.csv", 1, 1, "no rating is marked as reassuring")
    for before, placed in pairwise(items):
        if placed.row.rating < before.row.rating:
            yield placed.fault("rating", f"rating {placed.row.rating} is better than the one before it")
        if placed.row.reassuring and not before.row.reassuring:
            yield placed.fault("reassuring", "reassuring, though the better rating before it is not")


def _impossible_band(placed: Placed[LubricantRow], tables: Tables) -> Iterator[Fault]:
    row = placed.row
    if row.scale == "none":
        for field in ("kv100_min_mm2_s", "kv100_max_mm2_s", "cold_limit_c"):
            if getattr(row, field) is None:
                yield placed.fault(field, f"{field} must be given: no grade scale fixes it")
        parts = []
    else:
        grades = _grades(row.scale, tables)
        unknown = [part for part in row.grade.split("-") if part not in grades]
        if unknown:
            yield placed.fault("grade", f"grade {unknown[0]!r} is not in {row.scale}: {', '.join(grades)}")
            return
        parts = [grades[part] for part in row.grade.split("-")]
        winter = [part for part in parts if part.cold_limit_c is not None]
        if len(winter) > 1 or len(parts) - len(winter) > 1:
            yield placed.fault("grade", "a grade has one W part at most and one other part at most")
            return
        if bool(winter) != (row.cold_limit_c is None):
            so = (
                "left blank: the W part of the grade fixes it" if winter else "given: the grade has no W part to fix it"
            )
            yield placed.fault("cold_limit_c", f"cold_limit_c must be {so}")
    yield from _impossible_window(placed, parts)


def _grades(scale: str, tables: Tables) -> dict[str, GradeRow]:
    if scale == "sae-j300":
        return {row.grade: row for row in tables.rows(J300Row)}
    return {row.grade: row for row in tables.rows(J306Row) if row.edition == DEFAULT_J306_EDITION}


def _impossible_window(placed: Placed[LubricantRow], parts: list[GradeRow]) -> Iterator[Fault]:
    row = placed.row
    least = max((part.kv100_min_mm2_s for part in parts), default=row.kv100_min_mm2_s)
    most = min((part.kv100_max_mm2_s for part in parts if part.kv100_max_mm2_s), default=None)
    low, high = row.kv100_min_mm2_s or least, row.kv100_max_mm2_s or most
    if high is None and row.scale != "none":
        yield placed.fault("kv100_max_mm2_s", "kv100_max_mm2_s must be given: the grade has no upper edge")
    elif low and high and low >= high:
        yield placed.fault("kv100_max_mm2_s", f"KV100 would run from {plain(low)} to {plain(high)}: it must rise")
    elif low and least and low < least:
        yield placed.fault("kv100_min_mm2_s", f"kv100_min_mm2_s lies below the {plain(least)} of the grade")
    elif high and most and high > most:
        yield placed.fault("kv100_max_mm2_s", f"kv100_max_mm2_s lies above the {plain(most)} of the grade")


def _unsuitable_usual_classes(tables: Tables) -> Iterator[Fault]:
    """The usual class of a facing has to suit it, and its cold shifts have to be computable at any start."""
    classes = {row.id: row for row in tables.rows(LubricantRow)}
    fitness = {(row.facing, row.family): row.fitness for row in tables.rows(FacingFamilyRow)}
    for placed in tables[FacingRow]:
        usual = classes.get(placed.row.usual_lubricant)
        if usual is None:
            continue
        if fitness.get((placed.row.id, usual.family), "first") != "first":
            yield placed.fault("usual_lubricant", f"{usual.id} is not of a family that is a first choice here")
        try:
            oil_of_row(usual, tables).middle_dynamic_viscosity_mpa_s(COLDEST_START_C)
        except OutOfRange as error:
            yield placed.fault("usual_lubricant", f"{usual.id} cannot be computed at the coldest start: {error}")


def _incomputable_where_drawn(tables: Tables) -> Iterator[Fault]:
    """The classes whose region could not be computed at both ends of what its viscosity index is drawn as."""
    for placed in tables[LubricantRow]:
        edges = ("viscosity_index_min", "viscosity_index_max")
        for ends in zip(*map(placed.row.drawn_from_to, edges), strict=True):
            try:
                oil_of_row(placed.row.model_copy(update=dict(zip(edges, ends, strict=True))), tables)
            except OutOfRange as error:
                yield placed.fault("viscosity_index_spread", f"viscosity_index_spread: {error}")
