"""Rules about what a shift does to a facing, each figure against the facing's limit.

Energy, power and heat are taken at the end of friction where they are worse. A limit that was read in a source may
condemn. One that is recalled or judged only warns, and says so.
"""

from collections.abc import Callable, Mapping

from knowledge.base import KnowledgeBase
from knowledge.loading.facing_rows import FacingLimitRow, LimitName
from knowledge.parts.provenance import STANDINGS_FROM_STRONGEST, Standing, weakest
from knowledge.rings.figures import LIMITED, BothEnds, Figures, limited
from knowledge.rings.ring_shift import RingShift
from knowledge.rule import Measured, Rule, RuleOutcome, cautions, excludes, no_data, rule, supports
from knowledge.text import digits, plain

Limits = Mapping[LimitName, FacingLimitRow]

CONES = ("mean_radius_mm", "cones", "half_angle_deg")

LOAD = (*CONES, "face_width_mm", "shift_force_n", "drag_nm")

ROW_OF_SHIFTS = ("sump_c", "shifts", "shift_interval_s", "warming_depth_mm", "cooling_time_constant_s")

# What a figure rests on beside friction: fields that the caller may have stated, and what is assumed in any case.
FRICTION = "friction"

RESTS_ON: Mapping[LimitName, tuple[str, ...]] = {
    "sliding_speed_m_s": ("mean_radius_mm",),
    "specific_energy_j_mm2": (FRICTION, *LOAD),
    "mean_power_w_mm2": (FRICTION, *CONES, "face_width_mm", "shift_force_n"),
    "pressure_n_mm2": (*CONES, "face_width_mm", "shift_force_n"),
    "interface_temperature_c": (FRICTION, *LOAD, "contact_share", *ROW_OF_SHIFTS),
}

NO_END = "The speeds never match, so there is no end to compute it for."


def rests_on(quantity: LimitName, ring: RingShift) -> Standing:
    """The weakest standing that the figure beside a limit comes from."""
    names = RESTS_ON[quantity]
    return weakest(ring.standing(*names), *((ring.friction.standing,) if FRICTION in names else ()))


def is_binding(standing: Standing) -> bool:
    """Whether a limit of this standing may refuse a facing: it was read, or follows from what was read."""
    return STANDINGS_FROM_STRONGEST.index(standing) <= STANDINGS_FROM_STRONGEST.index("computed")


@rule(("naunheimer-2011", "permissible stress of synchronizer facings"), sets_margin=True)
def sliding_speed_stays_within_the_facing(
    *, ring: RingShift, ends: BothEnds, limits: Limits, base: KnowledgeBase
) -> RuleOutcome:
    """At first slip the facing must not slide faster than it stands.

    Because speed wears it and breaks its film down, whatever the force.
    """
    return _against("sliding_speed_m_s", "The sliding speed", ring, ends, limits, base)


@rule(("naunheimer-2011", "permissible stress of synchronizer facings"), sets_margin=True)
def energy_of_a_shift_stays_within_the_facing(
    *, ring: RingShift, ends: BothEnds, limits: Limits, base: KnowledgeBase
) -> RuleOutcome:
    """Each square millimetre of facing must not be given more friction energy in one shift than it stands.

    Because this heat stays near the face until the shift is over.
    """
    return _against("specific_energy_j_mm2", "The friction energy", ring, ends, limits, base)


@rule(("naunheimer-2011", "permissible stress of synchronizer facings"), sets_margin=True)
def mean_power_stays_within_the_facing(
    *, ring: RingShift, ends: BothEnds, limits: Limits, base: KnowledgeBase
) -> RuleOutcome:
    """The mean friction power on each square millimetre of facing must stay within what it stands.

    Because a face that gets its heat faster than it passes it on scuffs or glazes.
    """
    return _against("mean_power_w_mm2", "The mean friction power", ring, ends, limits, base)


@rule(("naunheimer-2011", "permissible stress of synchronizer facings"), sets_margin=True)
def pressure_stays_within_the_facing(
    *, ring: RingShift, ends: BothEnds, limits: Limits, base: KnowledgeBase
) -> RuleOutcome:
    """The pressure on the smallest cone must stay within what the facing stands.

    Because crests flatten and linings crush under more.
    """
    return _against("pressure_n_mm2", "The pressure", ring, ends, limits, base)


@rule(
    ("newcomb-1961", "linearly falling flux"),
    ("haggstrom-2018", "abstract: simulated surface temperature foretells failure"),
    sets_margin=True,
)
def interface_stays_cool_enough_for_facing_and_oil(
    *, ring: RingShift, ends: BothEnds, limits: Limits, base: KnowledgeBase
) -> RuleOutcome:
    """In the last of the shifts the face must stay below the temperature that facing and oil stand.

    Because surface temperature foretells the failure of synchronizers better than energy or power does. The figure
    is that of a face that touches everywhere, on top of the warmth that the shifts before it left: a lower bound.
    """
    return _against("interface_temperature_c", "The face, at least,", ring, ends, limits, base)


@rule(
    ("heat-balance", "a row of equal shifts"),
    ("juvinall-marshek-table-18-1", "Table 18.1, steel, bulk temperature"),
    ("fillwright-judgement", "what warms through, how fast it cools"),
    sets_margin=True,
)
def repeated_shifts_must_not_heat_the_cone_through(
    *, ring: RingShift, ends: BothEnds, base: KnowledgeBase
) -> RuleOutcome:
    """After all the shifts, ring and cone must not be hotter through and through than steel stands in a clutch.

    Because each shift leaves some heat behind, and the next one starts from there. The limit is a handbook's.
    """
    after = ends.worst(lambda end: end.after_c)
    if after is None:
        return no_data(NO_END)
    limit = base.limit("steel-cone-bulk-from")
    standing = weakest(ring.friction.standing, ring.standing(*LOAD, *ROW_OF_SHIFTS))
    figures = (Measured("after_shifts_c", *_span(ends, lambda end: end.after_c), "°C", standing),)
    many = f"After {ring.shifts} shifts" if ring.shifts > 1 else "After the shift"
    margin = limit / after if after > 0 else None
    if after > limit:
        return excludes(
            f"{many} ring and cone are at about {after:.0f} °C through and through, by our estimate of what warms; "
            f"{plain(limit)} °C is a handbook's limit for steel.",
            figures=figures,
            margin=margin,
        )
    return supports(f"{many} ring and cone are at about {after:.0f} °C.", figures=figures, margin=margin)


LIMIT_RULES: tuple[Rule, ...] = (
    sliding_speed_stays_within_the_facing,
    energy_of_a_shift_stays_within_the_facing,
    mean_power_stays_within_the_facing,
    pressure_stays_within_the_facing,
    interface_stays_cool_enough_for_facing_and_oil,
    repeated_shifts_must_not_heat_the_cone_through,
)


def _against(
    quantity: LimitName, words: str, ring: RingShift, ends: BothEnds, limits: Limits, base: KnowledgeBase
) -> RuleOutcome:
    """A figure against the facing's limit, at the end of friction where the figure is worse."""
    row, value = limits[quantity], limited(ends, quantity)
    if value is None:
        return no_data(NO_END)
    low, high = _span(ends, LIMITED[quantity])
    standing = weakest(row.standing, rests_on(quantity, ring))
    figures = (Measured(quantity, low, high, row.unit, standing),)
    margin = row.value / value if value > 0 else None
    text = f"{words} is {digits(value)} {row.unit}{_where(ends, quantity)}; {base.facings[ring.facing].words} stands "
    text += f"{plain(row.value)} {row.unit}"
    if value <= row.value:
        return supports(f"{text}.", figures=figures, margin=margin)
    if is_binding(row.standing):
        return excludes(f"{text}.", figures=figures, margin=margin)
    return cautions(
        f"{text}. That limit is not from a source we could read, so it warns and does not condemn.",
        figures=figures,
        margin=margin,
    )


def _span(ends: BothEnds, figure: Callable[[Figures], float | None]) -> tuple[float, float]:
    """A figure that has an end, from where it is lowest to where it is highest."""
    values = figure(ends.low), figure(ends.high)
    return min(values), max(values)


def _where(ends: BothEnds, quantity: LimitName) -> str:
    """At which end of friction a figure is worse, where that makes a difference."""
    low, high = LIMITED[quantity](ends.low), LIMITED[quantity](ends.high)
    if low == high:
        return ""
    return f" at {'high' if high > low else 'low'} friction"
