"""Lubricants as columns: one array for each property that rules read, in the order of the lubricants."""

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

from knowledge.base import KnowledgeBase
from knowledge.loading.facing_rows import NO_RINGS
from knowledge.loading.fluid_rows import FamilyRow
from knowledge.lubricant import Lubricant
from knowledge.physics.density import COLDEST_C, HOTTEST_C, densities_kg_m3
from knowledge.physics.viscosity import THICKEST_MM2_S, THINNEST_MM2_S, ViscosityLine, kinematic_viscosities_mm2_s

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]

# The oil temperatures at which viscosities are kept: all at which the density of an oil is known.
TRIED_C = np.linspace(COLDEST_C, HOTTEST_C, 81)


@dataclass(frozen=True, slots=True, eq=False)
class Lines:
    """The viscosity-temperature lines at the corners of each lubricant's region, of shape (lubricants, corners)."""

    intercepts_a: Floats
    slopes_b: Floats

    @classmethod
    def of(cls, corners: Sequence[Sequence[ViscosityLine]]) -> "Lines":
        """The lines of some lubricants; those with fewer corners repeat their first."""
        most = max((len(lines) for lines in corners), default=1)
        filled = [[*lines, *[lines[0]] * (most - len(lines))] for lines in corners]
        a, b = (np.array([[line[part] for line in lines] for lines in filled]).reshape(-1, most) for part in (0, 1))
        return cls(a, b)

    def span_mm2_s(self, temperatures_c: Floats) -> tuple[Floats, Floats]:
        """Least and greatest viscosity of each lubricant, of shape (temperatures, lubricants); NaN out of range."""
        found = kinematic_viscosities_mm2_s(
            intercepts_a=self.intercepts_a, slopes_b=self.slopes_b, temperatures_c=temperatures_c
        )
        return found.min(axis=-1), found.max(axis=-1)


@dataclass(frozen=True, slots=True, eq=False)
class OverTemperature:
    """Typical viscosities at the temperatures tried, as on a chart, and how far the edges of the region are from them.

    On the chart of ASTM D341 an oil is a straight line, and between two temperatures it is one on this one too.
    """

    charted_mm2_s: Floats
    charted_mpa_s: Floats
    log_spread: Floats


def charted(viscosities: Floats) -> Floats:
    """The doubled logarithm of viscosities, of any that is above nothing."""
    found: Floats = np.log(np.log1p(viscosities))
    return found


@dataclass(frozen=True, eq=False)
class LubricantColumns:
    """Some lubricants, each property as an array."""

    rows: tuple[Lubricant, ...]
    fresh: Lines
    once_sheared: Lines
    density15_kg_m3: Floats
    kv100_min_mm2_s: Floats
    kv100_max_mm2_s: Floats
    cold_limit_c: Floats
    long_sump_c: Floats
    viscosity_at_cold_limit_mm2_s: Floats
    family: NDArray[np.intp]
    fitness: NDArray[np.int8]
    has_full_ep: Flags
    has_strong_ep: Flags
    has_no_protection: Flags
    has_light_protection: Flags
    is_gear_oil: Flags
    protects_hypoid: Flags
    is_dual_label: Flags
    is_limited_slip: Flags
    suits_wet_clutch: Flags
    is_mt_1: Flags
    is_engine_oil: Flags
    copper_strip_is_good: Flags
    measured_strip: NDArray[np.int8]

    @classmethod
    def of(cls, rows: Iterable[Lubricant], base: KnowledgeBase) -> "LubricantColumns":
        """The columns of some lubricants."""
        rows = tuple(rows)
        families = list(base.families)

        def each(of: Callable[[Lubricant], Any], kind: Any = np.float64) -> Any:
            return np.array([of(row) for row in rows], kind)

        family = each(lambda row: families.index(row.family.id), np.intp)

        def of_family(of: Callable[[FamilyRow], bool]) -> Any:
            return np.array([of(one) for one in base.families.values()])[family]

        def of_protection(*levels: str) -> Any:
            return of_family(lambda one: one.protection in levels)

        fresh = Lines.of([[corner.line for corner in row.corners] for row in rows])
        cold_limits = each(lambda row: np.nan if row.cold_limit_c is None else row.cold_limit_c)
        return cls(
            rows=rows,
            fresh=fresh,
            once_sheared=Lines.of([[corner.line for corner in (row.once_sheared or row).corners] for row in rows]),
            density15_kg_m3=each(lambda row: row.density15_kg_m3),
            kv100_min_mm2_s=each(lambda row: row.kv100_min_mm2_s),
            kv100_max_mm2_s=each(lambda row: row.kv100_max_mm2_s),
            cold_limit_c=cold_limits,
            long_sump_c=each(lambda row: row.long_sump_c),
            viscosity_at_cold_limit_mm2_s=_greatest_at(cold_limits, fresh),
            family=family,
            fitness=np.array(
                [[base.fitness[facing, one] for one in families] for facing in (NO_RINGS, *base.facings)], np.int8
            )[:, family],
            has_full_ep=of_protection("full"),
            has_strong_ep=of_protection("moderate", "full"),
            has_no_protection=of_protection("none"),
            has_light_protection=of_protection("light"),
            is_gear_oil=of_family(lambda one: one.is_gear_oil),
            protects_hypoid=of_family(lambda one: one.protects_hypoid),
            is_dual_label=of_family(lambda one: one.dual_label),
            is_limited_slip=each(lambda row: row.limited_slip, bool),
            suits_wet_clutch=of_family(lambda one: one.suits_wet_clutch),
            is_mt_1=of_family(lambda one: one.id == "mt-1"),
            is_engine_oil=of_family(lambda one: one.id == "engine-oil"),
            copper_strip_is_good=each(lambda row: _is_good(row, base), bool),
            measured_strip=each(lambda row: _of_strip(row, base), np.int8),
        )

    @cached_property
    def kv100_middle_mm2_s(self) -> Floats:
        """The KV100 of a typical oil: the geometric middle of the band."""
        return np.sqrt(self.kv100_min_mm2_s * self.kv100_max_mm2_s)

    @cached_property
    def by_family(self) -> Mapping[str, tuple[int, ...]]:
        """The places of the lubricants of each family."""
        found: dict[str, list[int]] = {}
        for place, row in enumerate(self.rows):
            found.setdefault(row.family.id, []).append(place)
        return {family: tuple(places) for family, places in found.items()}

    @cached_property
    def groups(self) -> NDArray[np.intp]:
        """For each a number that it shares with those that do the same work at its grade."""
        keys = [(row.family.works_as or row.family.id, row.grade) for row in self.rows]
        place = {key: at for at, key in enumerate(dict.fromkeys(keys))}
        return np.array([place[key] for key in keys])

    @cached_property
    def is_plain_axle_oil(self) -> Flags:
        """Whether each is made for hypoid gears and not for a limited-slip pack."""
        return self.protects_hypoid & ~self.is_limited_slip

    @cached_property
    def over_temperature(self) -> OverTemperature:
        """Each over oil temperature, of shape (temperatures, lubricants); beyond the chart it goes on falling."""
        low, high = self.fresh.span_mm2_s(TRIED_C)
        typical = np.sqrt(low * high)
        if np.isnan(typical).any():
            beyond = np.where(TRIED_C < 0, THICKEST_MM2_S * (1 - TRIED_C), THINNEST_MM2_S / (1 + abs(TRIED_C)))
            typical = np.where(np.isnan(typical), beyond[:, None], typical)
        dynamic = typical * self.densities_kg_m3(TRIED_C) / 1000.0
        return OverTemperature(charted(typical), charted(dynamic), np.nan_to_num(0.5 * np.log(high / low)))

    @property
    def size(self) -> int:
        """How many lubricants there are."""
        return len(self.rows)

    def densities_kg_m3(self, temperatures_c: Floats) -> Floats:
        """Density of each lubricant, of shape (temperatures, lubricants)."""
        return densities_kg_m3(densities15_kg_m3=self.density15_kg_m3, temperatures_c=temperatures_c)


# What the measured copper strip of a jug comes to, beside copper alloys.
NO_STRIP, STRIP_GOOD, STRIP_DARKER, STRIP_UNPROVEN, STRIP_DARK = range(5)


def _of_strip(row: Lubricant, base: KnowledgeBase) -> int:
    strip = row.measured_copper_strip
    if strip is None:
        return NO_STRIP
    wanted = base.copper_strip_wanted
    is_worse = base.copper_rank(strip.rating) > base.copper_rank(wanted)
    if row.family.protection == "full":
        return STRIP_DARK if is_worse and strip.temperature_c is not None else NO_STRIP
    if not is_worse:
        return STRIP_GOOD
    if base.copper_strip[strip.rating].designation == base.copper_strip[wanted].designation:
        return STRIP_DARKER
    return STRIP_UNPROVEN if strip.temperature_c is None or strip.hours is None else STRIP_DARK


def _is_good(row: Lubricant, base: KnowledgeBase) -> bool:
    """Whether its copper strip speaks for an oil with full extreme-pressure additives."""
    strip = row.copper_strip
    return (
        strip is not None
        and base.copper_rank(strip.rating) <= base.copper_rank(base.copper_strip_wanted)
        and (strip.temperature_c or 0) >= base.limit("copper-strip-temperature-from")
    )


def _greatest_at(temperatures_c: Floats, lines: Lines) -> Floats:
    """The greatest viscosity of each lubricant at a temperature of its own."""
    known = np.unique(temperatures_c[~np.isnan(temperatures_c)])
    found = np.full(len(temperatures_c), np.nan)
    if len(known):
        greatest = lines.span_mm2_s(known)[1]
        for place, temperature_c in enumerate(known):
            found = np.where(temperatures_c == temperature_c, greatest[place], found)
    return found
