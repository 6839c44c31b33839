"""One shift over time."""

from collections.abc import Iterator

from knowledge.physics.interface_heat import falling_flux_rise_k
from knowledge.rings.figures import Figures
from knowledge.rings.ring_shift import RingShift
from knowledge.shift.answer import ShiftMoment
from knowledge.shift.loaded_ring import LoadedRing
from knowledge.text import significant

POINTS = 24

# Where the speeds never match the curve stops here, or where the difference has grown by this share.
UNFINISHED_S, UNFINISHED_GROWTH = 0.5, 0.2


def curve(ring: LoadedRing) -> Iterator[ShiftMoment]:
    """The shift over time: the film is wiped away, then the cones slip until the speeds match, then they hold.

    At the end of friction where the face gets hotter, so that it shows what was judged.
    """
    shift, found = ring.shift, ring.ends.hottest
    start = ring.wiping_s if ring.wiping_s is not None and ring.wiping_s != float("inf") else 0.0
    slip_s, drift = _slip(shift, found)
    before = None if found.peak_c is None or found.rise_k is None else found.peak_c - found.rise_k
    if start > 0:
        yield _moment(0.0, shift.speed_difference_rpm, 0.0, before)
        yield _moment(start, shift.speed_difference_rpm, 0.0, before)
    for step in range(POINTS + 1):
        # Close together at first, where the face warms fastest.
        share = (step / POINTS) ** 2
        face_c = None
        if before is not None and found.load is not None:
            face_c = before + falling_flux_rise_k(
                initial_flux_w_mm2=found.load.peak_power_w_mm2 / shift.contact_share,
                slip_time_s=slip_s,
                time_s=share * slip_s,
                facing_effusivity_w_s05_m2_k=shift.heat.facing_effusivity,
                cone_effusivity_w_s05_m2_k=shift.heat.cone_effusivity,
            )
        speed_rpm = shift.speed_difference_rpm * (1.0 + drift * share)
        yield _moment(start + share * slip_s, speed_rpm, found.cone_torque_nm, face_c)


def _slip(shift: RingShift, found: Figures) -> tuple[float, float]:
    """How long the drawn slip lasts, and by which share of itself the speed difference changes in it."""
    if found.sync is not None:
        return found.sync.time_s, -1.0
    momentum = 2.0 * found.sliding_speed_m_s * 500.0 / max(shift.mean_radii_mm) * shift.inertia_kg_m2
    growth = (shift.drag_nm - found.cone_torque_nm) / momentum
    slip_s = min(UNFINISHED_S, UNFINISHED_GROWTH / growth) if growth > 0 else UNFINISHED_S
    return slip_s, growth * slip_s


def _moment(time_s: float, speed_rpm: float, torque_nm: float, face_c: float | None) -> ShiftMoment:
    return ShiftMoment(
        time_s=significant(time_s),
        speed_difference_rpm=significant(max(speed_rpm, 0.0)),
        torque_nm=significant(torque_nm),
        interface_c=None if face_c is None else significant(face_c),
    )
