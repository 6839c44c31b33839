"""What must hold so that every class can be judged: its grade is known, its band is possible, nothing it needs is missing."""

from collections.abc import Iterator, Mapping
from typing import TYPE_CHECKING, Any

from knowledge.base import DEFAULT_J306_EDITION
from knowledge.errors import Fault
from knowledge.questions import Bearing, Mesh, RingGeometry

if TYPE_CHECKING:
    from knowledge.placed_tables import Placed

Tables = Mapping[str, "tuple[Placed, ...]"]

NEEDED_DEFAULTS = {
    "bearing": tuple(Bearing.model_fields),
    "mesh": tuple(Mesh.model_fields),
    "ring_geometry": tuple(name for name in RingGeometry.model_fields if name != "half_angle_deg"),
    "steel": ("elastic_modulus_gpa", "poisson_ratio"),
}


def band_contradictions(tables: Tables) -> Iterator[Fault]:
    """Every class that cannot be, and every row that the rules would miss."""
    for placed in tables["lubricants"]:
        yield from _impossible_band(placed, tables)
    yield from _gaps_in_reference_oils(tables)
    yield from _missing_defaults(tables)
    if not any(placed.row.reassuring for placed in tables["copper_strip"]):
        yield Fault("copper_strip.csv", 1, 1, "no rating is marked as reassuring")


def _impossible_band(placed: "Placed", tables: Tables) -> Iterator[Fault]:
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
        if not winter and row.cold_limit_c is None:
            yield placed.fault("cold_limit_c", "cold_limit_c must be given: the grade has no W part that fixes it")
    yield from _impossible_window(placed, parts)


def _grades(scale: str, tables: Tables) -> dict[str, Any]:
    rows = [placed.row for placed in tables[scale.replace("-", "_")]]
    return {row.grade: row for row in rows if getattr(row, "edition", DEFAULT_J306_EDITION) == DEFAULT_J306_EDITION}


def _impossible_window(placed: "Placed", parts: list[Any]) -> Iterator[Fault]:
    row = placed.row
    least = max((part.kv100_min_mm2_s for part in parts), default=row.kv100_min_mm2_s)
    most = min((part.kv100_max_mm2_s for part in parts if part.kv100_max_mm2_s), default=None)
    low, high = row.kv100_min_mm2_s or least, row.kv100_max_mm2_s or most
    if high is None and row.scale != "none":
        yield placed.fault("kv100_max_mm2_s", "kv100_max_mm2_s must be given: the grade has no upper edge")
    elif low and high and low >= high:
        yield placed.fault("kv100_max_mm2_s", f"KV100 would run from {low:g} to {high:g}: it must rise")
    elif low and least and low < least:
        yield placed.fault("kv100_min_mm2_s", f"kv100_min_mm2_s lies below the {least:g} of the grade")
    elif high and most and high > most:
        yield placed.fault("kv100_max_mm2_s", f"kv100_max_mm2_s lies above the {most:g} of the grade")


def _gaps_in_reference_oils(tables: Tables) -> Iterator[Fault]:
    before = None
    for placed in tables["astm_d2270"]:
        if before is not None and placed.row.kv100_min_mm2_s != before:
            yield placed.fault("kv100_min_mm2_s", f"a row is missing: the one before ends at {before}")
        before = placed.row.kv100_max_mm2_s
    if before is not None or not tables["astm_d2270"]:
        yield Fault("astm_d2270.csv", 1, 1, "the last row must have no upper edge")


def _missing_defaults(tables: Tables) -> Iterator[Fault]:
    given = {(placed.row.part, placed.row.quantity) for placed in tables["defaults"]}
    for part, quantities in NEEDED_DEFAULTS.items():
        for quantity in quantities:
            if (part, quantity) not in given:
                yield Fault("defaults.csv", 1, 1, f"no row for {part} / {quantity}")
