"""Rules about the hard shift that goes with a duty: grip that is left, and heat at the face of the ring."""

from math import isinf

from knowledge.base import KnowledgeBase
from knowledge.box.duty_shift import RingReserve, ShiftHeat
from knowledge.loading.schema import FamilyRow
from knowledge.rule import Measured, RuleOutcome, cautions, not_concerned, rule, supports


@rule(
    ("socin-walters-1968", "cone torque against index torque"),
    ("fillwright-judgement", "friction by fluid and facing"),
    settled_by="label/family",
)
def fluid_must_leave_rings_their_blocking_reserve(
    *, ring_reserves: tuple[RingReserve, ...], family: FamilyRow, base: KnowledgeBase
) -> RuleOutcome:
    """A fluid must leave each ring more friction than it needs to block until speeds match.

    Because below that the sleeve gets past the ring too early and it grinds, however sound the ring is. How far
    a family lowers friction is our judgement, so this warns and does not refuse.
    """
    if not ring_reserves:
        return not_concerned("There is no ring that has to block.")
    reserve, worst = min(
        (ring.reserve * base.friction_by_fluid[ring.facing, family.id].dynamic_factor, ring) for ring in ring_reserves
    )
    words = base.facings[worst.facing].words
    figures = (Measured("blocking_reserve", reserve, reserve, "1", "judgement"),)
    if reserve < 1:
        return cautions(
            f"It may leave the {words} ring {reserve:.2f} of the friction that it needs to block: it can grind.",
            figures=figures,
        )
    return supports(
        f"It leaves the {words} ring {reserve:.2f} times the friction that it needs to block.", figures=figures
    )


@rule(
    ("newcomb-1961", "linearly falling heat flux"),
    ("carslaw-jaeger-1959", "heat shared by two bodies"),
    ("fillwright-judgement", "hard shift of a duty; limits of the facing"),
)
def hard_shifts_must_not_overheat_the_facing(*, shift_heats: tuple[ShiftHeat, ...], base: KnowledgeBase) -> RuleOutcome:
    """The hard shifts of a duty must not heat the face of a ring beyond what it stands.

    Because heat, and neither energy nor power alone, is what glazes, chars or scuffs a facing. A fluid that
    suits it is no cure; fewer or gentler shifts, more cones or another facing are. The limits are recalled or
    judged, so this warns and does not refuse.
    """
    if not shift_heats:
        return not_concerned("There is no ring whose face heats up.")
    hottest = max(shift_heats, key=lambda heat: heat.peak_c / heat.limit_c)
    words = base.facings[hottest.facing].words
    if isinf(hottest.peak_c):
        return cautions(
            f"In hard shifts the {words} ring never brings its gear to speed against the drag, and slips on. A ring of "
            "this size is too small for the duty."
        )
    figures = (Measured("interface_peak_c", hottest.peak_c, hottest.peak_c, "°C", hottest.standing),)
    at = f"In hard shifts the face of the {words} ring reaches about {hottest.peak_c:.0f} °C"
    margin = hottest.limit_c / hottest.peak_c
    if margin < 1:
        return cautions(
            f"{at}, and about {hottest.limit_c:.0f} °C is what it stands. No fluid cures that: shift more gently, "
            "or choose more cones or another facing.",
            figures=figures,
            margin=margin,
        )
    return supports(f"{at}, and it stands about {hottest.limit_c:.0f} °C.", figures=figures, margin=margin)
