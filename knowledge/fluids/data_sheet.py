"""The label and the data sheet of one jug, read together."""

from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass
from functools import cached_property, lru_cache, partial
from itertools import pairwise
from math import log
from typing import NamedTuple, TypeVar

from knowledge.base import DEFAULT_J306_EDITION, KnowledgeBase
from knowledge.fluids.grades import GradeName, grade_name, grades_in, printed
from knowledge.loading.fluid_rows import FamilyRow
from knowledge.loading.scales import J306Row
from knowledge.parts.jug import Jug
from knowledge.physics.density import HEAVIEST_KG_M3, LIGHTEST_KG_M3
from knowledge.physics.grades import J306Grade, j306_grade
from knowledge.physics.limits import OutOfRange
from knowledge.physics.viscosity import ViscosityLine, viscosity_line
from knowledge.physics.viscosity_index import viscosity_index
from knowledge.text import plain

Computed = TypeVar("Computed")


class ColdFigures(NamedTuple):
    """What was measured of the flow in the cold.

    `limit_c` is where the oil reaches the viscosity that W grades allow, by a stated figure or between two
    measured points; `flows_at_c` the coldest measured temperature at which it is thin enough, `too_thick_at_c`
    the warmest at which it is not.
    """

    limit_c: float | None = None
    is_interpolated: bool = False
    flows_at_c: float | None = None
    too_thick_at_c: float | None = None
    contradictions: tuple[str, ...] = ()

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


NOTHING_MEASURED = ColdFigures()


@dataclass(frozen=True, eq=False)
class Sheet:
    """A jug with all that follows from its own figures, each computed when first read; the ids in it must be known.

    The rules about labels read it by these names.
    """

    jug: Jug
    base: KnowledgeBase
    is_without_rings: bool = False

    @cached_property
    def claimed(self) -> tuple[FamilyRow, ...]:
        """Every family that the label names."""
        label = self.jug.label
        ids = (label.family, *label.also) if label else ()
        return tuple(self.base.families[id] for id in dict.fromkeys(ids) if id)

    @cached_property
    def label_family(self) -> FamilyRow | None:
        """The family that the label counts as: of two the one that claims both, MT-1 without rings, else the first.

        The strictest copper strip of what it claims is its own.
        """
        ids, families = [row.id for row in self.claimed], self.base.families
        if not ids:
            return None
        counted = families.get("-".join(sorted(ids)), families[ids[0]])
        if len(ids) > 1 and "mt-1" in ids:
            if self.is_without_rings:
                return families["mt-1"]
            strict = families["mt-1"]
            update = {"label": "/".join(row.label for row in self.claimed)}
            update |= {name: getattr(strict, name) for name in ("copper_strip_limit", "copper_strip_temperature_c")}
            return counted.model_copy(update=update)
        return counted

    @property
    def grade_text(self) -> str | None:
        """The grade as the label prints it."""
        return self.jug.label.grade if self.jug.label else None

    @cached_property
    def grade(self) -> GradeName | None:
        """The grade on the label by the rows of its scale."""
        return grade_name(self.grade_text, self.base)

    @property
    def is_class_grade(self) -> bool:
        """Whether a class has the grade on the label, be it of a scale or not."""
        grades = () if self.iso_vg else grades_in(self.grade_text, self.base)
        return any(row.grade in grades for row in self.base.lubricant_rows.values())

    @property
    def iso_vg(self) -> str | None:
        """The industrial grade on the label."""
        found = printed(self.grade_text or "", self.base)
        return found and found.iso_vg

    @property
    def has_label(self) -> bool:
        """Whether the label says what it is."""
        return self.label_family is not None or self.grade_text is not None

    @property
    def kv100_mm2_s(self) -> float | None:
        """KV100 of the fresh oil."""
        return self.jug.kv100_mm2_s

    @property
    def kv100_sheared_mm2_s(self) -> float | None:
        """KV100 after the shear test."""
        return self.jug.kv100_sheared_mm2_s

    @cached_property
    def cold(self) -> ColdFigures:
        """The cold side of the data sheet."""
        return cold_figures(self.jug, self.base)

    @cached_property
    def sheet_grades(self) -> Mapping[str, J306Grade]:
        """The J306 grade in each edition; a W grade only from a stated or measured figure, never from between two."""
        return self._graded(self.kv100_sheared_mm2_s, self.cold.proven_c)

    @cached_property
    def fresh_grades(self) -> Mapping[str, str | None]:
        """The hot J306 grade of the fresh oil in each edition."""
        return {edition: grade.summer for edition, grade in self._graded(None, None).items()}

    def _graded(self, kv100_sheared_mm2_s: float | None, t150_c: float | None) -> Mapping[str, J306Grade]:
        if self.kv100_mm2_s is None:
            return {}
        return {
            edition: j306_grade(
                kv100_mm2_s=self.kv100_mm2_s,
                rows=rows,
                kv100_sheared_mm2_s=kv100_sheared_mm2_s,
                t150_c=t150_c,
            )
            for edition, rows in _rows_of_editions(self.base).items()
        }

    @property
    def fresh_row(self) -> J306Row | None:
        """The row of the fresh oil's hot grade in the default edition."""
        hot = self.fresh_grades.get(DEFAULT_J306_EDITION)
        rows = (row for row in self.base.sae_j306 if row.edition == DEFAULT_J306_EDITION and row.grade == hot)
        return next(rows, None)

    @cached_property
    def line(self) -> ViscosityLine | None:
        """The line through both viscosities; None where there is none."""
        return self._of_both(viscosity_line)

    @cached_property
    def viscosity_index(self) -> float | None:
        """The index of both viscosities; None where it is not defined."""
        return self._of_both(partial(viscosity_index, reference_oils=self.base.astm_d2270))

    def _of_both(self, formula: Callable[..., Computed]) -> Computed | None:
        kv40, kv100 = self.jug.kv40_mm2_s, self.jug.kv100_mm2_s
        if kv40 is None or kv100 is None:
            return None
        with suppress(OutOfRange):
            return formula(kv40_mm2_s=kv40, kv100_mm2_s=kv100)
        return None

    @property
    def density15_kg_m3(self) -> float | None:
        """The density, where it is one that the density formula stands for."""
        density = self.jug.density15_kg_m3
        return density if density is not None and LIGHTEST_KG_M3 <= density <= HEAVIEST_KG_M3 else None

    @property
    def copper_strip_proves(self) -> bool:
        """Whether the copper strip lay hot and long enough; without hours it lay as long as the test lasts."""
        strip, limit = self.jug.copper_strip, self.base.limit
        return (
            strip is not None
            and (strip.temperature_c or 0) >= limit("copper-strip-temperature-from")
            and (strip.hours is None or strip.hours >= limit("copper-strip-hours-from"))
        )

    @property
    def copper_strip_is_open(self) -> bool:
        """Whether its copper strip is neither dark nor proves anything: the same test, run as it should be, tells."""
        strip, base = self.jug.copper_strip, self.base
        is_dark = strip is not None and base.copper_rank(strip.rating) > base.copper_rank(base.copper_strip_wanted)
        return strip is not None and not is_dark and not self.copper_strip_proves

    @property
    def claimed_cold_limit_c(self) -> float | None:
        """The temperature down to which the W part of the label promises that it flows."""
        return self.grade.winter.cold_limit_c if self.grade and self.grade.winter else None

    @property
    def is_thicker_than_labelled(self) -> bool:
        """Whether KV100 lies above the band of the grade on the label."""
        most = self.grade.summer.kv100_max_mm2_s if self.grade and self.grade.summer else None
        return most is not None and self.kv100_mm2_s is not None and self.kv100_mm2_s >= most


def cold_figures(jug: Jug, base: KnowledgeBase) -> ColdFigures:
    """The cold side of a data sheet; a stated limit wins over points, and between two points it is interpolated.

    Of figures that contradict each other the worst counts.
    """
    most = base.limit("flow-limit-mpa-s")
    points = [(point.temperature_c, point.viscosity_mpa_s) for point in jug.brookfield]
    too_thick = max((at_c for at_c, found in points if found > most), default=None)
    thin = (at_c for at_c, found in points if found <= most and (too_thick is None or at_c > too_thick))
    flows_at, limit = min(thin, default=None), jug.t150_c
    if contradictions := tuple(_contradictions(jug, most)):
        if limit is None or (too_thick is not None and too_thick >= limit):
            return ColdFigures(too_thick_at_c=too_thick, contradictions=contradictions)
        return ColdFigures(limit, contradictions=contradictions)
    if limit is not None:
        return ColdFigures(limit)
    if flows_at is None or too_thick is None:
        return ColdFigures(flows_at_c=flows_at, too_thick_at_c=too_thick)
    # Between two measured points the logarithm of the viscosity is taken as straight.
    thinner = max(found for at_c, found in points if at_c == flows_at and found <= most)
    thicker = min(found for at_c, found in points if at_c == too_thick and found > most)
    share = log(most / thinner) / log(thicker / thinner)
    return ColdFigures(flows_at + share * (too_thick - flows_at), True, flows_at, too_thick)


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


@lru_cache(maxsize=2)
def _rows_of_editions(base: KnowledgeBase) -> Mapping[str, Sequence[J306Row]]:
    """The table of each edition, the newest first."""
    editions = sorted({row.edition for row in base.sae_j306}, reverse=True)
    return {edition: [row for row in base.sae_j306 if row.edition == edition] for edition in editions}
