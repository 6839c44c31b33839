"""Rules about the fluid of a shift: what it leaves of the friction, how soon it is wiped away, whether it serves."""

from math import isinf
from typing import Any

from knowledge.parts.digits import shown, shown_limit
from knowledge.physics.viscosity import is_screening
from knowledge.rule import RuleOutcome, cautions, excludes, no_data, not_concerned, rule, supports
from knowledge.shift.loaded_ring import CHAMFERS, CONE, SERVING, LoadedRing
from knowledge.shift.rules.limits import GRIP, above, below
from knowledge.text import about_duration, plain


@rule(
    ("sae-2004-01-2022", "abstract: friction modifier is the most active component"),
    ("fillwright-judgement", "friction by fluid and facing"),
    reads=(*GRIP, *CONE, *CHAMFERS),
)
def slippery_fluid_must_not_make_a_sound_ring_grind(*, ring: LoadedRing) -> RuleOutcome:
    """A fluid must leave the ring more friction than it needs to block.

    Because the fluid, and not the ring, is then at fault: the same ring blocks with a fluid that suits its facing.
    """
    by_fluid, least = ring.shift.friction.by_fluid, ring.figures.least_friction_to_block
    if by_fluid is None:
        return not_concerned("no-fluid", "No fluid is named, or the friction was stated: it is taken as it is.")
    before, left = ring.shift.friction.without_fluid, ring.shift.friction.low
    limit = ring.computed_limit("least_friction_to_block", least)
    figures = (ring.measured("friction_with_a_suiting_fluid", before), ring.measured("friction_with_this_fluid", left))
    if before >= least > left:
        return excludes(
            "spoilt",
            "The ring is sound: with a suiting fluid it has at least {before} and needs {limit}. This fluid "
            "leaves {leaves} and makes it grind. {reason}",
            before=ring.shown_beside("friction", before, limit),
            limit=shown_limit(limit),
            leaves=ring.shown_beside("friction", left, limit),
            reason=by_fluid.reason,
            **above(limit, left, *figures),
        )
    if left < before:
        taken = shown(100 * (1 - by_fluid.dynamic_factor), by_fluid.standing)
        text = "This fluid takes about {taken} % of the grip, by our judgement. {reason}"
        return cautions("takes-grip", text, taken=taken, reason=by_fluid.reason, severity="note", figures=figures)
    return supports("keeps-its-grip", "{reason}", reason=by_fluid.reason, figures=figures)


@rule(
    ("paffoni-2000", "abstract: grooves drain the film"),
    ("cameron-1966", "squeeze film of a strip"),
    ("fillwright-judgement", "land sizes, steps of the first shifts, spread of the wiping time"),
    reads=("facing", "fluid", "start_c", "sump_c", "condition", "detent_force_n", *CONE, "face_width_mm"),
)
def film_must_be_wiped_before_the_ring_grips(*, ring: LoadedRing) -> RuleOutcome:
    """Before it grips, the ring has to wipe the oil from its cone, and quickly enough.

    Because until then it neither blocks nor slows anything. Flattened crests take many times longer than sharp ones,
    with the gap still right. The typical oil of the fluid is judged, in the steps of a first shift.
    """
    start_c = ring.shift.start_c
    if ring.wiping is None:
        return no_data("no-fluid", "No fluid is named, so the time to wipe its film away is not known.")
    wiping, spread = ring.wiping
    slow, hard = ring.base.quantity("wiping-time-slow-from"), ring.base.quantity("wiping-time-hard-from")
    if isinf(wiping):
        text = "At {start_c} °C this fluid is thicker than can be computed: expect no shift."
        return cautions("too-thick", text, start_c=plain(start_c), limits=(hard,))
    is_cold = is_screening(temperature_c=start_c)
    figure = ring.measured("wiping_time_s", wiping / spread, wiping * spread, screening=is_cold)
    evidence = below(hard, wiping, figure)
    words: dict[str, Any] = {
        "start_c": plain(start_c),
        "condition": ring.shift.land.condition,
        "takes": about_duration(wiping, spread, hard.value),
    }
    text = "At {start_c} °C the {condition} ring needs {takes} to wipe the film away"
    if wiping > hard.value:
        return cautions("late", f"{text}: it may grate or not go in until it warms.", **words, **evidence)
    if wiping > slow.value:
        return supports("slow", f"{text}: wait for it.", **words, **evidence)
    return supports("wiped", f"{text}.", **words, **evidence)


@rule(("trade-practice", "facing and fluid"), ("sae-2008-01-1710", "facing and fluid"), reads=("facing", "fluid"))
def fluid_must_serve_the_facing(*, ring: LoadedRing) -> RuleOutcome:
    """Facing and fluid are chosen together: the fluid must be of a family that suits the facing, and leave a lining.

    Because grip, deposits and wear follow from the pair. The fill answer judges the fluid for the whole box.
    """
    if ring.shift.family is None:
        return not_concerned("no-fluid", "No fluid is named.")
    row = ring.base.facing_families[ring.shift.facing, ring.shift.family.id]
    if row.fitness == "refused":
        return excludes("refused", "{reason}", reason=row.reason)
    if ring.too_thick is not None:
        limit = ring.base.quantity("lining-kv100-below")
        text = "A lining wants less than {limit_mm2_s} mm²/s at 100 °C: thicker oil stays and glazes it."
        told = excludes if ring.too_thick == "surely" else cautions
        return told("too-thick", text, limits=(limit,), limit_mm2_s=shown_limit(limit))
    if row.fitness not in SERVING:
        where = "in light duty" if row.fitness == "light-duty" else "where the service data names it"
        return cautions("serves-only", "{reason} Only {where}.", reason=row.reason, where=where)
    return supports("serves", "{reason}", reason=row.reason)
