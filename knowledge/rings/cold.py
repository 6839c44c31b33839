"""A ring in cold oil: how long its film takes to be wiped away, and how drag grows against its grip."""

from math import exp, hypot, inf, log

import numpy as np

from knowledge.base import KnowledgeBase
from knowledge.loading.facing_rows import RingLandRow
from knowledge.physics.cone import contact_pressure_n_mm2
from knowledge.physics.synchronizing import drag_growth, viscosity_at_drag_growth_mm2_s
from knowledge.physics.wiping import wiping_time_s


def wiping_s_per_mpa_s(
    land: RingLandRow,
    base: KnowledgeBase,
    *,
    detent_force_n: float,
    half_angle_deg: float,
    mean_radius_mm: float,
    face_width_mm: float,
    cones: int,
) -> float:
    """Wiping time for each unit of viscosity; a thread drains to its slots, grooves along the cone to its ends."""
    is_thread = land.groove_runs == "around"
    return wiping_time_s(
        dynamic_viscosity_mpa_s=1.0,
        face_pressure_n_mm2=contact_pressure_n_mm2(
            axial_force_n=detent_force_n,
            half_angle_deg=half_angle_deg,
            mean_radius_mm=mean_radius_mm,
            face_width_mm=face_width_mm,
        ),
        land_width_mm=land.land_width_mm,
        land_share=land.land_share,
        groove_depth_mm=land.groove_depth_mm,
        triangular=land.groove_shape == "triangle",
        groove_length_mm=base.default("shift", "groove_length_mm").value if is_thread else face_width_mm,
        end_to_end_mm=face_width_mm if is_thread else inf,
        permeability_m2=0.0 if land.permeability_m2 is None else land.permeability_m2,
        lining_mm=land.lining_mm or 0.0,
        film_start_um=land.film_start_um,
        film_end_um=land.film_end_um,
        cones=cones,
        cones_exponent=base.limit("wiping-cones-exponent"),
    )


def wiping_spread(land: RingLandRow, base: KnowledgeBase) -> float:
    """Times or divided by what the wiping time of a ring of this kind is known to."""
    is_thread = land.groove_runs == "around"
    return base.limit("wiping-spread-thread") if is_thread else base.limit("wiping-spread-other")


def joint_spread(spread: float, thin: float, thick: float) -> float:
    """The spread of a ring and that of its oil between two viscosities, as independent ones add up."""
    return exp(hypot(log(spread), 0.5 * log(thick / thin)))


def cold_drag_nm(warm_nm: float, kinematic_viscosity_mm2_s: float, base: KnowledgeBase) -> float:
    """The drag that was so much with warm oil, in oil of a viscosity."""
    return warm_nm * drag_growth(kinematic_viscosity_mm2_s=kinematic_viscosity_mm2_s, **_growth(base))


def viscosity_at_drag_mm2_s(warm_nm: float, cold_nm: float, base: KnowledgeBase) -> float:
    """The viscosity at which a drag has grown so far."""
    return viscosity_at_drag_growth_mm2_s(growth=np.maximum(cold_nm / warm_nm, 1.0), **_growth(base))


def _growth(base: KnowledgeBase) -> dict[str, float]:
    names = {"reference_mm2_s": "drag_reference_mm2_s", "viscous_share": "drag_viscous_share",
             "exponent": "drag_exponent"}  # fmt: skip
    return {argument: base.default("shift", name).value for argument, name in names.items()}
