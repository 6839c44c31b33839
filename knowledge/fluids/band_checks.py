"""What must hold so that every class can be judged: its grade is known, its band possible, no family without one."""

from collections.abc import Iterator
from typing import Any

from knowledge.base import DEFAULT_J306_EDITION, oil_of_row
from knowledge.errors import Fault
from knowledge.fluids.scale_checks import scale_contradictions
from knowledge.loading.cells import Placed, Tables
from knowledge.loading.keys import doubled
from knowledge.parts.ranges import COLDEST_START_C
from knowledge.physics.limits import OutOfRange
from knowledge.text import plain

BAND = ("family", "scale", "grade", "kv100_min_mm2_s", "kv100_max_mm2_s")


def band_contradictions(tables: Tables) -> Iterator[Fault]:
    """Every class that cannot be, and everything that the classes lack."""
    scale_faults = tuple(scale_contradictions(tables))
    yield from scale_faults
    impossible = tuple(fault for placed in tables["lubricants"] for fault in _impossible_band(placed, tables))
    yield from impossible
    yield from doubled(BAND, tables["lubricants"])
    of_families = {placed.row.family for placed in tables["lubricants"]}
    for placed in tables["families"]:
        if placed.row.id not in of_families:
            yield placed.fault("id", f"no class in lubricants.csv is of the family {placed.row.id!r}")
    if not scale_faults and not impossible and of_families <= {placed.row.id for placed in tables["families"]}:
        yield from _unsuitable_usual_classes(tables)


def _impossible_band(placed: Placed, tables: Tables) -> Iterator[Fault]:
    row = placed.row
    if row.viscosity_index_min >= row.viscosity_index_max:
        yield placed.fault("viscosity_index_max", "viscosity_index_max must be above viscosity_index_min")
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


def _grades(scale: str, tables: Tables) -> dict[str, Any]:
    rows = [placed.row for placed in tables[scale.replace("-", "_")]]
    return {row.grade: row for row in rows if getattr(row, "edition", DEFAULT_J306_EDITION) == DEFAULT_J306_EDITION}


def _impossible_window(placed: Placed, parts: list[Any]) -> Iterator[Fault]:
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
    rows = {name: tuple(placed.row for placed in items) for name, items in tables.items()}
    classes = {row.id: row for row in rows["lubricants"]}
    fitness = {(row.facing, row.family): row.fitness for row in rows["facing_families"]}
    for placed in tables["facings"]:
        usual = classes.get(placed.row.usual_lubricant)
        if usual is None:
            continue
        if fitness.get((placed.row.id, usual.family), "first") != "first":
            yield placed.fault("usual_lubricant", f"{usual.id} is not of a family that is a first choice here")
        try:
            oil_of_row(usual, rows).middle_dynamic_viscosity_mpa_s(COLDEST_START_C)
        except OutOfRange as error:
            yield placed.fault("usual_lubricant", f"{usual.id} cannot be computed at the coldest start: {error}")
