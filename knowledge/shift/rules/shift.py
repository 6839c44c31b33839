"""Rules about one shift: does the ring block, does it come free, and does it get there; and all rules in order."""

from typing import Any

from knowledge.parts.digits import shown_limit
from knowledge.rings.figures import taper_mm
from knowledge.rule import Rule, RuleOutcome, cautions, excludes, no_data, not_concerned, rule, supports
from knowledge.shift.loaded_ring import CHAMFERS, CONE, LoadedRing
from knowledge.shift.rules.fluid import (
    film_must_be_wiped_before_the_ring_grips,
    fluid_must_serve_the_facing,
    slippery_fluid_must_not_make_a_sound_ring_grind,
)
from knowledge.shift.rules.limits import DRAG, GRIP, LIMIT_RULES, LOAD, above, below
from knowledge.text import digits, duration, plain


@rule(
    ("socin-walters-1968", "cone torque against index torque"),
    ("naunheimer-2011", "friction of synchronizer facings"),
    reads=(*GRIP, *CONE, *CHAMFERS),
)
def ring_must_block_until_speeds_match(*, ring: LoadedRing) -> RuleOutcome:
    """At the low end of its friction the cone must hold the ring against the sleeve's chamfers while speeds differ.

    Because a ring that is turned aside too early lets the sleeve run into teeth of another speed: it grinds. The
    shift force cancels; angle, radius, number of cones and chamfer decide. Drag is left out, and the low end is
    judged since a ring has to block on its worst day.
    """
    least, low, high = ring.figures.least_friction_to_block, ring.shift.friction.low, ring.shift.friction.high
    limit = ring.computed_limit("least_friction_to_block", least)
    evidence = above(limit, low, ring.measured(limit.id, least), ring.measured("friction", low, high))
    words: dict[str, Any] = {"needs": shown_limit(limit), "has": ring.shown_beside("friction", low, limit)}
    if low < least:
        top = ring.shown_beside("friction", high, limit)
        hope = f" At the top of its span, {top}, it would hold." if high >= least else ""
        text = (
            "To block it needs a friction of {needs} and has {has} at the low end: the sleeve gets past it "
            "and it grinds.{hope}"
        )
        return excludes("grinds", text, **words, hope=hope, **evidence)
    text = "Blocks until speeds match: it needs a friction of {needs} and has at least {has}."
    return supports("blocks", text, **words, **evidence)


@rule(
    ("naunheimer-2011", "self-locking of cones; half angles"),
    ("socin-walters-1968", "sticking cones"),
    reads=(*GRIP, "half_angle_deg", "shift_force_n"),
)
def seated_ring_must_come_free(*, ring: LoadedRing) -> RuleOutcome:
    """Once seated the ring must come off its cone: friction at rest must stay below the tangent of the half angle.

    Because a wedged ring has to be pulled off, and the gear sticks. It does not fit where the middle of its friction is
    enough to wedge; it takes care where only the rise at rest is, which is judged. That the highest would be is noted,
    since a fluid that suits a ring keeps it from there.
    """
    friction, found = ring.shift.friction, ring.figures
    lock, usual, most = found.locking_friction, friction.static_typical, friction.static_high
    limit = ring.computed_limit("locking_friction", lock)
    evidence = below(
        limit,
        usual,
        ring.measured("locking_friction", lock),
        ring.measured("static_friction", friction.low, most),
        ring.measured("pull_off_force_n", found.pull_off_force_n, found.most_pull_off_n),
    )
    sticks = shown_limit(limit)
    at_rest, at_most = (ring.shown_beside("static_friction", mu, limit) for mu in (usual, most))
    if usual > lock:
        force = ring.shown("pull_off_force_n", found.pull_off_force_n)
        words: dict[str, Any] = {"at_rest": at_rest, "sticks": sticks, "force": force}
        sticking = "and from {sticks} on a ring of this angle sticks and takes about {force} N to pull off."
        if ring.wedges:
            text = "It wedges: its friction at rest is usually about {at_rest}, " + sticking
            return excludes("wedges", f"{text} A larger half angle comes free.", **words, **evidence)
        text = "It may wedge: its friction at rest is judged to be about {at_rest}, " + sticking
        return cautions("may-wedge", f"{text} Try it on its cone, or take a larger half angle.", **words, **evidence)
    if most > lock:
        force = ring.shown("pull_off_force_n", found.most_pull_off_n)
        return cautions(
            "may-come-to-wedge",
            "It comes free: its friction at rest is usually about {at_rest}, and this angle wedges from "
            "{sticks} on. With a fluid that lets it rise to {at_most} it would wedge and take about {force} "
            "N to pull off.",
            at_rest=at_rest,
            sticks=sticks,
            at_most=at_most,
            force=force,
            severity="note",
            **evidence,
        )
    text = "Comes free by itself: friction at rest is {at_most} at the most, below {sticks}."
    return supports("free", text, at_most=at_most, sticks=sticks, **evidence)


@rule(("socin-walters-1968", "unblocking after equal speed"), reads=("shift_force_n", *CHAMFERS, "fluid", *DRAG))
def sleeve_must_turn_the_ring_aside(*, ring: LoadedRing) -> RuleOutcome:
    """After equal speed the sleeve's chamfers must turn ring and gear aside against the drag.

    Because else the gear feels blocked, though the ring has done its work.
    """
    torque, drag = ring.figures.index_torque_nm, ring.shift.drag_nm
    limit = ring.computed_limit("drag_nm", drag)
    evidence = above(limit, torque, ring.measured("index_torque_nm", torque), ring.measured("drag_nm", drag))
    turns = ring.shown_beside("index_torque_nm", torque, limit)
    if torque < drag:
        text = "The chamfers turn with {turns} N·m against a drag of {limit} N·m: the shift feels blocked."
        return cautions("blocked", text, turns=turns, limit=shown_limit(limit), **evidence)
    return supports("turns", "The chamfers turn the ring aside with {turns} N·m.", turns=turns, **evidence)


@rule(("naunheimer-2011", "synchronizing time with drag"), reads=(*GRIP, *CONE, "shift_force_n", *DRAG, "direction"))
def drag_must_not_outweigh_the_cones(*, ring: LoadedRing) -> RuleOutcome:
    """On a downshift the cones must overcome the drag, or the speeds never match.

    Because drag slows the wheel that the ring has to speed up. On an upshift it helps. Torque is taken at the low
    end of friction; where a fluid is named, the drag of warm oil grows with its viscosity. How far it grows is judged:
    where only the cold lets drag win, the ring is not refused for it.
    """
    torque, drag = ring.figures.cone_torque_nm, ring.shift.drag_nm
    limit = ring.computed_limit("drag_nm", drag)
    evidence = above(limit, torque, ring.measured("cone_torque_nm", torque), ring.measured("drag_nm", drag))
    if ring.shift.is_upshift:
        pulls, text = (
            ring.shown("cone_torque_nm", torque),
            "An upshift: the cones' {pulls} N·m and the drag pull the same way.",
        )
        return supports("upshift", text, pulls=pulls, figures=evidence["figures"])
    pulls, against = ring.shown_beside("cone_torque_nm", torque, limit), f"{shown_limit(limit)} N·m{_when(ring)}"
    if ring.figures.sync_time_s is None:
        if ring.is_stopped_by_cold:
            text = "Drag wins for now: the cones' {pulls} N·m do not overcome {against}. Wait until the oil warms."
            return cautions("wins-in-the-cold", text, pulls=pulls, against=against, **evidence)
        text = "Drag wins: the cones' {pulls} N·m do not overcome {against}, so the speeds never match."
        return excludes("wins", text, pulls=pulls, against=against, **evidence)
    return supports(
        "overcome", "The cones' {pulls} N·m overcome the drag of {against}.", pulls=pulls, against=against, **evidence
    )


def _when(ring: LoadedRing) -> str:
    return f" in oil of {plain(ring.shift.start_c)} °C" if ring.shift.oil else ""


@rule(("naunheimer-2011", "synchronizing times of cars and trucks"), reads=(*GRIP, *CONE, *LOAD, "shift_force_n"))
def long_slip_is_felt_at_the_lever(*, ring: LoadedRing) -> RuleOutcome:
    """A shift should be over within the time that drivers of cars and trucks are used to.

    Because a driver who waits pushes harder. This is comfort: it is noted and refuses nothing.
    """
    time, usual = ring.figures.sync_time_s, ring.base.quantity("synchronizing-long-from")
    if time is None:
        return no_data("no-end", "The speeds never match, so there is no time to judge.")
    figures = (ring.measured("sync_time_s", time),)
    if time > usual.value:
        words = {"time_s": digits(time, 2), "usual_s": plain(usual.value)}
        text = "It takes {time_s} s to match speeds; more than {usual_s} s is long even in a truck."
        return cautions("long", text, severity="note", figures=figures, limits=(usual,), **words)
    return supports("quick", "Speeds match in {time}.", time=duration(time, time), figures=figures, limits=(usual,))


@rule(
    ("plane-geometry", "taper gap"),
    ("fillwright-judgement", "when ring and cone no longer meet"),
    reads=("half_angle_deg", "cone_half_angle_deg", "face_width_mm"),
)
def ring_and_cone_must_share_their_angle(*, ring: LoadedRing) -> RuleOutcome:
    """Ring and cone must be of the same angle.

    Because half a degree over a usual face leaves a larger gap than the whole wear a ring has to give: it touches at
    one edge only, wobbles and grips by another radius than it should.
    """
    if ring.shift.cone_half_angle_deg is None:
        return not_concerned("not-measured", "The angle of the cone was not measured apart from the ring.")
    gap, limit = taper_mm(ring.shift), ring.base.quantity("taper-gap-from")
    evidence = below(limit, gap, ring.measured("taper_gap_mm", gap))
    stands_off = ring.shown_beside("taper_gap_mm", gap, limit)
    if gap > limit.value:
        apart = abs(ring.shift.half_angle_deg - ring.shift.cone_half_angle_deg)
        text = (
            "Ring and cone differ by {apart_deg}°: one end stands off by {stands_off} mm, so the ring wobbles and "
            "touches at an edge. The figures here hold for a pair that fits."
        )
        return cautions("differ", text, apart_deg=f"{apart:.2g}", stands_off=stands_off, **evidence)
    return supports("meet", "Ring and cone meet: {stands_off} mm at the far end.", stands_off=stands_off, **evidence)


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
