"""What does this shift ask of the ring, and which facing stands it? Question and knowledge in, one answer out."""

from collections.abc import Iterator, Sequence
from typing import Any

from knowledge.base import KnowledgeBase
from knowledge.citing import answer_id, sources_of
from knowledge.ids import check_ids
from knowledge.parts.notes import caution_notes
from knowledge.parts.provenance import SEVERITIES_FROM_WORST, Caution
from knowledge.parts.request_model import Detail
from knowledge.rings.ring_shift import Friction, chosen_friction, ring_shift
from knowledge.rings.shift_question import ShiftQuestion
from knowledge.shift.answer import (
    FrictionUsed,
    FullJudgedFacing,
    FullShiftAnswer,
    JudgedFacing,
    LeastChangeNote,
    ShiftAnswer,
    UnderstoodShift,
)
from knowledge.shift.assumptions import assumptions
from knowledge.shift.changes import least_changes
from knowledge.shift.curve import curve
from knowledge.shift.digits import rounded
from knowledge.shift.judge import JudgedRing
from knowledge.shift.loaded_ring import FIGURES, LoadedRing
from knowledge.shift.wording import HOW_JUDGED, drag_wins, summary, verdict_text
from knowledge.text import significant

# How many limits and findings of each facing a short answer shows where it judges several.
MOST_MARGINS, MOST_FINDINGS = 2, 2


def compute_shift_answer(
    question: ShiftQuestion, base: KnowledgeBase, detail: Detail = "short"
) -> ShiftAnswer | FullShiftAnswer:
    """The answer to a shift question, in short or in full.

    Raises UnknownIds when the question names a facing or a fluid that the knowledge does not have.
    """
    return full_shift_answer(question, base) if detail == "full" else short_shift_answer(question, base)


def short_shift_answer(question: ShiftQuestion, base: KnowledgeBase) -> ShiftAnswer:
    """What a person or a program needs; raises UnknownIds."""
    judged = _judged(question, base)
    best = judged[0]
    return ShiftAnswer(
        **_outcome(question, judged, "short"),
        facings=tuple(_short_facing(item, rank, is_only=len(judged) == 1) for rank, item in enumerate(judged, start=1)),
        least_changes=tuple(
            LeastChangeNote(change=change.change, to=change.about, text=change.text)
            for change in least_changes(best.ring)
            if change.about is not None
        ),
        assumed=tuple(item.pointer for item in assumptions(question, _facings(question, base), base)),
        cautions=caution_notes(_cautions(question, best.ring)),
    )


def full_shift_answer(question: ShiftQuestion, base: KnowledgeBase) -> FullShiftAnswer:
    """Everything that the shift was judged by; raises UnknownIds."""
    judged = _judged(question, base)
    best = judged[0].ring
    facings = tuple(_full_facing(item, rank) for rank, item in enumerate(judged, start=1))
    cautions = _cautions(question, best)
    findings = (finding for item in facings for finding in item.findings)
    return FullShiftAnswer(
        **_outcome(question, judged, "full"),
        question=UnderstoodShift(
            **{name: getattr(question, name) for name in ShiftQuestion.model_fields},
            assumed=tuple(assumptions(question, _facings(question, base), base)),
        ),
        friction=_friction_used(best.shift.friction),
        standings={name: best.standing(name) for name in ("friction", *FIGURES)},
        facings=facings,
        least_changes=tuple(change for item in judged for change in least_changes(item.ring)),
        curve_friction=significant(best.ends.hottest.friction),
        curve=tuple(curve(best)),
        how_judged=HOW_JUDGED,
        cautions=cautions,
        sources=sources_of((*findings, *cautions), base, *_sources_of_figures(judged, base)),
    )


def _facings(question: ShiftQuestion, base: KnowledgeBase) -> tuple[str, ...]:
    return (question.facing,) if question.facing else tuple(base.facings)


def _judged(question: ShiftQuestion, base: KnowledgeBase) -> list[JudgedRing]:
    """Each facing that was asked about, best first."""
    check_ids(question, base)
    rings = (LoadedRing(ring_shift(question, facing, base), base) for facing in _facings(question, base))
    return sorted((JudgedRing(ring) for ring in rings), key=lambda judged: judged.rank_key)


def _outcome(question: ShiftQuestion, judged: Sequence[JudgedRing], detail: Detail) -> dict[str, Any]:
    """What the short and the full answer share."""
    best, base = judged[0], judged[0].ring.base
    return {
        **_figures(best.ring, detail),
        "knowledge": base.stamp,
        "answer_id": answer_id("shift", question, base.digest),
        "summary": summary(judged),
        "facing": best.ring.shift.facing,
        "verdict": best.verdict,
        "inertia_kg_m2": significant(best.ring.shift.inertia_kg_m2),
    }


def _figures(ring: LoadedRing, detail: Detail) -> dict[str, Any]:
    """The figures of a facing by their names on the wire; in short with the digits that they can bear."""
    numbers = {
        name: rounded(value_of(ring), "computed" if detail == "full" else ring.standing(name))
        for name, value_of in FIGURES.items()
    }
    return {
        **numbers,
        "blocks": ring.ratios["blocking"] <= 1,
        "wedges": ring.ratios["release"] > 1,
        "sync_reason": None if ring.figures.sync else drag_wins(ring),
    }


def _friction_used(friction: Friction) -> FrictionUsed:
    return FrictionUsed(
        low=significant(friction.low),
        high=significant(friction.high),
        static_typical=significant(friction.static_typical),
        static_high=significant(friction.static_high),
        standing=friction.static_standing,
        reason=friction.reason,
    )


def _verdict(judged: JudgedRing, rank: int) -> dict[str, Any]:
    row = judged.ring.base.facings[judged.ring.shift.facing]
    return {
        "facing": row.id,
        "name": row.name,
        "verdict": judged.verdict,
        "verdict_text": verdict_text(judged),
        "rank": None if judged.verdict == "does-not-fit" else rank,
    }


def _short_facing(judged: JudgedRing, rank: int, *, is_only: bool) -> JudgedFacing:
    margins, notes = judged.nearest_margins, judged.notes
    return JudgedFacing(
        **_verdict(judged, rank),
        margins=margins if is_only else margins[:MOST_MARGINS],
        findings=notes if is_only else notes[:MOST_FINDINGS],
    )


def _full_facing(judged: JudgedRing, rank: int) -> FullJudgedFacing:
    return FullJudgedFacing(
        **_verdict(judged, rank),
        **_figures(judged.ring, "full"),
        friction=_friction_used(judged.ring.shift.friction),
        half_angle_deg=judged.ring.shift.half_angle_deg,
        margins=tuple(judged.margins),
        findings=judged.findings,
    )


def _cautions(question: ShiftQuestion, best: LoadedRing) -> tuple[Caution, ...]:
    """The cautions that go with choosing a ring, worst first."""
    wanted = {"service-data-decides", "keep-pairs-together", "too-slippery", "lifting-the-gearbox"}
    if best.base.facings[best.shift.facing].kind == "lined":
        wanted |= {"lining-burn-and-glaze", "solid-additives"}
    if len(best.shift.mean_radii_mm) > 1:
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
    yield from (row.source for row in base.defaults if row.part in ("shift", "ring_geometry"))
    yield from (row.source for row in base.shift_bounds)
