"""What one shift does to a ring, in figures, at both ends of its friction."""

from collections.abc import Mapping
from functools import lru_cache
from math import inf, sqrt
from typing import NamedTuple

from knowledge.base import KnowledgeBase
from knowledge.loading.facing_rows import LimitName
from knowledge.physics import cone, interface_heat, synchronizing
from knowledge.physics.density import HOTTEST_C
from knowledge.physics.limits import OutOfRange
from knowledge.rings.cold import joint_spread, wiping_s_per_mpa_s, wiping_spread
from knowledge.rings.ring_shift import RingShift


class Figures(NamedTuple):
    """One shift at one friction, by the names on the wire. What needs an end of the slip is None when drag wins."""

    friction: float
    cone_torque_nm: float
    index_torque_nm: float
    least_friction_to_block: float
    blocking_reserve: float
    locking_friction: float
    release_margin: float
    pull_off_force_n: float
    most_pull_off_n: float
    pressure_n_mm2: float
    sliding_speed_m_s: float
    power_peak_w_mm2: float
    sync_time_s: float | None = None
    energy_j: float | None = None
    energy_per_area_j_mm2: float | None = None
    power_mean_w_mm2: float | None = None
    interface_rise_k: float | None = None
    interface_peak_c: float | None = None
    after_shifts_c: float | None = None


# The figure that each limit of a facing holds for.
LIMITED: Mapping[LimitName, str] = {
    "sliding_speed_m_s": "sliding_speed_m_s",
    "specific_energy_j_mm2": "energy_per_area_j_mm2",
    "mean_power_w_mm2": "power_mean_w_mm2",
    "pressure_n_mm2": "pressure_n_mm2",
    "interface_temperature_c": "interface_peak_c",
}


class BothEnds(NamedTuple):
    """One shift at the low and at the high end of its friction.

    Energy, power and heat each fall, rise, or fall and then rise with friction: strong friction makes the slip short
    and hot, weak friction makes it long where drag fights it. So the worst of each lies at one end or the other.
    """

    low: Figures
    high: Figures

    def of(self, figure: str) -> tuple[float, float] | None:
        """A figure at the low and at the high end; None where drag wins at the low end."""
        low, high = getattr(self.low, figure), getattr(self.high, figure)
        return None if low is None or high is None else (low, high)

    def worst(self, figure: str) -> float | None:
        """A figure where it is highest; None where drag wins at the low end."""
        ends = self.of(figure)
        return ends and max(ends)

    @property
    def hottest(self) -> Figures:
        """The end at which the face gets hottest; the low end where drag wins there."""
        low, high = self.low.interface_peak_c, self.high.interface_peak_c
        return self.high if low is not None and high is not None and high > low else self.low


def both_ends(shift: RingShift) -> BothEnds:
    """The figures of a shift at both ends of its sliding friction; one and the same where the friction is stated."""
    low, high = shift.friction.low, shift.friction.high
    weak = figures(shift, friction=low)
    return BothEnds(weak, figures(shift, friction=high) if high > low else weak)


def figures(shift: RingShift, *, friction: float) -> Figures:
    """The figures of a shift at one sliding friction."""
    radii, angle, force = shift.mean_radii_mm, shift.half_angle_deg, shift.shift_force_n
    area = cone.face_area_mm2(mean_radii_mm=radii, face_width_mm=shift.face_width_mm)
    torque = cone.cone_torque_nm(
        axial_force_n=force, half_angle_deg=angle, mean_radii_mm=radii, frictions=(friction,) * shift.cones
    )
    sleeve = {name: getattr(shift, name) for name in ("spline_radius_mm", "chamfer_included_deg", "chamfer_friction")}
    least = cone.least_friction_to_block(mean_radii_mm=radii, half_angle_deg=angle, **sleeve)
    locking = cone.locking_friction(half_angle_deg=angle)
    speed = cone.sliding_speed_m_s(mean_radius_mm=shift.mean_radius_mm, speed_difference_rpm=shift.speed_difference_rpm)
    return Figures(
        friction=friction,
        cone_torque_nm=torque,
        index_torque_nm=cone.index_torque_nm(axial_force_n=force, **sleeve),
        least_friction_to_block=least,
        blocking_reserve=friction / least,
        locking_friction=locking,
        release_margin=locking / shift.friction.static_typical,
        pull_off_force_n=_pull_off_n(shift, shift.friction.static_typical),
        most_pull_off_n=_pull_off_n(shift, shift.friction.static_high),
        pressure_n_mm2=cone.contact_pressure_n_mm2(
            axial_force_n=force, half_angle_deg=angle, mean_radius_mm=min(radii), face_width_mm=shift.face_width_mm
        ),
        sliding_speed_m_s=speed,
        power_peak_w_mm2=torque * speed * 1000.0 / shift.mean_radius_mm / area,
        **_of_the_slip(shift, torque, area),
    )


def _pull_off_n(shift: RingShift, static_friction: float) -> float:
    """Force that frees the seated ring; none where it comes free by itself."""
    force = cone.pull_off_force_n(
        axial_force_n=shift.shift_force_n, half_angle_deg=shift.half_angle_deg, static_friction=static_friction
    )
    return max(force, 0.0)


def _of_the_slip(shift: RingShift, torque_nm: float, area_mm2: float) -> dict[str, float]:
    """The figures that need an end of the slip; none where drag wins."""
    try:
        sync = synchronizing.synchronization(
            inertia_kg_m2=shift.inertia_kg_m2,
            speed_difference_rpm=shift.speed_difference_rpm,
            cone_torque_nm=torque_nm,
            drag_nm=shift.drag_nm,
            upshift=shift.is_upshift,
        )
    except synchronizing.NeverSynchronizes:
        return {}
    load = synchronizing.facing_load(
        energy_j=sync.energy_j, mean_power_w=sync.mean_power_w, peak_power_w=sync.peak_power_w, face_area_mm2=area_mm2
    )
    rise = interface_heat.falling_flux_peak_k(
        initial_flux_w_mm2=load.peak_power_w_mm2 / shift.contact_share,
        slip_time_s=sync.time_s,
        facing_effusivity_w_s05_m2_k=shift.heat.facing_effusivity,
        cone_effusivity_w_s05_m2_k=shift.heat.cone_effusivity,
    )
    bulk = interface_heat.bulk_rise_k(
        rise_per_shift_k=load.energy_j_mm2 / shift.warming_j_mm2_k,
        shifts=shift.shifts,
        interval_s=shift.shift_interval_s,
        cooling_time_constant_s=shift.cooling_time_constant_s,
    )
    return {
        "sync_time_s": sync.time_s,
        "energy_j": sync.energy_j,
        "energy_per_area_j_mm2": load.energy_j_mm2,
        "power_mean_w_mm2": load.mean_power_w_mm2,
        "interface_rise_k": rise,
        # What a single shift leaves before it is nothing; rounding may put it a hair below.
        "interface_peak_c": shift.sump_c + max(bulk.before_k, 0.0) + rise,
        "after_shifts_c": shift.sump_c + bulk.after_k,
    }


# Many changes of a shift leave the wiping as it is.
_wiping_s_per_mpa_s = lru_cache(maxsize=1_000)(wiping_s_per_mpa_s)


def wiping_s(shift: RingShift, base: KnowledgeBase) -> tuple[float, float] | None:
    """How long the ring takes to wipe the film of a usual oil of the fluid away, and the spread of that.

    None where no fluid is named; infinite where it is thicker than can be computed. Hotter than the standards go it is
    taken to be as thick as there, which is more than it is.
    """
    if shift.oil is None:
        return None
    spread = wiping_spread(shift.land, base)
    try:
        thin, thick = shift.oil.dynamic_viscosity_span_mpa_s(min(shift.start_c, HOTTEST_C))
    except OutOfRange:
        return inf, spread
    per_viscosity = _wiping_s_per_mpa_s(
        shift.land,
        base,
        detent_force_n=shift.detent_force_n,
        half_angle_deg=shift.half_angle_deg,
        mean_radius_mm=shift.mean_radius_mm,
        face_width_mm=shift.face_width_mm,
        cones=shift.cones,
    )
    return per_viscosity * sqrt(thin * thick), joint_spread(spread, thin, thick)


def taper_mm(shift: RingShift) -> float:
    """Gap left at one end of the face where ring and cone are not of the same angle."""
    return cone.taper_gap_mm(
        ring_half_angle_deg=shift.half_angle_deg,
        cone_half_angle_deg=shift.cone_half_angle_deg or shift.half_angle_deg,
        face_width_mm=shift.face_width_mm,
    )
