"""What must hold within the published scales: their rows join, rise, and stand once."""

from collections.abc import Iterable, Iterator
from itertools import pairwise
from math import inf, isclose

from knowledge.errors import Fault
from knowledge.loading.cells import Placed, Tables
from knowledge.loading.keys import doubled
from knowledge.loading.scales import ReferenceOilRow
from knowledge.physics.viscosity_index import ReferenceViscosities, reference_viscosities
from knowledge.text import plain

# Where two fits of ASTM D2270 meet they differ by 0.2 % at most.
FITS_MEET_WITHIN = 0.003


def scale_contradictions(tables: Tables) -> Iterator[Fault]:
    """Every fault of grade tables, reference oils and copper strip ratings that no single row can show by itself."""
    yield from doubled(("edition", "grade"), tables["sae_j306"])
    yield from doubled(("for_grades", "grade"), tables["sae_j300"])
    yield from doubled(("grade",), tables["iso_3448"])
    yield from doubled(("rating",), tables["copper_strip"])
    for edition in dict.fromkeys(placed.row.edition for placed in tables["sae_j306"]):
        winter, hot = _by_season(item for item in tables["sae_j306"] if item.row.edition == edition)
        yield from _not_rising(winter, "cold_limit_c", "kv100_min_mm2_s")
        yield from _not_rising(hot)
        yield from _gaps("sae_j306.csv", hot)
    winter, hot = _by_season(tables["sae_j300"])
    yield from _not_rising(winter, "cranking_temperature_c", "pumping_temperature_c", "kv100_min_mm2_s")
    yield from _not_rising(hot, "kv100_min_mm2_s", "kv100_max_mm2_s", "high_shear_viscosity_min_mpa_s")
    for placed in (*tables["sae_j306"], *tables["sae_j300"]):
        yield from _impossible_grade(placed)
    yield from _overlapping_grades(tables["iso_3448"])
    yield from _gaps("astm_d2270.csv", tables["astm_d2270"])
    yield from _fits_that_do_not_meet(tables["astm_d2270"])
    yield from _strips_out_of_order(tables["copper_strip"])


def _by_season(items: Iterable[Placed]) -> tuple[tuple[Placed, ...], tuple[Placed, ...]]:
    """The W grades, and those that speak of the hot oil."""
    grades = tuple(items)
    return (
        tuple(placed for placed in grades if placed.row.grade.endswith("W")),
        tuple(placed for placed in grades if not placed.row.grade.endswith("W")),
    )


def _not_rising(items: tuple[Placed, ...], *columns: str) -> Iterator[Fault]:
    """Grades whose number, or whose figures, fall below those of the grade before."""
    for before, placed in pairwise(items):
        if int(placed.row.grade.rstrip("W")) < int(before.row.grade.rstrip("W")):
            yield placed.fault("grade", f"grade {placed.row.grade} stands after {before.row.grade}")
        for column in columns:
            lower, upper = getattr(before.row, column), getattr(placed.row, column)
            if lower is None or upper is None or upper < lower:
                yield placed.fault(column, f"{column} must be there, and not below that of {before.row.grade}")


def _gaps(file: str, items: tuple[Placed, ...]) -> Iterator[Fault]:
    """Windows of KV100 that do not begin where the one before ends; the last has no upper edge."""
    for before, placed in pairwise(items):
        if placed.row.kv100_min_mm2_s != before.row.kv100_max_mm2_s:
            ends = before.row.kv100_max_mm2_s
            yield placed.fault("kv100_min_mm2_s", f"a row is missing or wrong: the one before ends at {ends}")
    if not items or items[-1].row.kv100_max_mm2_s is not None:
        line = items[-1].line if items else 1
        yield Fault(file, line, 1, "the last row must have no upper edge")


def _impossible_grade(placed: Placed) -> Iterator[Fault]:
    row = placed.row
    if row.kv100_min_mm2_s >= (row.kv100_max_mm2_s or inf):
        yield placed.fault("kv100_max_mm2_s", "kv100_max_mm2_s must be above kv100_min_mm2_s")
    if row.grade.endswith("W") != (row.cold_limit_c is not None):
        yield placed.fault("grade", "a grade has a W and a cold limit, or neither")


def _overlapping_grades(items: tuple[Placed, ...]) -> Iterator[Fault]:
    for before, placed in pairwise(items):
        if placed.row.kv40_min_mm2_s <= before.row.kv40_max_mm2_s:
            yield placed.fault("midpoint_mm2_s", f"grade {placed.row.grade} reaches into the one before it")


def _fits_that_do_not_meet(items: tuple[Placed, ...]) -> Iterator[Fault]:
    for before, placed in pairwise(items):
        edge = placed.row.kv100_min_mm2_s
        ours, theirs = _at(edge, placed.row), _at(edge, before.row)
        for column, here, there in zip(("l_a", "h_a"), ours, theirs):
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


def _strips_out_of_order(items: tuple[Placed, ...]) -> Iterator[Fault]:
    if not any(placed.row.reassuring for placed in items):
        yield Fault("copper_strip.csv", 1, 1, "no rating is marked as reassuring")
    for before, placed in pairwise(items):
        if placed.row.rating < before.row.rating:
            yield placed.fault("rating", f"rating {placed.row.rating} is better than the one before it")
        if placed.row.reassuring and not before.row.reassuring:
            yield placed.fault("reassuring", "reassuring, though the better rating before it is not")
