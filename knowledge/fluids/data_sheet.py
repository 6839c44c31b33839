"""The label and the data sheet of one jug, read together."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from itertools import pairwise
from math import log
from typing import NamedTuple

from knowledge.base import DEFAULT_J306_EDITION, KnowledgeBase
from knowledge.fluids.grades import GradeName, grade_name, plain_grade
from knowledge.loading.scales import J306Row
from knowledge.loading.schema import FamilyRow
from knowledge.parts.jug import ColdViscosity, Jug
from knowledge.physics.density import HEAVIEST_KG_M3, LIGHTEST_KG_M3
from knowledge.physics.grades import J306Grade, j306_grade
from knowledge.physics.limits import OutOfRange
from knowledge.physics.viscosity import ViscosityLine, viscosity_line
from knowledge.physics.viscosity_index import viscosity_index
from knowledge.text import plain


class ColdFigures(NamedTuple):
    """What was measured of the flow in the cold.

    `limit_c` is where the oil reaches the viscosity that W grades allow, by a stated figure or between two
    measured points; `flows_at_c` the coldest measured temperature at which it is thin enough, `too_thick_at_c`
    the warmest at which it is not.
    """

    limit_c: float | None
    is_interpolated: bool
    flows_at_c: float | None
    too_thick_at_c: float | None
    contradictions: tuple[str, ...]

    @property
    def is_measured(self) -> bool:
        """Whether anything was measured at all."""
        return self != NOTHING_MEASURED

    @property
    def proven_c(self) -> float | None:
        """The coldest temperature at which figures show that it flows; figures that contradict each other show none."""
        if self.contradictions:
            return None
        return self.limit_c if self.flows_at_c is None else self.flows_at_c

    def contradicts(self, claimed_c: float) -> bool:
        """Whether it was found too thick where a W grade promises that it flows."""
        if self.limit_c is not None:
            return self.limit_c > claimed_c
        return self.too_thick_at_c is not None and self.too_thick_at_c >= claimed_c


NOTHING_MEASURED = ColdFigures(None, False, None, None, ())


@dataclass(frozen=True, slots=True)
class Sheet:
    """A jug with all that follows from its own figures; the rules about labels read it by these names."""

    jug: Jug
    label_family: FamilyRow | None
    grade_text: str | None
    grade: GradeName | None
    is_class_grade: bool
    kv100_mm2_s: float | None
    kv100_sheared_mm2_s: float | None
    sheet_grades: Mapping[str, J306Grade]
    cold: ColdFigures
    fresh_grades: Mapping[str, str | None]
    fresh_row: J306Row | None
    line: ViscosityLine | None
    viscosity_index: float | None
    density15_kg_m3: float | None
    copper_strip_proves: bool

    @classmethod
    def of(cls, jug: Jug, base: KnowledgeBase) -> "Sheet":
        """A jug, read; its ids must be known."""
        text = jug.label.grade if jug.label else None
        cold = cold_figures(jug, base)
        fresh = _sheet_grades(jug.model_copy(update={"kv100_sheared_mm2_s": None}), None, base)
        strip = jug.copper_strip
        return cls(
            jug=jug,
            label_family=base.families[jug.label.family] if jug.label and jug.label.family else None,
            grade_text=text,
            grade=grade_name(text, base),
            is_class_grade=plain_grade(text or "") in {plain_grade(row.grade) for row in base.lubricant_rows.values()},
            kv100_mm2_s=jug.kv100_mm2_s,
            kv100_sheared_mm2_s=jug.kv100_sheared_mm2_s,
            sheet_grades=_sheet_grades(jug, cold.proven_c, base),
            cold=cold,
            fresh_grades={edition: grade.summer for edition, grade in fresh.items()},
            fresh_row=_hot_row(fresh, base),
            line=_line(jug),
            viscosity_index=_viscosity_index(jug, base),
            density15_kg_m3=_density(jug),
            copper_strip_proves=strip is not None
            and (strip.temperature_c or 0) >= base.limit("copper-strip-temperature-from")
            and (strip.hours or 0) >= base.limit("copper-strip-hours-from"),
        )

    @property
    def claimed_cold_limit_c(self) -> float | None:
        """The temperature down to which the W part of the label promises that it flows."""
        return self.grade.winter.cold_limit_c if self.grade and self.grade.winter else None

    @property
    def is_thicker_than_labelled(self) -> bool:
        """Whether KV100 lies above the band of the grade on the label."""
        most = self.grade.summer.kv100_max_mm2_s if self.grade and self.grade.summer else None
        return most is not None and self.kv100_mm2_s is not None and self.kv100_mm2_s >= most


POINTERS = {
    "label_family": ("/label/family",),
    "grade_text": ("/label/grade",),
    "grade": ("/label/grade",),
    "is_class_grade": (),
    "kv100_mm2_s": ("/kv100_mm2_s",),
    "kv100_sheared_mm2_s": ("/kv100_sheared_mm2_s",),
    "sheet_grades": ("/kv100_mm2_s",),
    "cold": ("/t150_c", "/brookfield"),
    "fresh_grades": ("/kv100_mm2_s",),
    "fresh_row": ("/kv100_mm2_s",),
    "line": ("/kv40_mm2_s", "/kv100_mm2_s"),
    "viscosity_index": ("/kv40_mm2_s", "/kv100_mm2_s"),
    "density15_kg_m3": ("/density15_kg_m3",),
    "copper_strip_proves": ("/copper_strip",),
    "jug": (),
}


def cold_figures(jug: Jug, base: KnowledgeBase) -> ColdFigures:
    """The cold side of a data sheet; a stated limit wins over points, and between two points it is interpolated.

    Of figures that contradict each other the worst counts.
    """
    most = base.limit("flow-limit-mpa-s")
    too_thick = max((point.temperature_c for point in jug.brookfield if point.viscosity_mpa_s > most), default=None)
    thin = [
        point
        for point in jug.brookfield
        if point.viscosity_mpa_s <= most and (too_thick is None or point.temperature_c > too_thick)
    ]
    flows_at = min((point.temperature_c for point in thin), default=None)
    limit, is_interpolated = jug.t150_c, False
    if contradictions := tuple(_contradictions(jug, most)):
        if limit is None or (too_thick is not None and too_thick >= limit):
            return ColdFigures(None, False, None, too_thick, contradictions)
        return ColdFigures(limit, False, None, None, contradictions)
    if limit is None and flows_at is not None and too_thick is not None:
        limit, is_interpolated = _between(flows_at, too_thick, jug, most), True
    if jug.t150_c is not None:
        flows_at = too_thick = None
    return ColdFigures(limit, is_interpolated, flows_at, too_thick, ())


def _between(flows_at_c: float, too_thick_at_c: float, jug: Jug, most_mpa_s: float) -> float:
    """Where the viscosity passes a limit between two measured points, its logarithm taken as straight."""
    thin = max(point.viscosity_mpa_s for point in jug.brookfield if _is_at(point, flows_at_c, most_mpa_s, thin=True))
    thick = min(point.viscosity_mpa_s for point in jug.brookfield if _is_at(point, too_thick_at_c, most_mpa_s))
    share = log(most_mpa_s / thin) / log(thick / thin)
    return flows_at_c + share * (too_thick_at_c - flows_at_c)


def _is_at(point: ColdViscosity, temperature_c: float, most_mpa_s: float, *, thin: bool = False) -> bool:
    return point.temperature_c == temperature_c and (point.viscosity_mpa_s <= most_mpa_s) == thin


def _contradictions(jug: Jug, most_mpa_s: float) -> Iterator[str]:
    points = sorted(jug.brookfield, key=lambda point: (point.temperature_c, -point.viscosity_mpa_s))
    for colder, warmer in pairwise(points):
        if colder.temperature_c == warmer.temperature_c:
            if colder.viscosity_mpa_s != warmer.viscosity_mpa_s:
                yield f"two figures are given for {plain(colder.temperature_c)} °C"
        elif colder.viscosity_mpa_s < warmer.viscosity_mpa_s:
            yield f"it is given as thinner at {plain(colder.temperature_c)} °C than at {plain(warmer.temperature_c)} °C"
    if jug.t150_c is None:
        return
    for point in points:
        is_thin = point.viscosity_mpa_s <= most_mpa_s
        if is_thin != (point.temperature_c >= jug.t150_c) and point.viscosity_mpa_s != most_mpa_s:
            side = "below" if is_thin else "above"
            yield (
                f"the limit of {plain(most_mpa_s)} mPa·s is given for {plain(jug.t150_c)} °C, "
                f"but the point at {plain(point.temperature_c)} °C lies {side} it"
            )


def _sheet_grades(jug: Jug, t150_c: float | None, base: KnowledgeBase) -> Mapping[str, J306Grade]:
    """The J306 grade in each edition; a W grade only from a stated or measured figure, never from between two."""
    if jug.kv100_mm2_s is None:
        return {}
    return {
        edition: j306_grade(
            kv100_mm2_s=jug.kv100_mm2_s,
            rows=[row for row in base.sae_j306 if row.edition == edition],
            kv100_sheared_mm2_s=jug.kv100_sheared_mm2_s,
            t150_c=t150_c,
        )
        for edition in sorted({row.edition for row in base.sae_j306}, reverse=True)
    }


def _hot_row(grades: Mapping[str, J306Grade], base: KnowledgeBase) -> J306Row | None:
    """The row of a hot grade in the default edition."""
    rows = {row.grade: row for row in base.sae_j306 if row.edition == DEFAULT_J306_EDITION}
    return rows.get(grades[DEFAULT_J306_EDITION].summer or "") if grades else None


def _line(jug: Jug) -> ViscosityLine | None:
    if jug.kv40_mm2_s is None or jug.kv100_mm2_s is None:
        return None
    try:
        return viscosity_line(kv40_mm2_s=jug.kv40_mm2_s, kv100_mm2_s=jug.kv100_mm2_s)
    except OutOfRange:
        return None


def _viscosity_index(jug: Jug, base: KnowledgeBase) -> float | None:
    if jug.kv40_mm2_s is None or jug.kv100_mm2_s is None:
        return None
    try:
        return viscosity_index(kv40_mm2_s=jug.kv40_mm2_s, kv100_mm2_s=jug.kv100_mm2_s, reference_oils=base.astm_d2270)
    except OutOfRange:
        return None


def _density(jug: Jug) -> float | None:
    """The density, where it is one that the density formula stands for."""
    if jug.density15_kg_m3 is None or not LIGHTEST_KG_M3 <= jug.density15_kg_m3 <= HEAVIEST_KG_M3:
        return None
    return jug.density15_kg_m3
