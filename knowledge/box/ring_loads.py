"""The hard shift that goes with a duty: what it asks of each ring in the box."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from math import inf

from knowledge.base import KnowledgeBase
from knowledge.box.facts import SizedRing
from knowledge.box.mating import ConeShape
from knowledge.parts.provenance import Standing, weakest
from knowledge.parts.ring import RingGeometry
from knowledge.rings.figures import both_ends
from knowledge.rings.ring_shift import RingShift, limits_of, ring_shift
from knowledge.rings.shift_question import ShiftQuestion


@dataclass(frozen=True, slots=True)
class FaceHeat:
    """How much the hard shifts of a duty heat the face of a ring above the sump, and what the face stands.

    `rise_k` is infinite where drag wins, so that it never stops slipping.
    """

    rise_k: float
    limit_c: float
    standing: Standing


@dataclass(frozen=True, slots=True, eq=False)
class RingLoads:
    """How far the friction of each ring stands above the least that still blocks, and the heat of each duty at it."""

    reserves: Mapping[SizedRing, float]
    heats: Mapping[tuple[SizedRing, str], FaceHeat]


def ring_loads(rings: Iterable[SizedRing], duties: Iterable[str], shape: ConeShape, base: KnowledgeBase) -> RingLoads:
    """The loads of some rings in some duties; force and speed cancel in the reserve."""
    rings, duties = tuple(rings), tuple(duties)
    any_duty = next(iter(base.duties))
    return RingLoads(
        reserves={ring: both_ends(_hard_shift(ring, any_duty, shape, base)).low.blocking_reserve for ring in rings},
        heats={(ring, duty): _face_heat(ring, duty, shape, base) for ring in rings for duty in duties},
    )


def _face_heat(ring: SizedRing, duty: str, shape: ConeShape, base: KnowledgeBase) -> FaceHeat:
    """At the end of the ring's friction where the face gets hotter."""
    shift = _hard_shift(ring, duty, shape, base)
    limit = next(row for row in limits_of(ring.facing, base) if row.quantity == "interface_temperature_c")
    peak_c = both_ends(shift).worst("interface_peak_c")
    return FaceHeat(
        rise_k=inf if peak_c is None else peak_c,
        limit_c=limit.value,
        standing=weakest(shift.heat.standing, base.duties[duty].standing, shift.standing(*shift.standings)),
    )


def _hard_shift(ring: SizedRing, duty: str, shape: ConeShape, base: KnowledgeBase) -> RingShift:
    """The hard shift of a duty in oil of 0 °C, so that its peak is the rise."""
    return ring_shift(duty_question(ring, duty, 0.0, shape, base), ring.facing, base)


def duty_question(
    ring: SizedRing, duty: str, sump_hot_c: float, shape: ConeShape | RingGeometry | None, base: KnowledgeBase
) -> ShiftQuestion:
    """The hard shift of a duty, put as a question of its own."""
    row = base.duties[duty]
    shape = shape or RingGeometry()
    return ShiftQuestion(
        facing=ring.facing,
        inertia_kg_m2=row.inertia_kg_m2,
        speed_difference_rpm=row.speed_difference_rpm,
        direction="down",
        shift_force_n=row.shift_force_n,
        cones=ring.cones,
        mean_radius_mm=shape.mean_radius_mm,
        half_angle_deg=shape.half_angle_deg,
        face_width_mm=shape.face_width_mm,
        shifts=row.shifts,
        shift_interval_s=row.shift_interval_s,
        sump_c=sump_hot_c,
    )
