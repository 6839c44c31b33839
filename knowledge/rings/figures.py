"""What one shift does to a ring, in figures, at both ends of its friction."""

from collections.abc import Callable, Mapping
from math import inf
from typing import NamedTuple

from knowledge.loading.facing_rows import LimitName
from knowledge.physics import cone, interface_heat, synchronizing
from knowledge.physics.density import HOTTEST_C
from knowledge.physics.limits import OutOfRange
from knowledge.physics.wiping import land_pressure_n_mm2, wiping_time_s
from knowledge.rings.ring_shift import RingShift


class Figures(NamedTuple):
    """One shift at one friction. What needs an end of the slip is None when drag wins."""

    friction: float
    cone_torque_nm: float
    index_torque_nm: float
    least_friction: float
    locking_friction: float
    pull_off_n: float
    most_pull_off_n: float
    pressure_n_mm2: float
    sliding_speed_m_s: float
    peak_power_w_mm2: float
    sync: synchronizing.Synchronization | None
    load: synchronizing.FacingLoad | None
    rise_k: float | None
    peak_c: float | None
    after_c: float | None


# The figure that each limit of a facing holds for.
LIMITED: Mapping[LimitName, Callable[[Figures], float | None]] = {
    "sliding_speed_m_s": lambda end: end.sliding_speed_m_s,
    "specific_energy_j_mm2": lambda end: end.load.energy_j_mm2 if end.load else None,
    "mean_power_w_mm2": lambda end: end.load.mean_power_w_mm2 if end.load else None,
    "pressure_n_mm2": lambda end: end.pressure_n_mm2,
    "interface_temperature_c": lambda end: end.peak_c,
}


class BothEnds(NamedTuple):
    """One shift at the low and at the high end of its friction.

    Energy, power and heat each fall, rise, or fall and then rise with friction: strong friction makes the slip short
    and hot, weak friction makes it long where drag fights it. So the worst of each lies at one end or the other.
    """

    low: Figures
    high: Figures

    def span(self, figure: Callable[[Figures], float | None]) -> tuple[float, float] | None:
        """A figure where it is lowest and where it is highest; None where drag wins at the low end."""
        low, high = figure(self.low), figure(self.high)
        return None if low is None or high is None else (min(low, high), max(low, high))

    def worst(self, figure: Callable[[Figures], float | None]) -> float | None:
        """A figure where it is highest; None where drag wins at the low end."""
        span = self.span(figure)
        return span[1] if span else None

    @property
    def hottest(self) -> Figures:
        """The end at which the face gets hottest; the low end where drag wins there."""
        low, high = self.low.peak_c, self.high.peak_c
        return self.high if low is not None and high is not None and high > low else self.low


def both_ends(shift: RingShift) -> BothEnds:
    """The figures of a shift at both ends of its sliding friction; one and the same where the friction is stated."""
    low = figures(shift, friction=shift.friction.low)
    is_span = shift.friction.high > shift.friction.low
    return BothEnds(low, figures(shift, friction=shift.friction.high) if is_span else low)


def figures(shift: RingShift, *, friction: float) -> Figures:
    """The figures of a shift at one sliding friction."""
    radii, angle, force = shift.mean_radii_mm, shift.half_angle_deg, shift.shift_force_n
    area = cone.face_area_mm2(mean_radii_mm=radii, face_width_mm=shift.face_width_mm)
    torque = cone.cone_torque_nm(
        axial_force_n=force, half_angle_deg=angle, mean_radii_mm=radii, frictions=(friction,) * len(radii)
    )
    sync, load = _slip(shift, torque, area)
    rise, peak, after = _heat(shift, sync, load)
    speed = cone.sliding_speed_m_s(mean_radius_mm=max(radii), speed_difference_rpm=shift.speed_difference_rpm)
    return Figures(
        friction=friction,
        cone_torque_nm=torque,
        index_torque_nm=cone.index_torque_nm(
            axial_force_n=force,
            spline_radius_mm=shift.spline_radius_mm,
            chamfer_included_deg=shift.chamfer_included_deg,
            chamfer_friction=shift.chamfer_friction,
        ),
        least_friction=cone.least_friction_to_block(
            mean_radii_mm=radii,
            half_angle_deg=angle,
            spline_radius_mm=shift.spline_radius_mm,
            chamfer_included_deg=shift.chamfer_included_deg,
            chamfer_friction=shift.chamfer_friction,
        ),
        locking_friction=cone.locking_friction(half_angle_deg=angle),
        pull_off_n=_pull_off_n(shift, shift.friction.static_typical),
        most_pull_off_n=_pull_off_n(shift, shift.friction.static_high),
        pressure_n_mm2=cone.contact_pressure_n_mm2(
            axial_force_n=force, half_angle_deg=angle, mean_radius_mm=min(radii), face_width_mm=shift.face_width_mm
        ),
        sliding_speed_m_s=speed,
        peak_power_w_mm2=torque * speed * 1000.0 / max(radii) / area,
        sync=sync,
        load=load,
        rise_k=rise,
        peak_c=peak,
        after_c=after,
    )


def _pull_off_n(shift: RingShift, static_friction: float) -> float:
    """Force that frees the seated ring; none where it comes free by itself."""
    force = cone.pull_off_force_n(
        axial_force_n=shift.shift_force_n, half_angle_deg=shift.half_angle_deg, static_friction=static_friction
    )
    return max(force, 0.0)


def _slip(
    shift: RingShift, torque_nm: float, area_mm2: float
) -> tuple[synchronizing.Synchronization | None, synchronizing.FacingLoad | None]:
    try:
        sync = synchronizing.synchronization(
            inertia_kg_m2=shift.inertia_kg_m2,
            speed_difference_rpm=shift.speed_difference_rpm,
            cone_torque_nm=torque_nm,
            drag_nm=shift.drag_nm,
            upshift=shift.is_upshift,
        )
    except synchronizing.NeverSynchronizes:
        return None, None
    load = synchronizing.facing_load(
        energy_j=sync.energy_j,
        mean_power_w=sync.mean_power_w,
        peak_power_w=sync.peak_power_w,
        face_area_mm2=area_mm2,
    )
    return sync, load


def _heat(
    shift: RingShift, sync: synchronizing.Synchronization | None, load: synchronizing.FacingLoad | None
) -> tuple[float | None, float | None, float | None]:
    """Flash of one shift, peak in the last one, and ring and cone through and through after it."""
    if sync is None or load is None:
        return None, None, None
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
    # What a single shift leaves before it is nothing; rounding may put it a hair below.
    before = max(bulk.before_k, 0.0)
    return rise, shift.sump_c + before + rise, shift.sump_c + bulk.after_k


def wiping_s(shift: RingShift) -> float | None:
    """How long the ring takes to wipe the film away, at the thick edge of the fluid.

    None where no fluid is named; infinite where it is thicker than can be computed. Hotter than the standards go it is
    taken to be as thick as there, which is more than it is.
    """
    if shift.oil is None:
        return None
    try:
        thickest = shift.oil.dynamic_viscosity_span_mpa_s(min(shift.start_c, HOTTEST_C))[1]
    except OutOfRange:
        return inf
    pressure = land_pressure_n_mm2(
        axial_force_n=shift.detent_force_n,
        half_angle_deg=shift.half_angle_deg,
        mean_radius_mm=min(shift.mean_radii_mm),
        face_width_mm=shift.face_width_mm,
        land_share=shift.land.land_share,
    )
    return wiping_time_s(
        dynamic_viscosity_mpa_s=thickest,
        land_width_mm=shift.land.land_width_mm,
        land_pressure_n_mm2=pressure,
        film_start_um=shift.land.film_start_um,
        film_end_um=shift.land.film_end_um,
    )


def taper_mm(shift: RingShift) -> float:
    """Gap left at one end of the face where ring and cone are not of the same angle."""
    return cone.taper_gap_mm(
        ring_half_angle_deg=shift.half_angle_deg,
        cone_half_angle_deg=shift.cone_half_angle_deg or shift.half_angle_deg,
        face_width_mm=shift.face_width_mm,
    )
