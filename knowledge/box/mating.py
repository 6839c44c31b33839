"""What the box's shapes come to before any oil is in it: wiping and grip at the cone, contact at the gear mesh."""

from functools import reduce
from typing import NamedTuple

import numpy as np

from knowledge.base import KnowledgeBase
from knowledge.box.question import Mesh
from knowledge.physics.cone import cone_torque_nm
from knowledge.physics.film import PitchPoint, effective_modulus_gpa, pitch_point
from knowledge.rings.cold import viscosity_at_drag_mm2_s, wiping_s_per_mpa_s, wiping_spread
from knowledge.rings.ring_shift import chosen_friction


class ConeShape(NamedTuple):
    """The cone that wipes its film away; a half angle that is not given belongs to the facing."""

    mean_radius_mm: float
    face_width_mm: float
    detent_force_n: float
    half_angle_deg: float | None


class Land(NamedTuple):
    """A facing and its condition: what has to wipe the oil away."""

    facing: str
    condition: str


class WipingLand(NamedTuple):
    """The land of a box that wipes slowest, and the ring with the weakest grip.

    Wiping time is proportional to the viscosity of the oil, times or divided by a spread. Drag is slow to overcome on
    a downshift from one viscosity on, and hard from another.
    """

    facing: str
    condition: str
    wiping_s_per_mpa_s: float
    spread: float
    grip_nm: float
    drag_slow_from_mm2_s: float
    drag_hard_from_mm2_s: float


class MeshContact(NamedTuple):
    """The contact of a gear pair at its pitch point."""

    point: PitchPoint
    effective_modulus_gpa: float
    composite_roughness_um: float


def slowest_land(sets: tuple[tuple[Land, int], ...], shape: ConeShape, base: KnowledgeBase) -> WipingLand | None:
    """The land that wipes slowest of some ring sets, each with its cones; None where there are no rings."""
    if not sets:
        return None
    times = [_wiping_s_per_mpa_s(*ring, shape, base) for ring in sets]
    # Films drain one after another at worst and all at once at best, so that more cones are known less well.
    exponent = base.limit("wiping-cones-exponent")
    spreads = [wiping_spread(base.ring_lands[land], base) * cones**exponent for land, cones in sets]
    slowest = np.array(np.broadcast_arrays(*times)).argmax(axis=0) if len(sets) > 1 else np.intp(0)
    grip_nm = reduce(np.minimum, [_grip_nm(*ring, shape, base) for ring in sets])
    warm_nm = base.default("shift", "drag_nm").value
    slow_from, hard_from = (
        viscosity_at_drag_mm2_s(warm_nm, share * grip_nm, base)
        for share in (base.limit("drag-share-slow-from"), base.limit("drag-share-hard-from"))
    )
    land = sets[slowest.flat[0]][0]
    return WipingLand(*land, np.choose(slowest, times), np.choose(slowest, spreads), grip_nm, slow_from, hard_from)


def _wiping_s_per_mpa_s(land: Land, cones: int, shape: ConeShape, base: KnowledgeBase) -> float:
    row = base.ring_lands[land]
    angle = shape.half_angle_deg or row.half_angle_deg
    return wiping_s_per_mpa_s(row, base, **shape._replace(half_angle_deg=angle)._asdict(), cones=cones)


def _grip_nm(land: Land, cones: int, shape: ConeShape, base: KnowledgeBase) -> float:
    """The cone torque of a first shift in the cold, in the middle of the facing's friction."""
    friction = chosen_friction(land.facing, base)
    return cone_torque_nm(
        axial_force_n=base.limit("cold-shift-force"),
        half_angle_deg=shape.half_angle_deg or base.ring_lands[land].half_angle_deg,
        mean_radii_mm=(shape.mean_radius_mm,) * cones,
        frictions=(0.5 * (friction.dynamic_min + friction.dynamic_max),) * cones,
    )


def mesh_contact(mesh: Mesh, base: KnowledgeBase) -> MeshContact:
    """The contact of two steel gears."""
    modulus = base.default("steel", "elastic_modulus_gpa").value
    poisson = base.default("steel", "poisson_ratio").value
    return MeshContact(
        point=pitch_point(
            pitch_radius_1_mm=mesh.driving_radius_mm,
            pitch_radius_2_mm=mesh.driven_radius_mm,
            pressure_angle_deg=mesh.pressure_angle_deg,
            speed_rpm=mesh.speed_rpm,
            torque_nm=mesh.torque_nm,
            face_width_mm=mesh.face_width_mm,
        ),
        effective_modulus_gpa=effective_modulus_gpa(
            modulus_1_gpa=modulus, modulus_2_gpa=modulus, poisson_1=poisson, poisson_2=poisson
        ),
        composite_roughness_um=mesh.composite_roughness_um,
    )
