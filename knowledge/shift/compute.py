"""What does this shift ask of the ring, and which facing stands it? Question and knowledge in, one answer out."""

from collections.abc import Iterator, Sequence

from knowledge.base import KnowledgeBase
from knowledge.ids import check_ids
from knowledge.citing import answer_id, sources_of
from knowledge.parts.provenance import SEVERITIES_FROM_WORST, Caution
from knowledge.physics.interface_heat import falling_flux_rise_k
from knowledge.rings.figures import limited, wiping_s
from knowledge.rings.ring_shift import assumptions, chosen_friction, ring_shift
from knowledge.rings.shift_question import ShiftQuestion
from knowledge.shift.answer import FrictionUsed, JudgedFacing, ShiftAnswer, ShiftMoment, UnderstoodShift
from knowledge.shift.changes import least_changes
from knowledge.shift.judge import JudgedRing, rank_key
from knowledge.shift.wording import HOW_JUDGED, summary, verdict_text
from knowledge.text import digits, significant

POINTS = 24

# Where the speeds never match the curve stops here, or where the difference has grown by this share.
UNFINISHED_S, UNFINISHED_GROWTH = 0.5, 0.2


def shift_answer(question: ShiftQuestion, base: KnowledgeBase) -> ShiftAnswer:
    """The answer to a shift question.

    Errors: UnknownIds, when the question names a facing or a fluid that the knowledge does not have.
    """
    check_ids(question, base)
    facings = (question.facing,) if question.facing else tuple(base.facings)
    judged = sorted((JudgedRing(ring_shift(question, facing, base), base) for facing in facings), key=rank_key)
    best = judged[0]
    told = tuple(_told(item, rank) for rank, item in enumerate(judged, start=1))
    cautions = tuple(_cautions(question, best, base))
    return ShiftAnswer(
        **_figures(best),
        knowledge=base.stamp,
        answer_id=answer_id("shift", question, base.digest),
        question=UnderstoodShift(
            **{name: getattr(question, name) for name in ShiftQuestion.model_fields},
            assumed=tuple(assumptions(question, facings, base)),
        ),
        summary=summary(judged),
        facing=best.shift.facing,
        verdict=best.verdict,
        inertia_kg_m2=significant(best.shift.inertia_kg_m2),
        facings=told,
        least_changes=tuple(change for item in judged for change in least_changes(item)),
        curve_friction=significant(best.ends.hottest.friction),
        curve=tuple(_curve(best)),
        how_judged=HOW_JUDGED,
        cautions=cautions,
        sources=sources_of((*(finding for item in told for finding in item.findings), *cautions), base, *_used(judged)),
    )


def _told(judged: JudgedRing, rank: int) -> JudgedFacing:
    row = judged.base.facings[judged.shift.facing]
    return JudgedFacing(
        **_figures(judged),
        facing=row.id,
        name=row.name,
        verdict=judged.verdict,
        verdict_text=verdict_text(judged),
        rank=None if judged.verdict == "does-not-fit" else rank,
        half_angle_deg=judged.shift.half_angle_deg,
        margins=tuple(judged.margins),
        findings=judged.findings,
    )


def _figures(judged: JudgedRing) -> dict[str, object]:
    """The figures of a facing by their names on the wire: torque and time with weak friction, the load at its worst."""
    shift, ends, found = judged.shift, judged.ends, judged.figures
    friction, sync, wiping = shift.friction, found.sync, wiping_s(shift)
    numbers = {
        "cone_torque_nm": found.cone_torque_nm,
        "index_torque_nm": found.index_torque_nm,
        "least_friction_to_block": found.least_friction,
        "blocking_reserve": friction.low / found.least_friction,
        "release_margin": found.locking_friction / friction.static_typical,
        "pull_off_force_n": found.pull_off_n,
        "sync_time_s": sync.time_s if sync else None,
        "wiping_time_s": wiping if wiping != float("inf") else None,
        "energy_j": ends.worst(lambda end: end.sync and end.sync.energy_j),
        "energy_per_area_j_mm2": limited(ends, "specific_energy_j_mm2"),
        "power_mean_w_mm2": limited(ends, "mean_power_w_mm2"),
        "power_peak_w_mm2": ends.worst(lambda end: end.peak_power_w_mm2),
        "pressure_n_mm2": found.pressure_n_mm2,
        "sliding_speed_m_s": found.sliding_speed_m_s,
        "interface_rise_k": ends.worst(lambda end: end.rise_k),
        "interface_peak_c": limited(ends, "interface_temperature_c"),
        "after_shifts_c": ends.worst(lambda end: end.after_c),
    }
    return {
        **{name: None if value is None else significant(value) for name, value in numbers.items()},
        "friction": FrictionUsed(
            low=significant(friction.low),
            high=significant(friction.high),
            static_typical=significant(friction.static_typical),
            static_high=significant(friction.static_high),
            standing=friction.static_standing,
            reason=friction.reason,
        ),
        "blocks": friction.low >= found.least_friction,
        "wedges": friction.static_typical > found.locking_friction,
        "sync_reason": None
        if sync
        else f"Drag wins: the cones' {digits(found.cone_torque_nm)} N·m do not overcome "
        f"{digits(shift.drag_nm)} N·m of drag.",
    }


def _curve(judged: JudgedRing) -> Iterator[ShiftMoment]:
    """The shift over time: the film is wiped away, then the cones slip until the speeds match, then they hold.

    At the end of friction where the face gets hotter, so that it shows what was judged.
    """
    shift, found = judged.shift, judged.ends.hottest
    wiping = wiping_s(shift) or 0.0
    start = 0.0 if wiping == float("inf") else wiping
    duration, drift = _slip(judged)
    before = None if found.peak_c is None or found.rise_k is None else found.peak_c - found.rise_k
    if start > 0:
        yield _point(0.0, shift.speed_difference_rpm, 0.0, before)
        yield _point(start, shift.speed_difference_rpm, 0.0, before)
    for step in range(POINTS + 1):
        # Close together at first, where the face warms fastest.
        share = (step / POINTS) ** 2
        flash = None
        if before is not None and found.load is not None:
            flash = before + falling_flux_rise_k(
                initial_flux_w_mm2=found.load.peak_power_w_mm2 / shift.contact_share,
                slip_time_s=duration,
                time_s=share * duration,
                facing_effusivity_w_s05_m2_k=shift.heat.facing_effusivity,
                cone_effusivity_w_s05_m2_k=shift.heat.cone_effusivity,
            )
        speed = shift.speed_difference_rpm * (1.0 + drift * share)
        yield _point(start + share * duration, speed, found.cone_torque_nm, flash)


def _slip(judged: JudgedRing) -> tuple[float, float]:
    """How long the drawn slip lasts, and by which share of itself the speed difference changes in it."""
    shift, found = judged.shift, judged.ends.hottest
    if found.sync is not None:
        return found.sync.time_s, -1.0
    momentum = 2.0 * found.sliding_speed_m_s * 500.0 / max(shift.mean_radii_mm) * shift.inertia_kg_m2
    growth = (shift.drag_nm - found.cone_torque_nm) / momentum
    duration = min(UNFINISHED_S, UNFINISHED_GROWTH / growth) if growth > 0 else UNFINISHED_S
    return duration, growth * duration


def _point(time: float, speed: float, torque: float, interface: float | None) -> ShiftMoment:
    return ShiftMoment(
        time_s=significant(time),
        speed_difference_rpm=significant(max(speed, 0.0)),
        torque_nm=significant(torque),
        interface_c=None if interface is None else significant(interface),
    )


def _cautions(question: ShiftQuestion, best: JudgedRing, base: KnowledgeBase) -> Iterator[Caution]:
    """The cautions that go with choosing a ring, worst first."""
    wanted = {"service-data-decides", "keep-pairs-together", "too-slippery", "lifting-the-gearbox"}
    if base.facings[best.shift.facing].kind == "lined":
        wanted |= {"lining-burn-and-glaze", "solid-additives"}
    if len(best.shift.mean_radii_mm) > 1:
        wanted.add("multi-cone-in-the-cold")
    if question.condition == "worn":
        wanted.add("worn-ring-stays-worn")
    rows = [row for row in base.cautions.values() if row.id in wanted]
    yield from sorted(rows, key=lambda row: SEVERITIES_FROM_WORST.index(row.severity))


def _used(judged: Sequence[JudgedRing]) -> Iterator[str]:
    """The sources of the tables behind the figures."""
    for item in judged:
        yield from (row.source for row in item.limits.values())
        yield chosen_friction(item.shift.facing, item.base).source
        yield item.shift.land.source
        if by_fluid := item.shift.friction.by_fluid:
            yield by_fluid.source
    base = judged[0].base
    yield from (row.source for row in base.facing_thermal if row.chosen)
    yield from (row.source for row in base.defaults if row.part in ("shift", "ring_geometry"))
    yield from (row.source for row in base.shift_bounds)
