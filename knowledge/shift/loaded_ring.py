"""One ring under its load: its figures, what each of them rests on, and how near it comes to what is allowed."""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from math import inf, sqrt
from typing import Literal

from knowledge.base import KnowledgeBase
from knowledge.loading.facing_rows import FacingLimitRow, LimitName
from knowledge.parts.digits import shown, shown_beside
from knowledge.parts.provenance import Figure, LimitUsed, Standing
from knowledge.parts.units import unit_of
from knowledge.rings.figures import LIMITED, BothEnds, Figures, both_ends, taper_mm, wiping_s
from knowledge.rings.ring_shift import RingShift, limits_of
from knowledge.text import Said, significant

# With which drag that wins outweighs every other figure, which it keeps from having an end.
BEYOND_ALL = 1e15
SERVING = ("first", "second")
CONE = ("mean_radius_mm", "half_angle_deg", "cones")
CHAMFERS = ("chamfer_included_deg", "chamfer_friction", "spline_radius_mm")
TORQUE = ("friction", *CONE, "shift_force_n")
SLIP = (*TORQUE, "drag_nm")
HEATING = (
    *SLIP, "face_width_mm", "sump_c", "shifts", "shift_interval_s", "warming_depth_mm", "cooling_time_constant_s"
)  # fmt: skip

# Each figure on the wire, with what it is computed from that the caller may have left out, or that always comes from a
# table: torque, time and blocking at the low end of friction, the load at the worse end.
AT_LOW_FRICTION: Mapping[str, tuple[str, ...]] = {
    "cone_torque_nm": TORQUE,
    "index_torque_nm": ("shift_force_n", *CHAMFERS),
    "least_friction_to_block": (*CONE, *CHAMFERS),
    "blocking_reserve": ("friction", *CONE, *CHAMFERS),
    "release_margin": ("static_friction", "half_angle_deg"),
    "pull_off_force_n": ("static_friction", "half_angle_deg", "shift_force_n"),
    "sync_time_s": SLIP,
}
AT_WORSE_FRICTION: Mapping[str, tuple[str, ...]] = {
    "energy_j": SLIP,
    "energy_per_area_j_mm2": (*SLIP, "face_width_mm"),
    "power_mean_w_mm2": (*TORQUE, "face_width_mm"),
    "power_peak_w_mm2": (*TORQUE, "face_width_mm"),
    "pressure_n_mm2": (*CONE, "face_width_mm", "shift_force_n"),
    "sliding_speed_m_s": ("mean_radius_mm",),
    "interface_rise_k": (*SLIP, "face_width_mm", "contact_share", "heat"),
    "interface_peak_c": (*HEATING, "contact_share", "heat"),
    "after_shifts_c": HEATING,
}
RESTS_ON: Mapping[str, tuple[str, ...]] = {
    **AT_LOW_FRICTION,
    "wiping_time_s": ("land", "detent_force_n", "face_width_mm", *CONE),
    **AT_WORSE_FRICTION,
    "friction": ("friction",),
    "friction_with_a_suiting_fluid": ("friction",),
    "friction_with_this_fluid": ("friction",),
    "static_friction": ("static_friction",),
    "drag_nm": ("drag_nm",),
    "locking_friction": ("half_angle_deg",),
    "taper_gap_mm": ("half_angle_deg", "face_width_mm"),
    **{limit: AT_WORSE_FRICTION[figure] for limit, figure in LIMITED.items()},
}

# What lies outside, in words; what stands first here refuses by itself and is named before what is only farthest out.
OUTSIDE = {
    "drag": "drag wins and the speeds never match",
    "blocking": "they grind at low friction",
    "release": "they wedge on their cones",
    "fluid": "the fluid does not suit them",
    "bulk": "ring and cone get too hot",
    "index": "drag makes the gear feel blocked",
    "wiping": "the oil film is not wiped off in time",
    "sliding_speed_m_s": "they rub too fast",
    "specific_energy_j_mm2": "one shift makes too much heat",
    "mean_power_w_mm2": "they are worked too hard",
    "pressure_n_mm2": "the pressure is too high",
    "interface_temperature_c": "the face gets too hot",
    "taper": "ring and cone differ in angle",
}
GRAVEST = tuple(OUTSIDE)[:5]

# What eases each, in a few words, where no one change of the ring is enough.
EASED_BY = {
    **dict.fromkeys(OUTSIDE, "shift at lower revs"),
    "drag": "let it warm up first",
    "blocking": "fill a suiting fluid",
    "release": "widen the half angle",
    "fluid": "fill one that does",
    "bulk": "let it cool between shifts",
    "index": "fill a thinner oil",
    "wiping": "fill a thinner oil",
    "pressure_n_mm2": "shift with less force",
    "taper": "cut both alike",
}


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

    def limit(self, quantity: LimitName) -> LimitUsed:
        """One of these limits, as a finding carries it."""
        row = self.limits[quantity]
        return LimitUsed(id=quantity, value=row.value, unit=row.unit, standing=row.standing)

    def refused_above(self, quantity: LimitName) -> float:
        """How far a figure may lie above its limit with care: for every facing alike, however well its limit is known.

        So none is refused where another of a lower limit passes with a higher figure.
        """
        allowed, base = self.limits[quantity].value, self.base
        if quantity == "interface_temperature_c":
            return allowed + base.limit("facing-temperature-refused-from")
        return allowed * base.limit("facing-limit-refused-from")

    @property
    def untrue_peak_c(self) -> float | None:
        """The face where a cone that is not quite true touches it least; None where what touches was stated."""
        peak_c, rise_k = self.ends.hottest.interface_peak_c, self.ends.hottest.interface_rise_k
        if "contact_share" not in self.shift.standings or peak_c is None or rise_k is None:
            return None
        return peak_c - rise_k + rise_k * self.shift.contact_share / self.base.limit("contact-share-least")

    @property
    def too_thick(self) -> Literal["surely", "usually"] | None:
        """Whether any oil of the fluid's band is too thick to leave a lining, or the middle one is."""
        if self.shift.oil is None or self.base.facings[self.shift.facing].kind != "lined":
            return None
        (thin, thick), limit = self.shift.oil.kv100_band_mm2_s, self.base.limit("lining-kv100-below")
        return "surely" if thin >= limit else "usually" if sqrt(thin * thick) >= limit else None

    @cached_property
    def ends(self) -> BothEnds:
        """At both ends of friction; energy, power and heat are judged at the worse one."""
        return both_ends(self.shift)

    @cached_property
    def warm_ends(self) -> BothEnds:
        """The same with the drag of warm oil: a limit for daily work refuses nothing for what only the cold does."""
        warm = self.shift._replace(drag_nm=self.shift.warm_drag_nm)
        return self.ends if warm == self.shift else both_ends(warm)

    @property
    def is_stopped_by_cold(self) -> bool:
        """Whether drag wins in the oil as it is at the start, and not once it is warm."""
        return self.figures.sync_time_s is None and self.warm_ends.low.sync_time_s is not None

    @property
    def wedges(self) -> bool:
        """Whether the middle of its friction holds the seated ring; that at rest adds a rise which is judged."""
        return self.shift.friction.middle > self.figures.locking_friction

    @property
    def figures(self) -> Figures:
        """At the low end of friction, where torque, time and blocking are judged."""
        return self.ends.low

    @cached_property
    def wiping(self) -> tuple[float, float] | None:
        """How long the film takes to be wiped away, with its spread; None where no fluid is named."""
        return wiping_s(self.shift, self.base)

    @property
    def wiping_s(self) -> float | None:
        """The middle of that; infinite beyond what is computed."""
        return self.wiping and self.wiping[0]

    @property
    def on_the_wire(self) -> dict[str, float | None]:
        """Every figure of an answer by its name."""
        return {
            **{name: getattr(self.figures, name) for name in AT_LOW_FRICTION},
            "wiping_time_s": None if (self.wiping_s or 0) > self.base.limit("wiping-time-hard-from") else self.wiping_s,
            **{name: self.ends.worst(name) for name in AT_WORSE_FRICTION},
        }

    def standing(self, figure: str) -> Standing:
        """The weakest standing that a figure is computed from."""
        return self.shift.standing(*RESTS_ON[figure])

    def measured(self, name: str, *values: float, screening: bool = False) -> Figure:
        """A figure, or the span of several, as a finding carries it."""
        return Figure(
            name=name,
            unit=unit_of(name),
            min=significant(min(values)),
            max=significant(max(values)),
            standing="computed",
            rests_on=self.standing(name),
            screening=screening,
        )

    def computed_limit(self, figure: str, value: float) -> LimitUsed:
        """A figure that another one is held against."""
        return LimitUsed(id=figure, value=value, unit=unit_of(figure), standing=self.standing(figure))

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
            "blocking": weak.least_friction_to_block / shift.friction.low,
            "release": shift.friction.static_typical / weak.locking_friction,
            "index": shift.drag_nm / weak.index_torque_nm,
        }
        if self.wiping_s is not None:
            found["wiping"] = self.wiping_s / base.limit("wiping-time-hard-from")
        if weak.sync_time_s is None:
            found["drag"] = BEYOND_ALL * shift.drag_nm / weak.cone_torque_nm
        for quantity, row in self.limits.items():
            if (value := self.ends.worst(LIMITED[quantity])) is not None:
                found[quantity] = value / row.value
        if (after := self.ends.worst("after_shifts_c")) is not None:
            found["bulk"] = after / base.limit("steel-cone-bulk-from")
        found["taper"] = taper_mm(shift) / base.limit("taper-gap-from")
        if shift.family is not None and (
            self.too_thick or base.facing_families[shift.facing, shift.family.id].fitness not in SERVING
        ):
            found["fluid"] = inf
        return found

    @property
    def worst_ratio(self) -> float:
        """The criterion nearest to its limit, or farthest beyond it."""
        return max(self.ratios.values())

    @property
    def farthest(self) -> Said:
        """What lies farthest outside, in words."""
        return self.outside(max(self.ratios, key=lambda criterion: self.ratios[criterion]))

    def outside(self, criterion: str) -> Said:
        """What it is to lie outside a criterion, in words; a sound ring that the fluid spoils is not blamed."""
        is_sound = self.shift.friction.without_fluid >= self.figures.least_friction_to_block
        if criterion == "drag" and self.is_stopped_by_cold:
            return Said("drag wins until the oil warms", "outside/drag-until-warm")
        if criterion == "release" and not self.wedges:
            return Said("they may wedge on their cones", "outside/release-perhaps")
        if criterion == "blocking" and self.shift.friction.by_fluid and is_sound:
            return Said("the fluid makes sound rings grind", "outside/blocking-by-the-fluid")
        return Said(OUTSIDE[criterion], f"outside/{criterion.replace('_', '-')}")
