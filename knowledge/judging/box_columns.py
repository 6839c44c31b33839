"""What rules read of a box and its lubricants, as arrays: an axis for each that the box may be unknown along, then one
for the lubricants. What has one value only is a scalar, so that a fully stated box costs no more than its lubricants.
"""

from collections.abc import Callable, Iterable
from functools import cached_property
from typing import Any, TypeAlias

import numpy as np
from numpy.typing import NDArray

from knowledge.base import KnowledgeBase
from knowledge.box.axes import COLD_START, DRAWS, DUTY, FIELDS_OF_AXES, RINGS
from knowledge.box.cases import Cases
from knowledge.box.drawn_cases import Drawn, DrawnCases
from knowledge.box.facts import OTHER_COPPER, SizedRing
from knowledge.box.mating import MeshContact, WipingLand
from knowledge.box.question import Bearing
from knowledge.judging.columns import Flags, Floats, Lines, LubricantColumns
from knowledge.judging.free_shifts import free_temperatures_c, free_temperatures_of_classes_c
from knowledge.judging.prepared import Prepared
from knowledge.loading.facing_rows import NO_RINGS
from knowledge.parts.provenance import Standing, weakest
from knowledge.physics.bearing import reference_viscosity_mm2_s
from knowledge.physics.film import (
    PRESSURE_POWER,
    VISCOSITY_POWER,
    film_lambda,
    minimum_film_um,
    pressure_viscosity_coefficient_mm2_n,
)

Column: TypeAlias = Any  # a scalar, one value a lubricant, or an array over all axes
AXES = len(FIELDS_OF_AXES)


class BoxColumns:
    """The facts of a box as columns, each worked out when a rule first asks for it."""

    def __init__(self, cases: Cases, lubricants: LubricantColumns, prepared: Prepared) -> None:
        self.cases = cases
        self.is_drawn = isinstance(cases, DrawnCases)
        self.base: KnowledgeBase = cases.base
        self.lubricants = lubricants
        self.prepared = prepared
        named = cases.named
        self.is_named: Flags = np.zeros(lubricants.size, bool)
        if named.pairs:
            self.is_named = np.array([named.names(row) for row in lubricants.rows], bool)
        self.is_bare_grade_named: Flags = self.is_named & named.is_bare
        self.is_grade_named: Flags = self.is_named & (named.grade is not None)

    def limit(self, id: str) -> Column:
        """The value of a threshold."""
        found = self.cases.limit(id)
        return found[:, None] if isinstance(found, np.ndarray) else found

    # Facts

    def _on(self, fact: str, of: Callable[[Any], Any]) -> Column:
        """A column of what follows from each value of a fact."""
        axis, values, _ = self.cases.fact(fact)
        if self.is_drawn and any(isinstance(value, Drawn) for value in values):
            drawn = self._over_draws(of(value.value if isinstance(value, Drawn) else value) for value in values)
            return on_axis(drawn, axis or 0, is_drawn=True)
        found = [of(value) for value in values]
        return _single(found[0]) if len(found) == 1 else on_axis(found, axis or 0)

    def _over_draws(self, values: Iterable[Any]) -> Floats:
        """Values of which some are of each draw and some of all, by values and draws."""
        return np.array([np.broadcast_to(value, self.cases.axes[DRAWS].size) for value in values])

    def fitness_for(self, kind: str) -> Column:
        """How well each lubricant serves the ring of a kind that it serves worst, 0 for best; of no matter without."""
        return self._on("facings", lambda facings: self._worst_fitness(self.of_kind(kind, facings)))

    def _worst_fitness(self, facings: tuple[str, ...]) -> NDArray[np.int8]:
        fitness, place = self.lubricants.fitness, self.prepared.place_of_facing
        if len(facings) < 2:
            return fitness[place[facings[0]] if facings else 0]
        return fitness[[place[facing] for facing in facings]].max(axis=0)

    def of_kind(self, kind: str, facings: Iterable[str]) -> tuple[str, ...]:
        """The facings of a kind; of any kind; or, in a box without rings, `none`."""
        if kind == NO_RINGS:
            return () if facings else (NO_RINGS,)
        return tuple(facing for facing in facings if kind in ("any", self.base.facings[facing].kind))

    def has_kind(self, kind: str) -> Column:
        """Whether there is a facing of a kind."""
        return self._on("facings", lambda facings: bool(self.of_kind(kind, facings)))

    @cached_property
    def has_rings(self) -> Column:
        """Whether the box has synchronizer rings."""
        return self._on("facings", bool)

    @cached_property
    def has_rings_by_size(self) -> Column:
        """The same, of rings by facing and cones."""
        return self._on("sized_rings", bool)

    @cached_property
    def has_mixed_rings(self) -> Column:
        """Whether its rings have different facings."""
        return self._on("facings", lambda facings: len(facings) > 1)

    @cached_property
    def has_copper(self) -> Column:
        """Whether a copper alloy is in the sump."""
        return self._on("copper_parts", bool)

    @cached_property
    def has_copper_rings(self) -> Column:
        """Whether a ring is of a copper alloy, in its facing or its body."""
        return self._on("copper_parts", lambda parts: bool(parts) and parts != OTHER_COPPER)

    @cached_property
    def is_light_duty(self) -> Column:
        """Whether the duty is a light one."""
        return self._on("is_light_duty", bool)

    @cached_property
    def is_hot_for_copper(self) -> Column:
        """Whether the sump gets so hot that active sulfur attacks copper faster."""
        return self._on("is_hot_for_copper", _itself)

    @cached_property
    def has_limited_slip(self) -> Column:
        """Whether a limited-slip clutch pack shares the oil."""
        return self._on("limited_slip", bool)

    @cached_property
    def has_wet_clutch(self) -> Column:
        """Whether a wet clutch shares the oil."""
        return self._on("wet_clutch", bool)

    def has_final_drive(self, kind: str) -> Column:
        """Whether a final drive of a kind shares the oil."""
        return self._on("final_drive", lambda drive: drive == kind)

    # The cold side

    @cached_property
    def coldest_start_c(self) -> Column:
        """The coldest start [°C]."""
        return self._on("coldest_start_c", float)

    def _temperatures_c(self, fact: str) -> Floats:
        """The different temperatures of a fact, by draws too where these differ in them."""
        values = self.cases.values(fact)
        if self.is_drawn and any(isinstance(value, Drawn) for value in values):
            return self._over_draws(value.value if isinstance(value, Drawn) else value for value in values)
        return np.array(values, float)

    def _span_mm2_s(self, lines: Lines, fact: str) -> tuple[Floats, Floats]:
        """Least and greatest viscosity at some temperatures, by these, draws if any, and lubricants."""
        return lines.span_mm2_s(self._temperatures_c(fact))

    def _dynamic_mpa_s(self, kinematic_mm2_s: Floats, fact: str) -> Floats:
        """The dynamic viscosity of a kinematic one at some temperatures, in its shape."""
        density = self.lubricants.densities_kg_m3(self._temperatures_c(fact)) / 1000.0
        return kinematic_mm2_s * (density[:, None] if density.ndim < kinematic_mm2_s.ndim else density)

    def _at_start(self, values: Floats) -> Column:
        return on_axis(values, COLD_START, is_drawn=self.is_drawn)

    def _at_sump(self, values: Floats) -> Column:
        return on_axis(values, DUTY, is_drawn=self.is_drawn)

    @cached_property
    def _cold_span(self) -> tuple[Floats, Floats]:
        return self._span_mm2_s(self.lubricants.fresh, "coldest_start_c")

    @cached_property
    def kv_cold_mm2_s(self) -> tuple[Column, Column]:
        """Least and greatest kinematic viscosity at the coldest start."""
        low, high = self._cold_span
        return self._at_start(low), self._at_start(high)

    @cached_property
    def _typical_cold_mm2_s(self) -> Floats:
        low, high = self._cold_span
        typical: Floats = np.sqrt(low * high)
        return typical

    @cached_property
    def typical_kv_cold_mm2_s(self) -> Column:
        """Kinematic viscosity at the coldest start in the middle of the band, as a factor."""
        return self._at_start(self._typical_cold_mm2_s)

    @cached_property
    def has_wiping_ring(self) -> Column:
        """Whether a ring has to wipe oil away."""
        return self._on("wiping_land", bool)

    @cached_property
    def wiping_lands(self) -> tuple[WipingLand, ...]:
        """The different lands that may have to wipe oil away."""
        return tuple(land for land in self.cases.values("wiping_land") if land)

    @cached_property
    def free_from_c(self) -> tuple[Floats, Floats, Floats]:
        """From where on first shifts come freely: see `free_temperatures_c`."""
        if self.lubricants is self.prepared.classes:
            return free_temperatures_of_classes_c(self.wiping_lands, self.base)
        return free_temperatures_c(self.lubricants, self.wiping_lands, self.base)

    def of_land(self, part: str) -> Column:
        """A figure of the land that wipes slowest; NaN without rings."""
        return self._on("wiping_land", lambda land: getattr(land, part) if land else np.nan)

    @cached_property
    def wiping_time_s(self) -> Column:
        """Wiping time of the slowest ring at the coldest start with the typical oil of each lubricant."""
        dynamic = self._dynamic_mpa_s(self._typical_cold_mm2_s, "coldest_start_c")
        return self._at_start(dynamic) * self.of_land("wiping_s_per_mpa_s")

    @cached_property
    def wiping_spread(self) -> Column:
        """Times or divided by what the wiping time is known to: the ring's spread and the oil's own, independent."""
        low, high = self._cold_span
        return np.exp(np.hypot(np.log(self.of_land("spread")), self._at_start(0.5 * np.log(high / low))))

    # The hot side

    @cached_property
    def _hot_span(self) -> tuple[Floats, Floats]:
        return self._span_mm2_s(self.lubricants.once_sheared, "sump_hot_c")

    @cached_property
    def kv_hot_mm2_s(self) -> tuple[Column, Column]:
        """Least and greatest kinematic viscosity at the hottest sump, once sheared where that is known."""
        low, high = self._hot_span
        return self._at_sump(low), self._at_sump(high)

    @cached_property
    def bearing_reference_mm2_s(self) -> Column:
        """The viscosity that the bearing needs [mm²/s]."""
        return self._on("bearing", _reference_mm2_s)

    @cached_property
    def bearing_ratio(self) -> tuple[Column, Column]:
        """Least and greatest bearing viscosity ratio at the hottest sump."""
        low, high = self.kv_hot_mm2_s
        return low / self.bearing_reference_mm2_s, high / self.bearing_reference_mm2_s

    @cached_property
    def least_bearing_ratio(self) -> Column:
        """The bearing viscosity ratio below which a lubricant is refused: without an additive the film carries all."""
        without, with_additive = self.limit("bearing-ratio-additive-below"), self.limit("bearing-ratio-refused-below")
        return np.where(self.lubricants.has_no_protection, without, with_additive)

    @cached_property
    def film_lambda(self) -> tuple[Column, Column]:
        """Least and greatest gear film over roughness at the hottest sump: it goes with a power of viscosity."""
        dynamic = [self._dynamic_mpa_s(kinematic, "sump_hot_c") for kinematic in self._hot_span]
        (mesh,) = self.cases.values("mesh")
        at_unit_viscosity = _film_lambda_at_unit_viscosity(mesh, self.base)
        power = VISCOSITY_POWER + PRESSURE_POWER * self.limit("pressure-viscosity-s")
        lambdas = at_unit_viscosity * np.power(np.stack(dynamic), power)
        return on_axis(lambdas[0], DUTY), on_axis(lambdas[1], DUTY)

    # Rings under load

    @cached_property
    def blocking_reserve(self) -> Column:
        """The least friction that a lubricant leaves a ring, over what that ring needs to block; NaN without rings."""
        return self._on("sized_rings", self._least_reserve)

    def _least_reserve(self, rings: tuple[SizedRing, ...]) -> Floats:
        by_fluid, family = self.prepared.friction_left, self.lubricants.family
        if not rings:
            return np.full(self.lubricants.size, np.nan)
        reserves = [self.ring_loads.reserves[ring] * by_fluid[ring.facing][family] for ring in rings]
        return reserves[0] if len(reserves) == 1 else np.min(reserves, axis=0)

    @cached_property
    def ring_loads(self) -> Any:
        """Reserve and heat of each ring in the hard shifts of each duty."""
        return self.prepared.loads_for(self.cases)

    @cached_property
    def face_heat(self) -> tuple[Column, Column, dict[tuple[int, int], Any]]:
        """Peak at the face of the ring nearest to its limit, that limit, and which ring, by rings and duty; or NaN."""
        rings, pairs = self.cases.values("sized_rings"), self.cases.values("duty_and_sump")
        peaks = np.full((len(rings), len(pairs)), np.nan)
        limits, hottest = np.ones_like(peaks), {}
        for row, sized in enumerate(rings):
            for column, (duty, sump_c) in enumerate(pairs):
                # A peak is the sump's temperature plus what the shifts add, which no sump changes.
                heats = [(self.ring_loads.heats[ring, duty], ring) for ring in sized]
                found = [(sump_c + heat.rise_k, heat.limit_c, ring, heat) for heat, ring in heats]
                if found:
                    worst = max(found, key=lambda item: item[0] / item[1])
                    peaks[row, column], limits[row, column], hottest[row, column] = worst[0], worst[1], worst
        return _on_rings_and_duty(peaks), _on_rings_and_duty(limits), hottest

    # Standings

    @property
    def stated_sump_c(self) -> Column:
        """The hottest sump as it was stated, or each that stands in its place [°C]; NaN where it was not."""
        return np.nan if self.cases.question.sump_hot_c is None else self._on("sump_hot_c", float)

    @property
    def sump_standing(self) -> Standing:
        """What the sump temperature rests on: computed from what was stated, else the duty's row."""
        if self.cases.question.sump_hot_c is not None:
            return "computed"
        return weakest(*(self.base.duties[duty].standing for duty, _ in self.cases.values("duty_and_sump")))

    @cached_property
    def cold_start_standing(self) -> Standing:
        """What the coldest start rests on."""
        if self.cases.question.coldest_start_c is not None:
            return "computed"
        rows = [row.standing for row in self.base.plausible_values if row.field == "coldest_start_c"]
        return weakest(*rows)

    @cached_property
    def land_standing(self) -> Standing:
        """What the wiping of the lands rests on."""
        rows = (self.base.ring_lands[land.facing, land.condition].standing for land in self.wiping_lands)
        spread, length = self.base.quantity("wiping-spread-thread"), self.base.default("shift", "groove_length_mm")
        return weakest(self.assumed_standing("ring_geometry"), spread.standing, length.standing, *rows)

    def assumed_standing(self, part: str) -> Standing:
        """What the sizes of a part rest on: computed from what was stated, else the weakest of what is assumed."""
        given = getattr(self.cases.question, part)
        missing = [
            row.standing
            for (of, quantity), row in self.base.defaults.items()
            if of == part and (given is None or getattr(given, quantity, None) is None)
        ]
        return weakest("computed", *missing)


def _film_lambda_at_unit_viscosity(mesh: MeshContact, base: KnowledgeBase) -> float:
    film = minimum_film_um(
        entrainment_speed_m_s=mesh.point.entrainment_speed_m_s,
        relative_radius_mm=mesh.point.relative_radius_mm,
        line_load_n_mm=mesh.point.line_load_n_mm,
        dynamic_viscosity_mpa_s=1.0,
        pressure_viscosity_mm2_n=pressure_viscosity_coefficient_mm2_n(
            dynamic_viscosity_mpa_s=1.0,
            coefficient_k=base.limit("pressure-viscosity-k"),
            exponent_s=base.limit("pressure-viscosity-s"),
        ),
        effective_modulus_gpa=mesh.effective_modulus_gpa,
    )
    return film_lambda(film_um=film, composite_roughness_um=mesh.composite_roughness_um)


def _itself(value: Any) -> Any:
    return value


def _reference_mm2_s(bearing: Bearing) -> float:
    return reference_viscosity_mm2_s(speed_rpm=bearing.speed_rpm, pitch_diameter_mm=bearing.pitch_diameter_mm)


def _single(value: Any) -> Any:
    """The only value of a column, of a type that can be inverted and compared like an array."""
    if isinstance(value, bool):
        return np.True_ if value else np.False_
    return np.float64(value) if isinstance(value, float) else value


def on_axis(values: Any, axis: int, *, is_drawn: bool = False) -> Column:
    """Values along an axis, each a scalar or one for each lubricant, in the shape of all axes; a single one alone.

    Drawn: those of each along a second axis, by draws.
    """
    found = np.asarray(values)
    if len(found) == 1 and not is_drawn:
        return found[0]
    shape = [1] * (AXES + 1)
    shape[axis] = len(found)
    if is_drawn:
        shape[DRAWS] = found.shape[1]
    if found.ndim > 1 + is_drawn:
        shape[AXES] = found.shape[-1]
    return found.reshape(shape)


def _on_rings_and_duty(values: Floats) -> Column:
    shape = [1] * (AXES + 1)
    shape[RINGS], shape[DUTY] = values.shape
    return values.reshape(shape)
