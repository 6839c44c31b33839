"""Grades from measured figures: SAE J306 gear oils, SAE J300 engine oils, ISO 3448 industrial oils."""

from collections.abc import Sequence
from math import inf
from typing import NamedTuple, Protocol

from knowledge.physics.limits import check_positive, check_within
from knowledge.physics.viscosity import ZERO_CELSIUS_K


class GradeRow(Protocol):
    """One row of an SAE grade table; a row with a cold limit is a W row."""

    @property
    def grade(self) -> str: ...

    @property
    def kv100_min_mm2_s(self) -> float: ...

    @property
    def kv100_max_mm2_s(self) -> float | None: ...

    @property
    def cold_limit_c(self) -> float | None: ...


class IsoGradeRow(Protocol):
    """One row of the ISO 3448 table."""

    @property
    def grade(self) -> str: ...

    @property
    def kv40_min_mm2_s(self) -> float: ...

    @property
    def kv40_max_mm2_s(self) -> float: ...


class J306Grade(NamedTuple):
    """What a gear oil may be called: its W grade, its hot grade, and the two joined; None where it has none."""

    winter: str | None
    summer: str | None
    name: str | None


def j306_grade(
    *,
    kv100_mm2_s: float,
    rows: Sequence[GradeRow],
    kv100_sheared_mm2_s: float | None = None,
    t150_c: float | None = None,
) -> J306Grade:
    """SAE J306 grade of a gear oil in the edition whose rows are given.

    hot grade: the row without cold limit with  min <= KV100 < max
    W grade:   of the W rows with  T150 <= cold limit  and  KV100 >= min,  the coldest

    The fresh oil decides about the maximum; the minimum has to hold for fresh and sheared oil, so an oil that
    shears out of its window has no hot grade. Without a measured T150 there is no W grade: a temperature
    extrapolated from KV40 and KV100 must not be passed. Valid for positive KV100; else, raises OutOfRange.

    Args:
        kv100_mm2_s: of the fresh oil at 100 °C [mm²/s].
        rows: J306 table of one edition.
        kv100_sheared_mm2_s: after the 20 h taper-bearing shear of CEC L-45 [mm²/s]; None when not measured.
        t150_c: temperature at which ASTM D2983 measures 150 000 mPa·s [°C]; None when not measured.

    Sources: sae-j306-201902, sae-j306-200506; checked by golden cases sae-j306-2019--75w-90 and
        --sheared-out-of-80.
    """
    check_positive(quantity="KV100", value=kv100_mm2_s, unit="mm2/s")
    thinnest = kv100_mm2_s
    if kv100_sheared_mm2_s is not None:
        check_positive(quantity="sheared KV100", value=kv100_sheared_mm2_s, unit="mm2/s")
        thinnest = min(kv100_mm2_s, kv100_sheared_mm2_s)
    winter = None if t150_c is None else _winter_grade(t150_c, thinnest, rows)
    summer = next((row.grade for row in _hot_rows(kv100_mm2_s, rows) if thinnest >= row.kv100_min_mm2_s), None)
    name = "-".join(part for part in (winter, summer) if part) or None
    return J306Grade(winter=winter, summer=summer, name=name)


def _winter_grade(t150_c: float, thinnest_kv100_mm2_s: float, rows: Sequence[GradeRow]) -> str | None:
    check_within(quantity="T150", value=t150_c, low=-ZERO_CELSIUS_K, unit="°C", low_included=False)
    passed = [
        (row.cold_limit_c, row.grade)
        for row in rows
        if row.cold_limit_c is not None and t150_c <= row.cold_limit_c and thinnest_kv100_mm2_s >= row.kv100_min_mm2_s
    ]
    return min(passed)[1] if passed else None


def _hot_rows(kv100_mm2_s: float, rows: Sequence[GradeRow]) -> list[GradeRow]:
    """Rows without cold limit whose window holds kv100, lower edge in, upper edge out."""
    return [
        row
        for row in rows
        if row.cold_limit_c is None
        and row.kv100_min_mm2_s <= kv100_mm2_s < (inf if row.kv100_max_mm2_s is None else row.kv100_max_mm2_s)
    ]


def j300_grades(*, kv100_mm2_s: float, rows: Sequence[GradeRow]) -> tuple[str, ...]:
    """Every SAE J300 hot grade an engine oil of this KV100 may have.

    all rows without cold limit with  min <= KV100 < max

    The windows of 8 to 20 overlap and the high-temperature high-shear viscosity decides between them; from
    KV100 alone all are returned, in table order, each once. Empty when none fits. Valid for positive KV100;
    else, raises OutOfRange.

    Args:
        kv100_mm2_s: kinematic viscosity at 100 °C [mm²/s].
        rows: J300 table.

    Sources: sae-j300-202405; checked by golden case sae-j300-2021--overlap-at-7.
    """
    check_positive(quantity="KV100", value=kv100_mm2_s, unit="mm2/s")
    return tuple(dict.fromkeys(row.grade for row in _hot_rows(kv100_mm2_s, rows)))


def iso_viscosity_grade(*, kv40_mm2_s: float, rows: Sequence[IsoGradeRow]) -> str | None:
    """ISO 3448 viscosity grade of an oil, None between two grades.

    min <= KV40 <= max      (midpoint less and plus 10 %, both edges in)

    Valid for positive KV40; else, raises OutOfRange.

    Args:
        kv40_mm2_s: kinematic viscosity at 40 °C [mm²/s].
        rows: ISO 3448 table.

    Sources: iso-3448-1992; checked by golden case iso-3448-1992--upper-edge-of-32.
    """
    check_positive(quantity="KV40", value=kv40_mm2_s, unit="mm2/s")
    return next((row.grade for row in rows if row.kv40_min_mm2_s <= kv40_mm2_s <= row.kv40_max_mm2_s), None)
