"""Rules about one shift: does the ring block, does it come free, does it get there, and does the fluid let it."""

from math import isinf

from knowledge.base import KnowledgeBase
from knowledge.parts.provenance import weakest
from knowledge.physics.viscosity import is_screening
from knowledge.rings.figures import SERVES, Figures, taper_mm, wiping_s
from knowledge.rings.ring_shift import RingShift
from knowledge.rule import Measured, Rule, RuleOutcome, cautions, excludes, no_data, not_concerned, rule, supports
from knowledge.shift.rules.limits import CONES, LIMIT_RULES
from knowledge.text import digits, duration, plain

# What the caller may have stated; a figure stands no firmer than what had to be assumed for it.
CHAMFERS = ("chamfer_included_deg", "chamfer_friction", "spline_radius_mm")


@rule(
    ("socin-walters-1968", "cone torque against index torque"),
    ("naunheimer-2011", "friction of synchronizer facings"),
    sets_margin=True,
)
def ring_must_block_until_speeds_match(*, ring: RingShift, shift: Figures) -> RuleOutcome:
    """At the low end of its friction the cone must hold the ring against the sleeve's chamfers while speeds differ.

    Because a ring that is turned aside too early lets the sleeve run into teeth of another speed: it grinds. The
    shift force cancels; angle, radius, number of cones and chamfer decide. Drag is left out, and the low end is
    judged since a ring has to block on its worst day.
    """
    least, low, high = shift.least_friction, ring.friction.low, ring.friction.high
    figures = (
        Measured("least_friction_to_block", least, least, "1", ring.standing(*CONES, *CHAMFERS)),
        Measured("friction", low, high, "1", ring.friction.standing),
    )
    margin = low / least
    if margin < 1:
        hope = f" At the top of its span, {high:.3f}, it would hold." if high >= least else ""
        return excludes(
            f"To block it needs a friction of {least:.3f} and has {low:.3f} at the low end: the sleeve gets past it "
            f"and it grinds.{hope}",
            figures=figures,
            margin=margin,
        )
    return supports(
        f"Blocks until speeds match: it needs a friction of {least:.3f} and has at least {low:.3f}.",
        figures=figures,
        margin=margin,
    )


@rule(
    ("sae-2004-01-2022", "abstract: friction modifier is the most active component"),
    ("fillwright-judgement", "friction by fluid and facing"),
)
def slippery_fluid_must_not_make_a_sound_ring_grind(*, ring: RingShift, shift: Figures) -> RuleOutcome:
    """A fluid must leave the ring more friction than it needs to block.

    Because the fluid, and not the ring, is then at fault: the same ring blocks with a fluid that suits its facing.
    """
    by_fluid, least = ring.friction.by_fluid, shift.least_friction
    if by_fluid is None:
        return not_concerned("No fluid is named, or the friction was stated: it is taken as it is.")
    before, left = ring.friction.without_fluid, ring.friction.low
    figures = (
        Measured("friction_with_a_suiting_fluid", before, before, "1", ring.friction.standing),
        Measured("friction_with_this_fluid", left, left, "1", ring.friction.standing),
    )
    if before >= least > left:
        return excludes(
            f"The ring is sound: with a suiting fluid it has at least {before:.3f} and needs {least:.3f}. This fluid "
            f"leaves {left:.3f} and makes it grind. {by_fluid.reason}",
            figures=figures,
            margin=left / least,
        )
    if left < before:
        taken = 100 * (1 - by_fluid.dynamic_factor)
        return cautions(
            f"This fluid takes about {taken:.0f} % of the grip, by our judgement. {by_fluid.reason}",
            severity="note",
            figures=figures,
        )
    return supports(by_fluid.reason, figures=figures)


@rule(
    ("naunheimer-2011", "self-locking of cones; half angles"),
    ("socin-walters-1968", "sticking cones"),
    sets_margin=True,
)
def seated_ring_must_come_free(*, ring: RingShift, shift: Figures) -> RuleOutcome:
    """Once seated the ring must come off its cone: friction at rest must stay below the tangent of the half angle.

    Because a wedged ring has to be pulled off, and the gear sticks. It warns where the friction that is usual at rest
    is enough to wedge; that the highest one would be is told, since a fluid that suits a ring keeps it from there.
    """
    lock, low, usual, most = (
        shift.locking_friction, ring.friction.low, ring.friction.static_typical, ring.friction.static_high
    )  # fmt: skip
    standing = ring.friction.static_standing
    figures = (
        Measured("locking_friction", lock, lock, "1", ring.standing("half_angle_deg")),
        Measured("static_friction", low, most, "1", standing),
        Measured(
            "pull_off_force_n",
            shift.pull_off_n,
            shift.most_pull_off_n,
            "N",
            weakest(standing, ring.standing("half_angle_deg", "shift_force_n")),
        ),
    )
    margin = lock / usual
    if low > lock:
        return excludes(
            f"It wedges: its friction is {low:.3f} at the least, and from {lock:.3f} on a ring of this angle sticks.",
            figures=figures,
            margin=margin,
        )
    if margin < 1:
        return cautions(
            f"It tends to wedge: its friction at rest is usually about {usual:.3f}, and from {lock:.3f} on a ring of "
            f"this angle sticks and takes about {shift.pull_off_n:.0f} N to pull off. A larger half angle comes free.",
            figures=figures,
            margin=margin,
        )
    if most > lock:
        return cautions(
            f"It comes free: its friction at rest is usually about {usual:.3f}, and this angle wedges from "
            f"{lock:.3f} on. With a fluid that lets it rise to {most:.3f} it would wedge and take about "
            f"{shift.most_pull_off_n:.0f} N to pull off.",
            severity="note",
            figures=figures,
            margin=margin,
        )
    return supports(
        f"Comes free by itself: friction at rest is {most:.3f} at the most, below {lock:.3f}.",
        figures=figures,
        margin=margin,
    )


@rule(("socin-walters-1968", "unblocking after equal speed"), sets_margin=True)
def sleeve_must_turn_the_ring_aside(*, ring: RingShift, shift: Figures) -> RuleOutcome:
    """After equal speed the sleeve's chamfers must turn ring and gear aside against the drag.

    Because else the gear feels blocked, though the ring has done its work.
    """
    torque, drag = shift.index_torque_nm, ring.drag_nm
    figures = (
        Measured("index_torque_nm", torque, torque, "N·m", ring.standing("shift_force_n", *CHAMFERS)),
        Measured("drag_nm", drag, drag, "N·m", ring.standing("drag_nm")),
    )
    margin = torque / drag if drag > 0 else None
    if margin is not None and margin < 1:
        return cautions(
            f"The chamfers turn with {torque:.1f} N·m against a drag of {drag:.1f} N·m: the shift feels blocked.",
            figures=figures,
            margin=margin,
        )
    return supports(f"The chamfers turn the ring aside with {torque:.1f} N·m.", figures=figures, margin=margin)


@rule(("naunheimer-2011", "synchronizing time with drag"), sets_margin=True)
def drag_must_not_outweigh_the_cones(*, ring: RingShift, shift: Figures) -> RuleOutcome:
    """On a downshift the cones must overcome the drag, or the speeds never match.

    Because drag slows the wheel that the ring has to speed up. On an upshift it helps. Torque is taken at the low
    end of friction.
    """
    torque, drag = shift.cone_torque_nm, ring.drag_nm
    figures = (
        Measured(
            "cone_torque_nm",
            torque,
            torque,
            "N·m",
            weakest(ring.friction.standing, ring.standing("shift_force_n", *CONES)),
        ),
        Measured("drag_nm", drag, drag, "N·m", ring.standing("drag_nm")),
    )
    if ring.is_upshift:
        return supports(f"An upshift: the cones' {torque:.1f} N·m and the drag pull the same way.", figures=figures)
    margin = torque / drag if drag > 0 else None
    if shift.sync is None:
        return excludes(
            f"Drag wins: the cones' {torque:.1f} N·m do not overcome {drag:.1f} N·m, so the speeds never match.",
            figures=figures,
            margin=margin,
        )
    return supports(f"The cones' {torque:.1f} N·m overcome the drag of {drag:.1f} N·m.", figures=figures, margin=margin)


@rule(("naunheimer-2011", "synchronizing times of cars and trucks"))
def long_slip_is_felt_at_the_lever(*, ring: RingShift, shift: Figures, base: KnowledgeBase) -> RuleOutcome:
    """A shift should be over within the time that drivers of cars and trucks are used to.

    Because a driver who waits pushes harder. This is comfort: it is told and refuses nothing.
    """
    if shift.sync is None:
        return no_data("The speeds never match, so there is no time to judge.")
    time, usual = shift.sync.time_s, base.limit("synchronizing-long-from")
    standing = weakest(ring.friction.standing, ring.standing("shift_force_n", "drag_nm", *CONES))
    figures = (Measured("sync_time_s", time, time, "s", standing),)
    if time > usual:
        text = f"It takes {digits(time, 2)} s to match speeds; more than {plain(usual)} s is long even in a truck."
        return cautions(text, severity="note", figures=figures)
    return supports(f"Speeds match in {duration(time, time)}.", figures=figures)


@rule(("booker-1983", "squeeze film of a strip"), ("fillwright-judgement", "land sizes, time bands"), sets_margin=True)
def film_must_be_wiped_before_the_ring_grips(*, ring: RingShift, base: KnowledgeBase) -> RuleOutcome:
    """Before it grips, the ring has to wipe the oil from its cone, and quickly enough.

    Because until then it neither blocks nor slows anything. Flattened crests take many times longer than sharp ones,
    with the gap still right. The thick edge of the fluid is judged.
    """
    wiping = wiping_s(ring)
    if wiping is None or ring.oil is None:
        return no_data("No fluid is named, so the time to wipe its film away is not known.")
    if isinf(wiping):
        return cautions(f"At {plain(ring.start_c)} °C this fluid is thicker than can be computed: expect no shift.")
    baulk = base.limit("wiping-time-baulk-from")
    screening = is_screening(temperature_c=ring.start_c)
    standing = weakest(ring.land.standing, ring.standing("detent_force_n", "face_width_mm", *CONES))
    figures = (Measured("wiping_time_s", wiping, wiping, "s", standing, screening),)
    takes = duration(wiping, wiping)
    at = f"At {plain(ring.start_c)} °C the {ring.land.condition} ring needs about {takes} to wipe the film away"
    if wiping > baulk:
        return cautions(f"{at}: expect a baulk or a grind.", figures=figures, margin=baulk / wiping)
    return supports(f"{at}.", figures=figures, margin=baulk / wiping)


@rule(("plane-geometry", "taper gap"), ("fillwright-judgement", "when ring and cone no longer meet"), sets_margin=True)
def ring_and_cone_must_share_their_angle(*, ring: RingShift, base: KnowledgeBase) -> RuleOutcome:
    """Ring and cone must be of the same angle.

    Because half a degree over a usual face leaves a larger gap than the whole wear a ring has to give: it touches at
    one edge only, wobbles and grips by another radius than it should.
    """
    if ring.cone_half_angle_deg is None:
        return not_concerned("The angle of the cone was not measured apart from the ring.")
    gap, limit = taper_mm(ring), base.limit("taper-gap-from")
    figures = (Measured("taper_gap_mm", gap, gap, "mm", ring.standing("half_angle_deg", "face_width_mm")),)
    margin = limit / gap if gap > 0 else None
    if gap > limit:
        return cautions(
            f"Ring and cone differ by {abs(ring.half_angle_deg - ring.cone_half_angle_deg):.2g}°: one end stands off "
            f"by {gap:.3f} mm, so the ring wobbles and touches at an edge. The figures here hold for a pair that fits.",
            figures=figures,
            margin=margin,
        )
    return supports(f"Ring and cone meet: {gap:.3f} mm at the far end.", figures=figures, margin=margin)


@rule(("trade-practice", "facing and fluid"), ("sae-2008-01-1710", "facing and fluid"))
def fluid_must_serve_the_facing(*, ring: RingShift, base: KnowledgeBase) -> RuleOutcome:
    """Facing and fluid are chosen together: the family of the fluid must be one that serves the facing.

    Because grip, deposits and wear follow from the pair. The fill answer judges the fluid for the whole box.
    """
    if ring.family is None:
        return not_concerned("No fluid is named.")
    row = base.facing_families[ring.facing, ring.family.id]
    if row.fitness == "refused":
        return excludes(row.reason)
    if row.fitness not in SERVES:
        where = "in light duty" if row.fitness == "light-duty" else "where the service data names it"
        return cautions(f"{row.reason} Only {where}.")
    return supports(row.reason)


SHIFT_RULES: tuple[Rule, ...] = (
    ring_must_block_until_speeds_match,
    slippery_fluid_must_not_make_a_sound_ring_grind,
    seated_ring_must_come_free,
    sleeve_must_turn_the_ring_aside,
    drag_must_not_outweigh_the_cones,
    long_slip_is_felt_at_the_lever,
    *LIMIT_RULES,
    film_must_be_wiped_before_the_ring_grips,
    ring_and_cone_must_share_their_angle,
    fluid_must_serve_the_facing,
)
