"""What the box's shapes come to before any oil is in it: land pressures at the cone, contact at the gear mesh."""

from typing import NamedTuple

from knowledge.base import KnowledgeBase
from knowledge.box.question import Mesh
from knowledge.loading.schema import RingLandRow
from knowledge.physics.film import PitchPoint, effective_modulus_gpa, pitch_point
from knowledge.physics.wiping import land_pressure_n_mm2, wiping_time_s


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
    """The land of a box that wipes slowest; its wiping time is proportional to the viscosity of the oil."""

    facing: str
    condition: str
    wiping_s_per_mpa_s: float
    new_wiping_s_per_mpa_s: float


class MeshContact(NamedTuple):
    """The contact of a gear pair at its pitch point."""

    point: PitchPoint
    effective_modulus_gpa: float
    composite_roughness_um: float


def slowest_land(lands: tuple[Land, ...], shape: ConeShape, base: KnowledgeBase) -> WipingLand | None:
    """The land that wipes slowest, or None where there are no rings."""
    wiping = [
        WipingLand(
            facing=land.facing,
            condition=land.condition,
            wiping_s_per_mpa_s=_wiping_s_per_mpa_s(base.ring_lands[land], shape),
            new_wiping_s_per_mpa_s=_wiping_s_per_mpa_s(base.ring_lands[land.facing, "new"], shape),
        )
        for land in lands
    ]
    return max(wiping, key=lambda land: land.wiping_s_per_mpa_s, default=None)


def _wiping_s_per_mpa_s(row: RingLandRow, shape: ConeShape) -> float:
    pressure = land_pressure_n_mm2(
        axial_force_n=shape.detent_force_n,
        half_angle_deg=shape.half_angle_deg or row.half_angle_deg,
        mean_radius_mm=shape.mean_radius_mm,
        face_width_mm=shape.face_width_mm,
        land_share=row.land_share,
    )
    return wiping_time_s(
        dynamic_viscosity_mpa_s=1.0,
        land_width_mm=row.land_width_mm,
        land_pressure_n_mm2=pressure,
        film_start_um=row.film_start_um,
        film_end_um=row.film_end_um,
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
