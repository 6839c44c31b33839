"""One shift over time."""

from collections.abc import Iterator
from math import isfinite

from knowledge.parts.digits import rounded
from knowledge.physics.interface_heat import falling_flux_rise_k
from knowledge.shift.answer import ShiftMoment
from knowledge.shift.loaded_ring import LoadedRing

POINTS = 24

# Where the speeds never match the curve stops here, or where the difference has grown by this share.
UNFINISHED_S, UNFINISHED_GROWTH = 0.5, 0.2


def curve(ring: LoadedRing) -> Iterator[ShiftMoment]:
    """The shift over time: the film is wiped away, then the cones slip until the speeds match, then they hold.

    At the end of friction where the face gets hotter, so that it shows what was judged.
    """
    shift, found = ring.shift, ring.ends.hottest
    peak_c, rise_k = found.interface_peak_c, found.interface_rise_k
    before = None if peak_c is None or rise_k is None else peak_c - rise_k
    start = ring.wiping_s if ring.wiping_s is not None and isfinite(ring.wiping_s) else 0.0
    slip_s, drift = found.sync_time_s, -1.0
    if slip_s is None:
        momentum = 2.0 * found.sliding_speed_m_s * 500.0 / max(shift.mean_radii_mm) * shift.inertia_kg_m2
        growth = (shift.drag_nm - found.cone_torque_nm) / momentum
        slip_s = min(UNFINISHED_S, UNFINISHED_GROWTH / growth) if growth > 0 else UNFINISHED_S
        drift = growth * slip_s
    if start > 0:
        yield _moment(0.0, shift.speed_difference_rpm, 0.0, before)
        yield _moment(start, shift.speed_difference_rpm, 0.0, before)
    for step in range(POINTS + 1):
        # Close together at first, where the face warms fastest.
        share = (step / POINTS) ** 2
        face_c = before
        if face_c is not None:
            face_c += falling_flux_rise_k(
                initial_flux_w_mm2=found.power_peak_w_mm2 / shift.contact_share,
                slip_time_s=slip_s,
                time_s=share * slip_s,
                facing_effusivity_w_s05_m2_k=shift.heat.facing_effusivity,
                cone_effusivity_w_s05_m2_k=shift.heat.cone_effusivity,
            )
        speed_rpm = shift.speed_difference_rpm * (1.0 + drift * share)
        yield _moment(start + share * slip_s, speed_rpm, found.cone_torque_nm, face_c)


def _moment(time_s: float, speed_rpm: float, torque_nm: float, face_c: float | None) -> ShiftMoment:
    return ShiftMoment(
        time_s=rounded(time_s),
        speed_difference_rpm=rounded(max(speed_rpm, 0.0)),
        torque_nm=rounded(torque_nm),
        interface_c=rounded(face_c),
    )
