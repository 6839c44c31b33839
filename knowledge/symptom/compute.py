"""Is it the fluid at all? The answer to a symptom question."""

from collections.abc import Iterable, Iterator, Sequence

from knowledge.base import KnowledgeBase
from knowledge.box.question import FillQuestion
from knowledge.citing import answer_id, sources_of
from knowledge.ids import check_ids
from knowledge.parts.notes import caution_notes, shortened
from knowledge.parts.provenance import SEVERITIES_FROM_WORST, Caution
from knowledge.parts.request_model import Detail
from knowledge.shop.shop import NO_SHOP, Shop, filled_in
from knowledge.symptom.answer import (
    Check,
    FluidCures,
    FullFluidInIt,
    FullSuspect,
    FullSymptomAnswer,
    Suspect,
    SymptomAnswer,
)
from knowledge.symptom.judged_box import JudgedBox, judged_box
from knowledge.symptom.known_fluid import known_fluid
from knowledge.symptom.next_checks import checks_by_cost, next_checks
from knowledge.symptom.observations import fields_of, observations, ring_gap_verdict
from knowledge.symptom.question import SymptomQuestion
from knowledge.symptom.rows import CheckRow, SuspectRow, SymptomRow
from knowledge.symptom.suspects import ranked_suspects
from knowledge.text import listed, spoken

SERVICE_DATA_DECIDES = "service-data-decides"

CURES = {"yes": "Fluid can cure it", "maybe": "Fluid may cure it", "no": "Fluid does not cure it"}

SUSPECTS_IN_SHORT = 5
EVIDENCE_IN_SHORT = 3
CHECKS_IN_SHORT = 3


def compute_symptom_answer(
    asked: SymptomQuestion, base: KnowledgeBase, shop: Shop = NO_SHOP, detail: Detail = "short"
) -> SymptomAnswer:
    """The answer to a symptom question, in full a `FullSymptomAnswer`; its box is looked up in `shop`.

    Raises UnknownIds when the question names an id that neither the knowledge nor the shop has.
    """
    check_ids(asked, base, shop.boxes)
    box, from_box = filled_in(asked.question, shop) if asked.question else (None, None)
    question = _understood(asked, box, base)
    fluid = known_fluid(box, base)
    judged = judged_box(box, fluid.lubricants, base) if box else JudgedBox()
    seen = observations(question, fluid, judged, base)
    by_cost = checks_by_cost(question, seen, base)
    suspects = ranked_suspects(question, seen, by_cost, base)
    leaders = [suspect for suspect in suspects if suspect.leads]
    shown = [row for row in base.rows(SuspectRow) if not seen.keys().isdisjoint(row.shown_by)]
    cures, reason = _can_cure(leaders, shown, base)
    checks = tuple(next_checks(question, {suspect.id for suspect in leaders}, seen, by_cost, base))
    cautions = _cautions(question, leaders, shown, checks, base)
    evidence = [item for suspect in suspects for item in (*suspect.speaks_for, *suspect.against)]
    sides = {suspect.side for suspect in leaders}
    full = FullSymptomAnswer(
        knowledge=base.stamp,
        answer_id=answer_id("symptom", question, base.digest),
        summary=_summary(leaders, cures),
        say=_say(leaders, cures, checks, cautions),
        side=sides.pop() if len(sides) == 1 else "either" if sides else "unknown",
        fluid_can_cure=cures,
        reason=reason,
        ring_gap=ring_gap_verdict(question.ring_gap),
        fluid_in_it=FullFluidInIt(
            status=fluid.status,
            text=fluid.text,
            lubricants=tuple(dict.fromkeys(lubricant.id for lubricant in fluid.lubricants)),
            findings=judged.findings,
        ),
        suspects=suspects,
        next_checks=checks,
        ask_for=tuple(_ask_for(question, fields_of(seen), is_fluid_stated=fluid.status == "stated")),
        cautions=cautions,
        question=question,
        from_box=from_box,
        sources=sources_of((*judged.findings, *evidence, *suspects, *checks, *cautions), base),
    )
    return full if detail == "full" else _short(full)


def _short(full: FullSymptomAnswer) -> SymptomAnswer:
    """What leads or is near, by what moves it most, and the cheapest checks."""
    suspected = [suspect for suspect in full.suspects if suspect.leads or suspect.score > 0]
    return shortened(
        full,
        SymptomAnswer,
        suspects=tuple(
            shortened(
                suspect,
                Suspect,
                speaks_for=suspect.speaks_for[:EVIDENCE_IN_SHORT],
                against=suspect.against[:EVIDENCE_IN_SHORT],
            )
            for suspect in suspected[:SUSPECTS_IN_SHORT]
        ),
        next_checks=full.next_checks[:CHECKS_IN_SHORT],
        cautions=caution_notes(full.cautions),
    )


def _understood(asked: SymptomQuestion, box: FillQuestion | None, base: KnowledgeBase) -> SymptomQuestion:
    """The question with its lists in one order, each entry once, and its box as the shop filled it in."""
    return asked.model_copy(
        update={
            "symptoms": tuple(row.id for row in base.rows(SymptomRow) if row.id in asked.symptoms),
            "fluid_state": tuple(sorted(set(asked.fluid_state))),
            "question": box,
        }
    )


def _summary(leaders: Sequence[Suspect], cures: FluidCures) -> str:
    if not leaders:
        return "Nothing points anywhere yet: say what it does, when, and in which gears."
    others = f", {len(leaders) - 1} more near it" if len(leaders) > 1 else ""
    return f"{CURES[cures]}. Leading suspect: {leaders[0].words}{others}."


def _say(leaders: Sequence[Suspect], cures: FluidCures, checks: Sequence[Check], cautions: Sequence[Caution]) -> str:
    """The summary, the cheapest check, and a danger where there is one, as far as it can be read aloud."""
    first = (f"Check first: {checks[0].words}",) if checks else ()
    dangers = (caution.text for caution in cautions if caution.severity == "danger")
    return spoken((_summary(leaders, cures), *first, *dangers))


def _can_cure(
    leaders: Sequence[FullSuspect], shown: Sequence[SuspectRow], base: KnowledgeBase
) -> tuple[FluidCures, str]:
    """Whether fluid can cure it: as the leading suspects have it, if they agree and nothing shown is beyond a fluid."""
    if not leaders:
        return "maybe", "Nothing speaks for any suspect yet, so neither fluid nor hardware can be ruled out."
    cures = {suspect.fluid_cures for suspect in leaders}
    verdict = cures.pop() if len(cures) == 1 else "maybe"
    rows = base.by_id(SuspectRow)
    reasons = dict.fromkeys(rows[suspect.id].fluid_reason for suspect in leaders)
    names = listed((suspect.words for suspect in leaders), "or")
    reason = f"It points to {names}. {' '.join(reasons)}"
    if verdict != "yes" or not shown:
        return verdict, reason
    others = listed((row.words for row in shown), "and")
    return "maybe", f"{reason} But reckon with {others} too. {' '.join(row.fluid_reason for row in shown)}"


def _ask_for(question: SymptomQuestion, known: Iterable[str], *, is_fluid_stated: bool) -> Iterator[str]:
    if not question.symptoms:
        yield "What does it do: grind, block, feel stiff, jump out, or make a noise?"
    if "when" not in known:
        yield "When does it show: cold, hot, always, or on fast shifts only?"
    if "gears" not in known:
        yield "In which gears: one, several, all, or reverse?"
    if (gap := ring_gap_verdict(question.ring_gap)).status == "no-judgement":
        yield gap.text
    if not is_fluid_stated:
        yield "What is in the box now: kind of fluid, grade, and its data sheet if there is one?"


def _cautions(
    question: SymptomQuestion,
    leaders: Iterable[FullSuspect],
    shown: Iterable[SuspectRow],
    checks: Iterable[CheckRow],
    base: KnowledgeBase,
) -> tuple[Caution, ...]:
    """The cautions of the complaints, of the suspects that lead or are shown, and of the checks.

    That service data decides goes with every answer.
    """
    symptoms, suspects = base.by_id(SymptomRow), base.by_id(SuspectRow)
    calling: tuple[SymptomRow | SuspectRow | CheckRow, ...] = (
        *(symptoms[id] for id in question.symptoms),
        *(suspects[suspect.id] for suspect in leaders),
        *shown,
        *checks,
    )
    wanted = {SERVICE_DATA_DECIDES, *(id for row in calling for id in row.cautions)}
    rows = (row for row in base.cautions.values() if row.id in wanted)
    return tuple(sorted(rows, key=lambda row: SEVERITIES_FROM_WORST.index(row.severity)))
