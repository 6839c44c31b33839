"""What does this shift ask of the ring, and which facing stands it? Question and knowledge in, one answer out."""

from collections.abc import Iterator, Sequence
from typing import Any

from knowledge.base import KnowledgeBase
from knowledge.citing import answer_id, sources_of
from knowledge.ids import with_ids
from knowledge.parts.digits import rounded, shown_limit
from knowledge.parts.notes import caution_notes, messages_of, shortened
from knowledge.parts.provenance import SEVERITIES_FROM_WORST, Caution
from knowledge.parts.request_model import Detail
from knowledge.physics.interface_heat import falling_flux_rise_k
from knowledge.rings.ring_shift import Friction, chosen_friction, ring_shift
from knowledge.rings.shift_question import ShiftQuestion
from knowledge.shift.answer import (
    FrictionUsed,
    FullJudgedFacing,
    FullShiftAnswer,
    JudgedFacing,
    LeastChangeNote,
    ShiftAnswer,
    ShiftMoment,
    UnderstoodShift,
)
from knowledge.shift.assumptions import assumptions
from knowledge.shift.compare import compared
from knowledge.shift.judge import JudgedRing, summary
from knowledge.shift.loaded_ring import LoadedRing
from knowledge.text import Said

# How many limits and findings of each facing a short answer shows where it judges several.
MOST_SHOWN = (2, 1)
POINTS = 24

# Where the speeds never match the curve stops here, and does not show how the difference grows.
UNFINISHED_S = 0.5

HOW_JUDGED = {
    "friction": "Torque, time and blocking are taken at the low end of friction; energy, power and heat at the end "
    "that is worse.",
    "wedging": "A ring wedges where the middle of its friction is enough for it; where only the judged rise at rest "
    "is, care.",
    "limits": "Most limits are recalled or judged: a little over one is care, far over it does not fit, as far for "
    "every facing.",
    "never": "A ring that grinds, wedges or never gets there in warm oil does not fit.",
    "face": "The temperature of the face is that of a true cone that touches everywhere: the real one is hotter.",
    "order": "Of rings that fit the one that rebuilders reach for first stands first; of the others the one least "
    "outside.",
}


def compute_shift_answer(
    question: ShiftQuestion, base: KnowledgeBase, detail: Detail = "short"
) -> ShiftAnswer | FullShiftAnswer:
    """The answer to a shift question, in short or in full.

    Raises UnknownIds when the question names a facing or a fluid that the knowledge does not have.
    """
    if detail == "full":
        return full_shift_answer(question, base)
    question = with_ids(question, base)
    judged = _judged(question, base)
    best = judged[0].ring
    margins, findings = MOST_SHOWN if len(judged) > 1 else (None, None)
    return ShiftAnswer(
        **_outcome(question, judged, "short"),
        facings=tuple(
            JudgedFacing(**_verdict(item, rank), margins=item.nearest_margins[:margins], findings=item.notes[:findings])
            for rank, item in enumerate(judged, start=1)
        ),
        least_changes=tuple(
            shortened(change, LeastChangeNote) for change in judged[0].least_changes if change.to is not None
        ),
        assumed=tuple(item.pointer for item in assumptions(question, _facings(question, base), base)),
        cautions=caution_notes(_cautions(question, best)),
    )


def full_shift_answer(question: ShiftQuestion, base: KnowledgeBase) -> FullShiftAnswer:
    """Everything that the shift was judged by; raises UnknownIds."""
    question = with_ids(question, base)
    judged = _judged(question, base)
    best = judged[0].ring
    facings = tuple(
        FullJudgedFacing(
            **_verdict(item, rank),
            **_figures(item.ring, "full"),
            friction=_friction_used(item.ring.shift.friction),
            half_angle_deg=item.ring.shift.half_angle_deg,
            margins=tuple(item.margins),
            findings=item.findings,
        )
        for rank, item in enumerate(judged, start=1)
    )
    cautions = _cautions(question, best)
    findings = (finding for item in facings for finding in item.findings)
    outcome, assumed = _outcome(question, judged, "full"), tuple(assumptions(question, _facings(question, base), base))
    said: dict[str, Any] = {
        "friction": _friction_used(best.shift.friction),
        "facings": facings,
        "least_changes": tuple(change for item in judged for change in item.least_changes),
        "how_judged": tuple(Said(text, f"how-judged/{what}") for what, text in HOW_JUDGED.items()),
    }
    of_outcome = {name: outcome[name] for name in ("summary", "sync_reason", "compare")}
    return FullShiftAnswer(
        **outcome,
        **said,
        question=UnderstoodShift(
            **{name: getattr(question, name) for name in ShiftQuestion.model_fields}, assumed=assumed
        ),
        standings={name: best.standing(name) for name in ("friction", *best.on_the_wire)},
        curve_friction=rounded(best.ends.hottest.friction),
        curve=tuple(_curve(best)),
        cautions=cautions,
        messages=tuple(messages_of(of_outcome | said | {"question": {"assumed": assumed}})),
        sources=sources_of((*findings, *cautions), base, *_sources_of_figures(judged, base)),
    )


def _facings(question: ShiftQuestion, base: KnowledgeBase) -> tuple[str, ...]:
    return (question.facing,) if question.facing else tuple(base.facings)


def _judged(question: ShiftQuestion, base: KnowledgeBase) -> list[JudgedRing]:
    """Each facing that was asked about, best first."""
    rings = (LoadedRing(ring_shift(question, facing, base), base) for facing in _facings(question, base))
    return sorted((JudgedRing(ring) for ring in rings), key=lambda judged: judged.rank_key)


def _outcome(question: ShiftQuestion, judged: Sequence[JudgedRing], detail: Detail) -> dict[str, Any]:
    """What the short and the full answer share."""
    best, base = judged[0], judged[0].ring.base
    beside = tuple(compared(question, best))
    return {
        **_figures(best.ring, detail),
        "knowledge": base.stamp,
        "answer_id": answer_id("shift", question, base.digest),
        "summary": summary(judged, beside),
        "facing": best.ring.shift.facing,
        "verdict": best.verdict,
        "inertia_kg_m2": rounded(best.ring.shift.inertia_kg_m2),
        "compare": beside,
    }


def _figures(ring: LoadedRing, detail: Detail) -> dict[str, Any]:
    """The figures of a facing by their names on the wire; in short with the digits that they can bear."""
    reason = None
    if ring.figures.sync_time_s is None:
        drag = ring.computed_limit("drag_nm", ring.shift.drag_nm)
        torque = ring.shown_beside("cone_torque_nm", ring.figures.cone_torque_nm, drag)
        text = f"Drag wins: the cones' {torque} N·m do not overcome {shown_limit(drag)} N·m of drag."
        reason = Said(text, "drag-wins", cone_torque_nm=torque, drag_nm=shown_limit(drag))
    return {
        name: rounded(value) if detail == "full" else rounded(value, ring.standing(name), most=3)
        for name, value in ring.on_the_wire.items()
    } | {"blocks": ring.ratios["blocking"] <= 1, "wedges": ring.wedges, "sync_reason": reason}


def _friction_used(friction: Friction) -> FrictionUsed:
    ends = {name: rounded(getattr(friction, name)) for name in ("low", "high", "static_typical", "static_high")}
    return FrictionUsed(**ends, standing=friction.static_standing, reason=friction.reason)


def _verdict(judged: JudgedRing, rank: int) -> dict[str, Any]:
    row = judged.ring.base.facings[judged.ring.shift.facing]
    return {
        "facing": row.id,
        "name": row.name,
        "verdict": judged.verdict,
        "verdict_text": judged.verdict_text,
        "rank": None if judged.verdict == "does-not-fit" else rank,
    }


def _cautions(question: ShiftQuestion, best: LoadedRing) -> tuple[Caution, ...]:
    """The cautions that go with choosing a ring, worst first."""
    wanted = {"keep-pairs-together", "lifting-the-gearbox"}
    if question.fluid is not None:
        wanted |= {"too-slippery", "solid-additives"}
    if best.base.facings[best.shift.facing].kind == "lined":
        wanted.add("lining-burn-and-glaze")
    else:
        wanted.discard("solid-additives")
    if best.shift.cones > 1:
        wanted.add("multi-cone-in-the-cold")
    if question.condition == "worn":
        wanted.add("worn-ring-stays-worn")
    rows = [row for row in best.base.cautions.values() if row.id in wanted]
    return tuple(sorted(rows, key=lambda row: SEVERITIES_FROM_WORST.index(row.severity)))


def _sources_of_figures(judged: Sequence[JudgedRing], base: KnowledgeBase) -> Iterator[str]:
    """The sources of the tables behind the figures."""
    for ring in (item.ring for item in judged):
        yield from (row.source for row in ring.limits.values())
        yield chosen_friction(ring.shift.facing, base).source
        yield ring.shift.land.source
        if by_fluid := ring.shift.friction.by_fluid:
            yield by_fluid.source
    yield from (row.source for row in base.facing_thermal if row.chosen)
    yield from (row.source for row in base.defaults.values() if row.part in ("shift", "ring_geometry"))
    yield from (row.source for row in base.shift_bounds)


def _curve(ring: LoadedRing) -> Iterator[ShiftMoment]:
    """The shift over time: the film is wiped away, then the cones slip until the speeds match, then they hold.

    At the end of friction where the face gets hotter, so that it shows what was judged.
    """
    shift, found = ring.shift, ring.ends.hottest
    peak_c, rise_k = found.interface_peak_c, found.interface_rise_k
    before = None if peak_c is None or rise_k is None else peak_c - rise_k
    start = ring.on_the_wire["wiping_time_s"] or 0.0
    slip_s, drift = (UNFINISHED_S, 0.0) if found.sync_time_s is None else (found.sync_time_s, -1.0)
    if start > 0:
        yield _moment(0.0, shift.speed_difference_rpm, 0.0, before)
        yield _moment(start, shift.speed_difference_rpm, 0.0, before)
    for step in range(POINTS + 1):
        # Close together at first, where the face warms fastest.
        share = (step / POINTS) ** 2
        face_c = before
        if face_c is not None:
            face_c += falling_flux_rise_k(
                initial_flux_w_mm2=found.power_peak_w_mm2 / shift.contact_share,
                slip_time_s=slip_s,
                time_s=share * slip_s,
                facing_effusivity_w_s05_m2_k=shift.heat.facing_effusivity,
                cone_effusivity_w_s05_m2_k=shift.heat.cone_effusivity,
            )
        speed_rpm = shift.speed_difference_rpm * (1.0 + drift * share)
        yield _moment(start + share * slip_s, speed_rpm, found.cone_torque_nm, face_c)


def _moment(time_s: float, speed_rpm: float, torque_nm: float, face_c: float | None) -> ShiftMoment:
    return ShiftMoment(
        time_s=rounded(time_s),
        speed_difference_rpm=rounded(max(speed_rpm, 0.0)),
        torque_nm=rounded(torque_nm),
        interface_c=rounded(face_c),
    )
