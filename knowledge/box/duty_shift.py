"""The hard shift that goes with a duty: what it asks of each ring in the box."""

from functools import lru_cache
from typing import NamedTuple

from knowledge.base import KnowledgeBase
from knowledge.parts.provenance import Standing, weakest
from knowledge.parts.ring import RingGeometry
from knowledge.rings.figures import both_ends
from knowledge.rings.ring_shift import RingShift, limits_of, ring_shift
from knowledge.rings.shift_question import ShiftQuestion


class RingReserve(NamedTuple):
    """How far the friction of a ring, with a fluid that suits it, stands above the least that still blocks."""

    facing: str
    cones: int
    reserve: float


class ShiftHeat(NamedTuple):
    """The hottest the face of a ring gets in the hard shifts of a duty, and what it stands.

    `peak_c` is infinite where drag wins, so that it never stops slipping.
    """

    facing: str
    peak_c: float
    limit_c: float
    standing: Standing


@lru_cache(maxsize=1_000)
def ring_reserve(facing: str, cones: int, ring_geometry: RingGeometry, base: KnowledgeBase) -> RingReserve:
    """The blocking reserve of a ring; force and speed cancel."""
    any_duty = next(iter(base.duties))
    shift = _shift(facing, cones, any_duty, base.duties[any_duty].sump_low_c, ring_geometry, base)
    return RingReserve(facing, cones, shift.friction.low / both_ends(shift).low.least_friction)


@lru_cache(maxsize=5_000)
def shift_heat(
    facing: str, cones: int, duty: str, sump_hot_c: float, ring_geometry: RingGeometry, base: KnowledgeBase
) -> ShiftHeat:
    """The heat of a duty's hard shifts, at the end of the ring's friction where the face gets hotter."""
    shift = _shift(facing, cones, duty, sump_hot_c, ring_geometry, base)
    limit = next(row for row in limits_of(facing, base) if row.quantity == "interface_temperature_c")
    peak = both_ends(shift).worst(lambda end: end.peak_c)
    return ShiftHeat(
        facing=facing,
        peak_c=float("inf") if peak is None else peak,
        limit_c=limit.value,
        standing=weakest(limit.standing, shift.heat.standing, "judgement"),
    )


def duty_question(
    facing: str, cones: int, duty: str, sump_hot_c: float, ring_geometry: RingGeometry | None, base: KnowledgeBase
) -> ShiftQuestion:
    """The hard shift of a duty, put as a question of its own."""
    row = base.duties[duty]
    shape = ring_geometry or RingGeometry()
    return ShiftQuestion(
        facing=facing,
        inertia_kg_m2=row.inertia_kg_m2,
        speed_difference_rpm=row.speed_difference_rpm,
        direction="down",
        shift_force_n=row.shift_force_n,
        cones=cones,
        mean_radius_mm=shape.mean_radius_mm,
        half_angle_deg=shape.half_angle_deg,
        face_width_mm=shape.face_width_mm,
        shifts=row.shifts,
        shift_interval_s=row.shift_interval_s,
        sump_c=sump_hot_c,
    )


def _shift(
    facing: str, cones: int, duty: str, sump_hot_c: float, ring_geometry: RingGeometry, base: KnowledgeBase
) -> RingShift:
    return ring_shift(duty_question(facing, cones, duty, sump_hot_c, ring_geometry, base), facing, base)
