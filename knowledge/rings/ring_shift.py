"""One shift of one facing with everything known: what was asked, and what had to be assumed."""

from collections.abc import Mapping
from math import sqrt
from typing import Any, NamedTuple

from knowledge.base import KnowledgeBase
from knowledge.loading.facing_rows import (
    STEEL_CONE,
    FacingLimitRow,
    FacingThermalRow,
    FrictionByFluidRow,
    FrictionRow,
    RingLandRow,
)
from knowledge.loading.fluid_rows import FamilyRow
from knowledge.lubricant import Lubricant
from knowledge.parts.provenance import Standing, weakest
from knowledge.physics.interface_heat import effusivity_w_s05_m2_k
from knowledge.physics.limits import OutOfRange
from knowledge.physics.synchronizing import reduced_inertia_kg_m2
from knowledge.physics.viscosity import THICKEST_MM2_S
from knowledge.rings.cold import cold_drag_nm
from knowledge.rings.shift_question import InertiaParts, ShiftQuestion
from knowledge.text import Said

# All that is assumed where the question leaves it out, by the part of defaults.csv that holds it.
ASSUMED = {
    "ring_geometry": ("mean_radius_mm", "face_width_mm", "detent_force_n"),
    "shift": ("cones", "shift_force_n", "chamfer_included_deg", "chamfer_friction", "drag_nm", "sump_c",
              "contact_share", "shifts", "shift_interval_s"),
}  # fmt: skip


class Friction(NamedTuple):
    """The span of a ring's friction: sliding from low to high, and at rest as it usually is and as high as it may rise.

    `without_fluid` is the low end with a fluid that suits the facing; `by_fluid` what the named fluid leaves of it.
    """

    low: float
    high: float
    static_typical: float
    static_high: float
    without_fluid: float
    by_fluid: FrictionByFluidRow | None
    standing: Standing
    static_standing: Standing
    reason: str

    @property
    def middle(self) -> float:
        """Sliding, the middle of the span."""
        return 0.5 * (self.low + self.high)


class FacingHeat(NamedTuple):
    """How facing and cone take up heat."""

    facing_effusivity: float
    cone_effusivity: float
    standing: Standing


class RingShift(NamedTuple):
    """One shift of one ring."""

    facing: str
    friction: Friction
    mean_radii_mm: tuple[float, ...]
    half_angle_deg: float
    cone_half_angle_deg: float | None
    face_width_mm: float
    shift_force_n: float
    inertia_kg_m2: float
    speed_difference_rpm: float
    is_upshift: bool
    drag_nm: float
    warm_drag_nm: float
    spline_radius_mm: float
    chamfer_included_deg: float
    chamfer_friction: float
    shifts: int
    shift_interval_s: float
    sump_c: float
    start_c: float
    detent_force_n: float
    contact_share: float
    # What a square millimetre of face takes up for each kelvin, ring and cone through and through.
    warming_j_mm2_k: float
    cooling_time_constant_s: float
    land: RingLandRow
    heat: FacingHeat
    oil: Lubricant | None
    family: FamilyRow | None
    standings: Mapping[str, Standing]

    @property
    def cones(self) -> int:
        """How many cones it has."""
        return len(self.mean_radii_mm)

    @property
    def mean_radius_mm(self) -> float:
        """The mean radius of its largest cone."""
        return max(self.mean_radii_mm)

    def standing(self, *names: str) -> Standing:
        """The weakest standing of some fields; what the caller stated counts as `computed`."""
        return weakest("computed", *(self.standings[name] for name in names if name in self.standings))


def ring_shift(question: ShiftQuestion, facing: str, base: KnowledgeBase) -> RingShift:
    """The shift of one facing, each thing the caller left out assumed."""
    taken: dict[str, Any] = {
        name: base.default(part, name).value if getattr(question, name) is None else getattr(question, name)
        for part, names in ASSUMED.items()
        for name in names
        if name not in ("mean_radius_mm", "cones")
    }
    oil = next((oil for oil in base.lubricants if oil.id == question.fluid), None)
    radii = mean_radii_mm(question, base)
    land = base.ring_lands[facing, question.condition or "new"]
    steel, depth_mm = _heat_row(STEEL_CONE, base), base.default("shift", "warming_depth_mm").value
    friction, heat = _friction(question, facing, oil, base), _facing_heat(_heat_row(facing, base), steel)
    taken["warm_drag_nm"] = taken["drag_nm"]
    start_c, standings = taken["sump_c"] if question.start_c is None else question.start_c, {}
    if oil is not None and (cold_nm := _drag_nm(taken["drag_nm"], oil, start_c, base)) > taken["drag_nm"]:
        taken["drag_nm"], standings["drag_nm"] = cold_nm, base.default("shift", "drag_exponent").standing
    return RingShift(
        **{**taken, "shifts": int(taken["shifts"])},
        facing=facing,
        friction=friction,
        mean_radii_mm=radii,
        half_angle_deg=question.half_angle_deg or question.cone_half_angle_deg or land.half_angle_deg,
        cone_half_angle_deg=question.cone_half_angle_deg,
        inertia_kg_m2=_inertia_kg_m2(question),
        speed_difference_rpm=question.speed_difference_rpm,
        is_upshift=question.direction == "up",
        spline_radius_mm=question.spline_radius_mm or base.default("shift", "spline_to_mean_radius").value * max(radii),
        start_c=start_c,
        warming_j_mm2_k=depth_mm * _density_kg_m3(steel) * steel.specific_heat_j_kg_k * 1e-9,
        cooling_time_constant_s=base.default("shift", "cooling_time_constant_s").value,
        land=land,
        heat=heat,
        oil=oil,
        family=oil.family if oil else None,
        standings={
            **_standings(question, land, base),
            **standings,
            "friction": friction.standing,
            "static_friction": friction.static_standing,
            "heat": heat.standing,
        },
    )


def _drag_nm(warm_nm: float, oil: Lubricant, temperature_c: float, base: KnowledgeBase) -> float:
    """The drag in a usual oil of its kind at a temperature; what is too thick to compute counts as the thickest."""
    try:
        thin, thick = oil.viscosity_span_mm2_s(temperature_c)
    except OutOfRange as beyond:
        return cold_drag_nm(warm_nm, THICKEST_MM2_S, base) if beyond.value < beyond.low else warm_nm
    return cold_drag_nm(warm_nm, sqrt(thin * thick), base)


def _standings(question: ShiftQuestion, land: RingLandRow, base: KnowledgeBase) -> dict[str, Standing]:
    """The standing of each field that the caller left out."""
    found = {row.quantity: row.standing for row in base.defaults.values() if row.part in ASSUMED}
    found |= dict.fromkeys(("half_angle_deg", "land"), land.standing)
    found["spline_radius_mm"] = found["spline_to_mean_radius"]
    stated = {name for name in found if getattr(question, name, None) is not None}
    if question.cone_half_angle_deg is not None:
        stated.add("half_angle_deg")
    if isinstance(question.mean_radius_mm, tuple):
        stated.add("cones")
    return {name: standing for name, standing in found.items() if name not in stated}


def _inertia_kg_m2(question: ShiftQuestion) -> float:
    """The inertia at the gear wheel, reduced where it was given by its parts."""
    parts = question.inertia_kg_m2
    if not isinstance(parts, InertiaParts):
        return parts
    return reduced_inertia_kg_m2(
        gear_inertia_kg_m2=parts.gear,
        layshaft_inertia_kg_m2=parts.layshaft,
        input_inertia_kg_m2=parts.input,
        ratio_constant=parts.ratio_constant,
        ratio_gear=parts.ratio_gear,
    )


def mean_radii_mm(question: ShiftQuestion, base: KnowledgeBase) -> tuple[float, ...]:
    """The mean radius of every cone."""
    radius = question.mean_radius_mm
    if isinstance(radius, tuple):
        return radius
    one = radius or base.default("ring_geometry", "mean_radius_mm").value
    return (one,) * (question.cones or int(base.default("shift", "cones").value))


def _friction(question: ShiftQuestion, facing: str, oil: Lubricant | None, base: KnowledgeBase) -> Friction:
    """The friction of a facing: sliding as stated or from the table, at rest always from the table.

    A named fluid lowers what comes from the table, and what a stated friction rises to at rest.
    """
    row = chosen_friction(facing, base)
    by_fluid = base.friction_by_fluid[facing, oil.family.id] if oil else None
    sliding, at_rest = (by_fluid.dynamic_factor, by_fluid.static_factor) if by_fluid else (1.0, 1.0)
    standing = weakest(row.standing, by_fluid.standing) if by_fluid else row.standing
    text = f"No fluid named: {base.facings[facing].words} with a fluid that suits it."
    reason = Said(text, "friction-with-a-suiting-fluid", facing=facing)
    if by_fluid:
        reason = Said(by_fluid.reason, "friction-with-the-fluid", facing=facing, family=by_fluid.family)
    least, most, stated = row.dynamic_min, row.dynamic_max, question.friction
    if stated is not None:
        least, most, sliding, at_rest = stated, stated, 1.0, at_rest / sliding
        text = f"As stated; the rise at rest from a table{', as the named fluid lets it' if by_fluid else ''}."
        reason = Said(text, "friction-as-stated", with_a_named_fluid=by_fluid is not None)
    # A chosen row has both, as the checks of the tables see to; friction at rest never lies below the sliding one.
    usual_rise, most_rise = (
        max((ratio or 1.0) * at_rest, sliding) for ratio in (row.static_to_dynamic_typical, row.static_to_dynamic_max)
    )
    return Friction(
        low=least * sliding,
        high=most * sliding,
        static_typical=0.5 * (least + most) * usual_rise,
        static_high=most * most_rise,
        without_fluid=least,
        by_fluid=by_fluid if stated is None else None,
        standing=standing if stated is None else "computed",
        static_standing=standing,
        reason=reason,
    )


def chosen_friction(facing: str, base: KnowledgeBase) -> FrictionRow:
    """The row of the friction table that is used."""
    return next(row for row in base.friction if row.facing == facing and row.chosen)


def limits_of(facing: str, base: KnowledgeBase) -> tuple[FacingLimitRow, ...]:
    """The limits of a facing that are used."""
    return tuple(row for row in base.facing_limits if row.facing == facing and row.chosen)


def _heat_row(material: str, base: KnowledgeBase) -> FacingThermalRow:
    return next(row for row in base.facing_thermal if row.material == material and row.chosen)


def _facing_heat(facing: FacingThermalRow, steel: FacingThermalRow) -> FacingHeat:
    own, cone = (
        effusivity_w_s05_m2_k(
            conductivity_w_m_k=row.conductivity_w_m_k,
            density_kg_m3=_density_kg_m3(row),
            specific_heat_j_kg_k=row.specific_heat_j_kg_k,
        )
        for row in (facing, steel)
    )
    return FacingHeat(own, cone, weakest(facing.standing, steel.standing))


def _density_kg_m3(row: FacingThermalRow) -> float:
    if row.density_kg_m3 is None:
        raise ValueError(f"the chosen row of {row.material} has no density")  # the checks of the tables refuse it
    return row.density_kg_m3
