"""One shift of one facing with everything known: what was asked, and what had to be assumed."""

from collections.abc import Iterator, Mapping
from typing import NamedTuple

from knowledge.base import KnowledgeBase
from knowledge.loading.facing_rows import STEEL_CONE, FacingLimitRow, FacingThermalRow, FrictionByFluidRow
from knowledge.loading.schema import FamilyRow, FrictionRow, RingLandRow
from knowledge.lubricant import Lubricant
from knowledge.parts.provenance import Assumption, Standing, weakest
from knowledge.physics.interface_heat import effusivity_w_s05_m2_k
from knowledge.physics.synchronizing import reduced_inertia_kg_m2
from knowledge.rings.shift_question import InertiaParts, ShiftQuestion
from knowledge.text import listed, plain

RING_DEFAULTS = ("face_width_mm", "detent_force_n")

SHIFT_DEFAULTS = (
    "shift_force_n",
    "chamfer_included_deg",
    "chamfer_friction",
    "drag_nm",
    "sump_c",
    "contact_share",
)

# All that is assumed where the question leaves it out, by the part of defaults.csv that holds it.
ASSUMED = {
    "ring_geometry": ("mean_radius_mm", *RING_DEFAULTS),
    "shift": ("cones", *SHIFT_DEFAULTS, "shifts", "shift_interval_s"),
}

USUAL_SIZE = "Not given; a usual one."


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
    spline_radius_mm: float
    chamfer_included_deg: float
    chamfer_friction: float
    shifts: int
    shift_interval_s: float
    sump_c: float
    start_c: float
    detent_force_n: float
    contact_share: float
    warming_j_mm2_k: float
    cooling_time_constant_s: float
    land: RingLandRow
    heat: FacingHeat
    oil: Lubricant | None
    family: FamilyRow | None
    standings: Mapping[str, Standing]

    def standing(self, *names: str) -> Standing:
        """The weakest standing of some fields; what the caller stated bears whatever is computed from it."""
        return weakest("computed", *(self.standings[name] for name in names if name in self.standings))


def ring_shift(question: ShiftQuestion, facing: str, base: KnowledgeBase) -> RingShift:
    """The shift of one facing, each thing the caller left out assumed."""
    taken = {name: _taken(question, "ring_geometry", name, base) for name in RING_DEFAULTS}
    taken |= {name: _taken(question, "shift", name, base) for name in SHIFT_DEFAULTS}
    oil = next((oil for oil in base.lubricants if oil.id == question.fluid), None)
    radii = mean_radii_mm(question, base)
    land = base.ring_lands[facing, question.condition or "new"]
    return RingShift(
        **taken,
        facing=facing,
        friction=friction(question, facing, oil, base),
        mean_radii_mm=radii,
        half_angle_deg=question.half_angle_deg or question.cone_half_angle_deg or land.half_angle_deg,
        cone_half_angle_deg=question.cone_half_angle_deg,
        inertia_kg_m2=inertia_kg_m2(question),
        speed_difference_rpm=question.speed_difference_rpm,
        is_upshift=question.direction == "up",
        spline_radius_mm=question.spline_radius_mm or base.default("shift", "spline_to_mean_radius").value * max(radii),
        shifts=question.shifts or int(base.default("shift", "shifts").value),
        shift_interval_s=_taken(question, "shift", "shift_interval_s", base),
        start_c=taken["sump_c"] if question.start_c is None else question.start_c,
        warming_j_mm2_k=_warming_j_mm2_k(base),
        cooling_time_constant_s=base.default("shift", "cooling_time_constant_s").value,
        land=land,
        heat=facing_heat(facing, base),
        oil=oil,
        family=oil.family if oil else None,
        standings=_standings(question, land, base),
    )


def _standings(question: ShiftQuestion, land: RingLandRow, base: KnowledgeBase) -> dict[str, Standing]:
    """The standing of each field that the caller left out."""
    found = {row.quantity: row.standing for row in base.defaults if row.part in ("ring_geometry", "shift")}
    found["spline_radius_mm"] = found["spline_to_mean_radius"]
    found["half_angle_deg"] = land.standing
    told = {name for name in found if getattr(question, name, None) is not None}
    if question.cone_half_angle_deg is not None:
        told.add("half_angle_deg")
    return {name: standing for name, standing in found.items() if name not in told}


def inertia_kg_m2(question: ShiftQuestion) -> float:
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


def friction(question: ShiftQuestion, facing: str, oil: Lubricant | None, base: KnowledgeBase) -> Friction:
    """The friction of a facing: as stated, or from the table, lowered by the named fluid."""
    row = chosen_friction(facing, base)
    words = base.facings[facing].words
    if question.friction is not None:
        return _stated_friction(question.friction, row, oil, base)
    middle = 0.5 * (row.dynamic_min + row.dynamic_max)
    if oil is None:
        return Friction(
            low=row.dynamic_min,
            high=row.dynamic_max,
            static_typical=middle * row.static_to_dynamic_typical,
            static_high=row.dynamic_max * row.static_to_dynamic_max,
            without_fluid=row.dynamic_min,
            by_fluid=None,
            standing=row.standing,
            static_standing=row.standing,
            reason=f"No fluid named: {words} with a fluid that suits it.",
        )
    by_fluid = base.friction_by_fluid[facing, oil.family.id]
    sliding, at_rest = by_fluid.dynamic_factor, by_fluid.static_factor
    standing = weakest(row.standing, by_fluid.standing)
    return Friction(
        low=row.dynamic_min * sliding,
        high=row.dynamic_max * sliding,
        static_typical=middle * max(row.static_to_dynamic_typical * at_rest, sliding),
        static_high=row.dynamic_max * max(row.static_to_dynamic_max * at_rest, sliding),
        without_fluid=row.dynamic_min,
        by_fluid=by_fluid,
        standing=standing,
        static_standing=standing,
        reason=by_fluid.reason,
    )


def _stated_friction(stated: float, row: FrictionRow, oil: Lubricant | None, base: KnowledgeBase) -> Friction:
    """Sliding friction as stated; what it rises to at rest comes from a table, lowered by the named fluid."""
    by_fluid = base.friction_by_fluid[row.facing, oil.family.id] if oil else None
    calming = by_fluid.static_factor / by_fluid.dynamic_factor if by_fluid else 1.0
    return Friction(
        low=stated,
        high=stated,
        static_typical=stated * max(row.static_to_dynamic_typical * calming, 1.0),
        static_high=stated * max(row.static_to_dynamic_max * calming, 1.0),
        without_fluid=stated,
        by_fluid=None,
        standing="computed",
        static_standing=weakest(row.standing, by_fluid.standing) if by_fluid else row.standing,
        reason=f"As stated; the rise at rest from a table{', as the named fluid lets it' if by_fluid else ''}.",
    )


def chosen_friction(facing: str, base: KnowledgeBase) -> FrictionRow:
    """The row of the friction table that is used."""
    return next(row for row in base.friction if row.facing == facing and row.chosen)


def limits_of(facing: str, base: KnowledgeBase) -> tuple[FacingLimitRow, ...]:
    """The limits of a facing that are used."""
    return tuple(row for row in base.facing_limits if row.facing == facing and row.chosen)


def facing_heat(facing: str, base: KnowledgeBase) -> FacingHeat:
    """How a facing and the steel cone against it take up heat."""
    own, cone = (_chosen_thermal(material, base) for material in (facing, STEEL_CONE))
    return FacingHeat(_effusivity(own), _effusivity(cone), weakest(own.standing, cone.standing))


def _chosen_thermal(material: str, base: KnowledgeBase) -> FacingThermalRow:
    return next(row for row in base.facing_thermal if row.material == material and row.chosen)


def _effusivity(row: FacingThermalRow) -> float:
    return effusivity_w_s05_m2_k(
        conductivity_w_m_k=row.conductivity_w_m_k,
        density_kg_m3=row.density_kg_m3,
        specific_heat_j_kg_k=row.specific_heat_j_kg_k,
    )


def _warming_j_mm2_k(base: KnowledgeBase) -> float:
    """Heat that a square millimetre of face takes up, ring and cone through and through, for each kelvin."""
    steel = _chosen_thermal(STEEL_CONE, base)
    depth_mm = base.default("shift", "warming_depth_mm").value
    return depth_mm * steel.density_kg_m3 * steel.specific_heat_j_kg_k * 1e-9


def _taken(question: ShiftQuestion, part: str, name: str, base: KnowledgeBase) -> float:
    given = getattr(question, name)
    return base.default(part, name).value if given is None else given


def assumptions(question: ShiftQuestion, facings: tuple[str, ...], base: KnowledgeBase) -> Iterator[Assumption]:
    """Everything the caller did not say, with what was taken for it."""
    yield from _assumed_sizes(question, base)
    if question.direction is None:
        reason = "Not given; the harder one, since drag fights the ring."
        yield Assumption(pointer="/direction", value="down", standing="judgement", reason=reason)
    if question.condition is None:
        yield Assumption(pointer="/condition", value="new", standing="judgement", reason="Not given.")
    if question.start_c is None and question.fluid is not None:
        yield Assumption(pointer="/start_c", value="the sump's", standing="judgement", reason="Not given.")
    yield from _assumed_of_facings(question, facings, base)


def _assumed_sizes(question: ShiftQuestion, base: KnowledgeBase) -> Iterator[Assumption]:
    for part, names in ASSUMED.items():
        for name in names:
            is_told = name == "cones" and isinstance(question.mean_radius_mm, tuple)
            if getattr(question, name) is None and not is_told:
                row = base.default(part, name)
                unit = "" if row.unit == "1" else f" {row.unit}"
                yield Assumption(
                    pointer=f"/{name}",
                    value=f"{plain(row.value)}{unit}",
                    standing=row.standing,
                    reason=row.note or USUAL_SIZE,
                )
    if question.spline_radius_mm is None:
        row = base.default("shift", "spline_to_mean_radius")
        value = f"{row.value * max(mean_radii_mm(question, base)):.4g} mm"
        yield Assumption(pointer="/spline_radius_mm", value=value, standing=row.standing, reason=row.note)


def _assumed_of_facings(question: ShiftQuestion, facings: tuple[str, ...], base: KnowledgeBase) -> Iterator[Assumption]:
    """What differs from facing to facing: the half angle and the friction."""
    if question.half_angle_deg is None and question.cone_half_angle_deg is not None:
        value, reason = f"{plain(question.cone_half_angle_deg)}°", "Not given; as measured on the cone."
        yield Assumption(pointer="/half_angle_deg", value=value, standing="judgement", reason=reason)
    elif question.half_angle_deg is None:
        rows = [base.ring_lands[facing, "new"] for facing in facings]
        usual = listed((f"{plain(row.half_angle_deg)}° for {base.facings[row.facing].words}" for row in rows), "and")
        standing = weakest(*(row.standing for row in rows))
        yield Assumption(pointer="/half_angle_deg", value=usual, standing=standing, reason="Not given; usual ones.")
    if question.friction is None:
        rows = [chosen_friction(facing, base) for facing in facings]
        spans = listed(
            (
                f"{plain(row.dynamic_min)} to {plain(row.dynamic_max)} for {base.facings[row.facing].words}"
                for row in rows
            ),
            "and",
        )
        standing = weakest(*(row.standing for row in rows))
        reason = "Not given; the named fluid lowers it." if question.fluid else "Not given; with a fluid that suits."
        yield Assumption(pointer="/friction", value=spans, standing=standing, reason=reason)
