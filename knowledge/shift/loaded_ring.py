"""One ring under its load: its figures, what each of them rests on, and how near it comes to what is allowed."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import cached_property
from math import inf, isinf
from typing import TypedDict

from knowledge.base import KnowledgeBase
from knowledge.loading.facing_rows import FacingLimitRow, LimitName
from knowledge.parts.provenance import LimitUsed, Standing
from knowledge.parts.units import unit_of
from knowledge.rings.figures import LIMITED, BothEnds, Figures, both_ends, taper_mm, wiping_s
from knowledge.rings.ring_shift import RingShift, limits_of
from knowledge.rule import Measured
from knowledge.shift.digits import shown, shown_beside

# With which drag that wins outweighs every other figure, which it keeps from having an end.
BEYOND_ALL = 1e15

SERVING = ("first", "second")

CONES = ("mean_radius_mm", "cones", "half_angle_deg")

CHAMFERS = ("chamfer_included_deg", "chamfer_friction", "spline_radius_mm")

TORQUE = ("friction", *CONES, "shift_force_n")

SLIP = (*TORQUE, "drag_nm")

HEATING = (
    *SLIP, "face_width_mm", "sump_c", "shifts", "shift_interval_s", "warming_depth_mm", "cooling_time_constant_s"
)  # fmt: skip

# What each figure is computed from that the caller may have left out, or that always comes from a table.
RESTS_ON: Mapping[str, tuple[str, ...]] = {
    "friction": ("friction",),
    "friction_with_a_suiting_fluid": ("friction",),
    "friction_with_this_fluid": ("friction",),
    "static_friction": ("static_friction",),
    "cone_torque_nm": TORQUE,
    "index_torque_nm": ("shift_force_n", *CHAMFERS),
    "drag_nm": ("drag_nm",),
    "least_friction_to_block": (*CONES, *CHAMFERS),
    "blocking_reserve": ("friction", *CONES, *CHAMFERS),
    "locking_friction": ("half_angle_deg",),
    "release_margin": ("static_friction", "half_angle_deg"),
    "pull_off_force_n": ("static_friction", "half_angle_deg", "shift_force_n"),
    "sync_time_s": SLIP,
    "energy_j": SLIP,
    "energy_per_area_j_mm2": (*SLIP, "face_width_mm"),
    "power_mean_w_mm2": (*TORQUE, "face_width_mm"),
    "power_peak_w_mm2": (*TORQUE, "face_width_mm"),
    "pressure_n_mm2": (*CONES, "face_width_mm", "shift_force_n"),
    "sliding_speed_m_s": ("mean_radius_mm",),
    "interface_rise_k": (*SLIP, "face_width_mm", "contact_share", "heat"),
    "interface_peak_c": (*HEATING, "contact_share", "heat"),
    "after_shifts_c": HEATING,
    "wiping_time_s": ("land", "detent_force_n", "face_width_mm", *CONES),
    "taper_gap_mm": ("half_angle_deg", "face_width_mm"),
}

# The limits whose figure has another name on the wire.
OF_LIMIT: Mapping[str, str] = {
    "specific_energy_j_mm2": "energy_per_area_j_mm2",
    "mean_power_w_mm2": "power_mean_w_mm2",
    "interface_temperature_c": "interface_peak_c",
}


class Evidence(TypedDict):
    """What an outcome of a rule was read off: its figures, the limits it was held against, and how far inside it is."""

    figures: tuple[Measured, ...]
    limits: tuple[LimitUsed, ...]
    margin: float | None


@dataclass(frozen=True)
class LoadedRing:
    """One facing in one shift."""

    shift: RingShift
    base: KnowledgeBase

    @property
    def words(self) -> str:
        """The facing as people call it."""
        return self.base.facings[self.shift.facing].words

    @cached_property
    def limits(self) -> dict[LimitName, FacingLimitRow]:
        """The facing's limits."""
        return {row.quantity: row for row in limits_of(self.shift.facing, self.base)}

    @cached_property
    def ends(self) -> BothEnds:
        """At both ends of friction; energy, power and heat are judged at the worse one."""
        return both_ends(self.shift)

    @property
    def figures(self) -> Figures:
        """At the low end of friction, where torque, time and blocking are judged."""
        return self.ends.low

    @cached_property
    def wiping_s(self) -> float | None:
        """How long the film takes to be wiped away; None where no fluid is named, infinite beyond what is computed."""
        return wiping_s(self.shift)

    def standing(self, figure: str) -> Standing:
        """The weakest standing that a figure is computed from."""
        return self.shift.standing(*RESTS_ON[OF_LIMIT.get(figure, figure)])

    def measured(self, figure: str, low: float, high: float | None = None, *, screening: bool = False) -> Measured:
        """A figure as a finding carries it."""
        most = low if high is None else high
        return Measured(figure, low, most, unit_of(figure), self.standing(figure), screening)

    def computed_limit(self, figure: str, value: float) -> LimitUsed:
        """A figure that another one is held against."""
        return LimitUsed(id=figure, value=value, unit=unit_of(figure), standing=self.standing(figure))

    def threshold(self, id: str) -> LimitUsed:
        """A threshold of the tables."""
        row = self.base.quantity(id)
        return LimitUsed(id=id, value=row.value, unit=row.unit, standing=row.standing)

    def facing_limit(self, quantity: LimitName) -> LimitUsed:
        """What the facing stands."""
        row = self.limits[quantity]
        return LimitUsed(id=quantity, value=row.value, unit=row.unit, standing=row.standing)

    def shown(self, figure: str, value: float) -> str:
        """A figure with no more digits than what it rests on can bear."""
        return shown(value, self.standing(figure))

    def shown_beside(self, figure: str, value: float, limit: LimitUsed) -> str:
        """The same beside its limit, so that it shows on which side it lies."""
        return shown_beside(value, self.standing(figure), limit)

    @cached_property
    def ratios(self) -> dict[str, float]:
        """Each criterion of a verdict as a figure over what is allowed: 1 is at the limit, above 1 outside.

        Over any one lever each ratio falls, rises, or falls and then rises: so does the worst of them, and what lies
        inside is one unbroken stretch.
        """
        shift, weak, base = self.shift, self.ends.low, self.base
        found = {
            "blocking": weak.least_friction / shift.friction.low,
            "release": shift.friction.static_typical / weak.locking_friction,
            "index": shift.drag_nm / weak.index_torque_nm,
        }
        if self.wiping_s is not None:
            found["wiping"] = self.wiping_s / base.limit("wiping-time-baulk-from")
        if weak.sync is None:
            found["drag"] = BEYOND_ALL * shift.drag_nm / weak.cone_torque_nm
        for quantity, row in self.limits.items():
            if (value := self.ends.worst(LIMITED[quantity])) is not None:
                found[quantity] = value / row.value
        if (after := self.ends.worst(lambda end: end.after_c)) is not None:
            found["bulk"] = after / base.limit("steel-cone-bulk-from")
        found["taper"] = taper_mm(shift) / base.limit("taper-gap-from")
        if shift.family is not None and base.facing_families[shift.facing, shift.family.id].fitness not in SERVING:
            found["fluid"] = inf
        return found

    @property
    def worst_ratio(self) -> float:
        """The criterion nearest to its limit, or farthest beyond it."""
        return max(self.ratios.values())


def _worst(figure: Callable[[Figures], float | None]) -> Callable[[LoadedRing], float | None]:
    return lambda ring: ring.ends.worst(figure)


# Each figure on the wire: torque, time and blocking at the low end of friction, the load at the worse end.
FIGURES: Mapping[str, Callable[[LoadedRing], float | None]] = {
    "cone_torque_nm": lambda ring: ring.figures.cone_torque_nm,
    "index_torque_nm": lambda ring: ring.figures.index_torque_nm,
    "least_friction_to_block": lambda ring: ring.figures.least_friction,
    "blocking_reserve": lambda ring: ring.shift.friction.low / ring.figures.least_friction,
    "release_margin": lambda ring: ring.figures.locking_friction / ring.shift.friction.static_typical,
    "pull_off_force_n": lambda ring: ring.figures.pull_off_n,
    "sync_time_s": lambda ring: ring.figures.sync and ring.figures.sync.time_s,
    "wiping_time_s": lambda ring: None if isinf(ring.wiping_s or 0) else ring.wiping_s,
    "energy_j": _worst(lambda end: end.sync and end.sync.energy_j),
    "energy_per_area_j_mm2": _worst(LIMITED["specific_energy_j_mm2"]),
    "power_mean_w_mm2": _worst(LIMITED["mean_power_w_mm2"]),
    "power_peak_w_mm2": _worst(lambda end: end.peak_power_w_mm2),
    "pressure_n_mm2": _worst(lambda end: end.pressure_n_mm2),
    "sliding_speed_m_s": _worst(lambda end: end.sliding_speed_m_s),
    "interface_rise_k": _worst(lambda end: end.rise_k),
    "interface_peak_c": _worst(lambda end: end.peak_c),
    "after_shifts_c": _worst(lambda end: end.after_c),
}
