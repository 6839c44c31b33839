"""An oil as the rules see it: a class from the table, or a jug, always as a region and never as one point."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from math import sqrt
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from knowledge.loading.fluid_rows import FamilyRow, LubricantRow
from knowledge.loading.scales import J300Row, J306Row, ReferenceOilRow
from knowledge.parts.jug import CopperStrip
from knowledge.parts.lubricant_name import LubricantName
from knowledge.parts.provenance import Standing
from knowledge.physics.density import COLDEST_C, density_kg_m3
from knowledge.physics.viscosity import (
    ViscosityLine,
    dynamic_viscosity_mpa_s,
    kinematic_viscosities_mm2_s,
    kinematic_viscosity_mm2_s,
    viscosity_line,
    viscosity_line_through,
    viscosity_lines,
)
from knowledge.physics.viscosity_index import kv40_at_viscosity_index_mm2_s, kv40_at_viscosity_indices_mm2_s


@dataclass(frozen=True, slots=True)
class Corner:
    """One corner of the region that KV100 and the viscosity index span."""

    kv40_mm2_s: float
    kv100_mm2_s: float
    line: ViscosityLine


class WLimit(NamedTuple):
    """The most viscosity that a W grade allows at its temperature."""

    temperature_c: float
    viscosity_mpa_s: float


@dataclass(frozen=True, slots=True, eq=False)
class Lubricant:
    """What a rule may ask of a lubricant.

    Viscosity at any temperature is monotone along each side of the region, so its extremes over the whole
    region stand at the corners. A class has the copper strip that its category allows, and none that was measured.
    A jug whose sheared viscosity is known is, once sheared, another oil: the one that counts when hot.
    """

    id: str
    name: str
    family: FamilyRow
    grade: str
    kv100_min_mm2_s: float
    kv100_max_mm2_s: float
    viscosity_index_min: float
    viscosity_index_max: float
    corners: tuple[Corner, ...]
    density15_kg_m3: float
    cold_limit_c: float | None
    copper_strip: CopperStrip | None
    limited_slip: bool
    standing: Standing
    reference_oils: Sequence[ReferenceOilRow]
    long_sump_c: float
    tolerated_to_c: float
    w_limit: "WLimit | None" = None
    measured_copper_strip: CopperStrip | None = None
    once_sheared: "Lubricant | None" = None

    @property
    def lubricant_name(self) -> LubricantName:
        """What it is called in an answer."""
        return LubricantName(id=self.id, name=self.name, family=self.family.id, grade=self.grade)

    @property
    def short_name(self) -> str:
        """`GL-4 75W-90`."""
        return f"{self.family.label} {self.grade}"

    @property
    def kv100_band_mm2_s(self) -> tuple[float, float]:
        """The KV100 it may have."""
        return self.kv100_min_mm2_s, self.kv100_max_mm2_s

    def kv40_mm2_s(self, *, kv100_mm2_s: float, viscosity_index: float) -> float:
        """KV40 at a viscosity index, or what its W grade allows where that is less; raises OutOfRange.

        The line through the warm figures is thinner in the cold than the oil: what it shows too thick for the W
        grade surely is. The density below -50 °C is taken as that at -50.
        """
        kv40 = kv40_at_viscosity_index_mm2_s(
            viscosity_index=viscosity_index, kv100_mm2_s=kv100_mm2_s, reference_oils=self.reference_oils
        )
        return kv40 if self.w_limit is None else min(kv40, _most_kv40_mm2_s(self, kv100_mm2_s))

    def corners_of_band(self) -> tuple[Corner, ...]:
        """Each edge of KV100 with each edge of the viscosity index, cut off where the W grade does."""
        return tuple(
            self.corner(kv100_mm2_s=kv100, viscosity_index=index)
            for kv100 in self.kv100_band_mm2_s
            for index in (self.viscosity_index_min, self.viscosity_index_max)
        )

    def corner(self, *, kv100_mm2_s: float, viscosity_index: float) -> Corner:
        """The corner at a KV100 and a viscosity index; raises OutOfRange."""
        kv40 = self.kv40_mm2_s(kv100_mm2_s=kv100_mm2_s, viscosity_index=viscosity_index)
        return Corner(kv40, kv100_mm2_s, viscosity_line(kv40_mm2_s=kv40, kv100_mm2_s=kv100_mm2_s))

    def lines(self, *, kv100_mm2_s: float, viscosity_indices: NDArray[np.float64]) -> NDArray[np.float64]:
        """The lines of the corners at a KV100 and many viscosity indices: both parts of each in a row of its own."""
        kv40 = kv40_at_viscosity_indices_mm2_s(
            viscosity_indices=viscosity_indices, kv100_mm2_s=kv100_mm2_s, reference_oils=self.reference_oils
        )
        if self.w_limit is not None:
            kv40 = np.minimum(kv40, _most_kv40_mm2_s(self, kv100_mm2_s))
        return viscosity_lines(kv40_mm2_s=kv40, kv100_mm2_s=kv100_mm2_s)

    @lru_cache(maxsize=20_000)  # noqa: B019 - bounded, and a class is a few objects that live as long as the base
    def viscosity_span_mm2_s(self, temperature_c: float) -> tuple[float, float]:
        """Least and greatest kinematic viscosity of the region at a temperature; raises OutOfRange.

        Several rules ask for the same few temperatures, hence the cache.
        """
        values = [kinematic_viscosity_mm2_s(line=corner.line, temperature_c=temperature_c) for corner in self.corners]
        return min(values), max(values)

    def dynamic_viscosity_span_mpa_s(self, temperature_c: float) -> tuple[float, float]:
        """Least and greatest dynamic viscosity of the region at a temperature; raises OutOfRange."""
        density = density_kg_m3(density15_kg_m3=self.density15_kg_m3, temperature_c=temperature_c)
        low, high = self.viscosity_span_mm2_s(temperature_c)
        return (
            dynamic_viscosity_mpa_s(kinematic_viscosity_mm2_s=low, density_kg_m3=density),
            dynamic_viscosity_mpa_s(kinematic_viscosity_mm2_s=high, density_kg_m3=density),
        )

    def middle_dynamic_viscosity_mpa_s(self, temperature_c: float) -> float:
        """Dynamic viscosity in the middle of the region: the geometric mean of its extremes."""
        low, high = self.dynamic_viscosity_span_mpa_s(temperature_c)
        return sqrt(low * high)

    def kv100_needed_mm2_s(
        self, *, temperature_c: float, viscosity_mm2_s: float, at_best: bool = False
    ) -> float | None:
        """The least KV100 of its grade, in tenths, that surely has a viscosity at a temperature; None where none has.

        At best: the least that has it at the viscosity index that suits best. Raises OutOfRange.
        """
        viscosities = self._viscosities_of_tenths(temperature_c, is_thick=at_best)
        place = int(viscosities.searchsorted(viscosity_mm2_s, side="left"))
        return self._kv100_tenths[place] / 10 if place < len(viscosities) else None

    @property
    def thickest_kv100_mm2_s(self) -> float:
        """The most KV100, in tenths, that a data sheet of its grade may print."""
        return self._kv100_tenths[-1] / 10 if self._kv100_tenths else self.kv100_max_mm2_s

    @property
    def _kv100_tenths(self) -> range:
        """Every KV100 that a data sheet of its grade may print."""
        return range(round(self.kv100_min_mm2_s * 10), round(self.kv100_max_mm2_s * 10))

    def _viscosities_of_tenths(self, temperature_c: float, *, is_thick: bool) -> NDArray[np.float64]:
        """The viscosity at each tenth; above 100 °C a high viscosity index is the thick side, below the thin one."""
        index = self.viscosity_index_max if is_thick == (temperature_c > 100) else self.viscosity_index_min
        lines = _lines_of_tenths(self, index)
        found = kinematic_viscosities_mm2_s(
            intercepts_a=lines[0], slopes_b=lines[1], temperatures_c=np.array([temperature_c])
        )[0]
        if np.isnan(found).any():
            beyond = ViscosityLine(*(part[int(np.isnan(found).argmax())] for part in lines))
            kinematic_viscosity_mm2_s(line=beyond, temperature_c=temperature_c)
        return found


@lru_cache(maxsize=1_000)
def _most_kv40_mm2_s(lubricant: Lubricant, kv100_mm2_s: float) -> float:
    """The KV40 at which an oil of a KV100 is as thick in the cold as its W grade allows; asked of each index anew."""
    assert lubricant.w_limit is not None, "asked only of a lubricant with a W grade"
    celsius, most_mpa_s = lubricant.w_limit
    density = density_kg_m3(density15_kg_m3=lubricant.density15_kg_m3, temperature_c=max(celsius, COLDEST_C))
    most = viscosity_line_through(
        first_temperature_c=celsius,
        first_kv_mm2_s=1000 * most_mpa_s / density,
        second_temperature_c=100,
        second_kv_mm2_s=kv100_mm2_s,
    )
    return kinematic_viscosity_mm2_s(line=most, temperature_c=40)


@lru_cache(maxsize=1_000)
def _lines_of_tenths(lubricant: Lubricant, viscosity_index: float) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """The lines of an oil of every KV100 of its grade at one viscosity index; a class is asked for them all day."""
    lines = []
    for tenth in lubricant._kv100_tenths:
        kv40 = lubricant.kv40_mm2_s(kv100_mm2_s=tenth / 10, viscosity_index=viscosity_index)
        lines.append(viscosity_line(kv40_mm2_s=kv40, kv100_mm2_s=tenth / 10))
    found = np.array(lines).reshape(-1, 2)
    return found[:, 0], found[:, 1]


def oil_of_class(
    row: LubricantRow,
    *,
    family: FamilyRow,
    grade_rows: Sequence[J306Row] | Sequence[J300Row],
    reference_oils: Sequence[ReferenceOilRow],
    flow_limit_mpa_s: float | None,
) -> Lubricant:
    """The oil that a table row describes; its grade's own rows fill the cells left blank."""
    parts = {item.grade: item for item in grade_rows if item.grade in row.grade.split("-")}
    winter = next((item for item in parts.values() if item.cold_limit_c is not None), None)
    kv100_min = row.kv100_min_mm2_s or max(item.kv100_min_mm2_s for item in parts.values())
    edges = [item.kv100_max_mm2_s for item in parts.values() if item.kv100_max_mm2_s is not None]
    kv100_max = row.kv100_max_mm2_s or min(edges)
    cold_limit = winter.cold_limit_c if winter else row.cold_limit_c
    strip = None
    if family.copper_strip_limit:
        strip = CopperStrip(rating=family.copper_strip_limit, temperature_c=family.copper_strip_temperature_c)
    oil = Lubricant(
        id=row.id,
        name=row.name,
        family=family,
        grade=row.grade,
        kv100_min_mm2_s=kv100_min,
        kv100_max_mm2_s=kv100_max,
        viscosity_index_min=row.viscosity_index_min,
        viscosity_index_max=row.viscosity_index_max,
        corners=(),
        density15_kg_m3=row.density15_kg_m3,
        cold_limit_c=cold_limit,
        copper_strip=strip,
        limited_slip=family.limited_slip,
        standing=row.standing,
        reference_oils=reference_oils,
        long_sump_c=row.long_sump_c,
        tolerated_to_c=row.tolerated_to_c,
        w_limit=w_limit(winter, flow_limit_mpa_s),
    )
    return replace(oil, corners=oil.corners_of_band())


def w_limit(winter: J306Row | J300Row | None, flow_limit_mpa_s: float | None) -> WLimit | None:
    """What a W grade allows: of gear oil the same for each, of engine oil what must still be pumped."""
    most = winter.pumping_viscosity_max_mpa_s if isinstance(winter, J300Row) else flow_limit_mpa_s
    return WLimit(winter.cold_limit_c, most) if winter and winter.cold_limit_c is not None and most else None
