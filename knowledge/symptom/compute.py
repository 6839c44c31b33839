"""Is it the fluid at all? The answer to a symptom question."""

from collections.abc import Collection, Iterator, Sequence
from typing import Any

from knowledge.base import KnowledgeBase
from knowledge.citing import answer_id, sources_of
from knowledge.ids import with_ids
from knowledge.judging.cautions import every_fill
from knowledge.parts.notes import caution_notes, messages_of, shortened
from knowledge.parts.provenance import SEVERITIES_FROM_WORST
from knowledge.parts.request_model import Detail
from knowledge.shop.shop import NO_SHOP, Shop, filled_in
from knowledge.symptom.answer import (
    FluidCures,
    FullFluidInIt,
    FullSuspect,
    FullSymptomAnswer,
    RingGapVerdict,
    Suspect,
    SymptomAnswer,
)
from knowledge.symptom.in_the_box import in_the_box
from knowledge.symptom.observations import fields_of, observations, ring_gap_verdict
from knowledge.symptom.question import SymptomQuestion
from knowledge.symptom.rows import CheckRow, SuspectRow, SymptomRow
from knowledge.symptom.suspects import checks_by_cost, next_checks, ranked_suspects
from knowledge.text import Said, capitalized, in_a_row, spoken

CURES = {
    "yes": Said("The right oil cures it.", "oil-cures-it"),
    "maybe": Said("The right oil may cure it.", "oil-may-cure-it"),
    "no": Said("No oil cures it.", "no-oil-cures-it"),
}
NOTHING_YET = Said("Nothing points anywhere yet: say what it does, when, and in which gears.", "nothing-points-yet")
NO_REASON_YET = Said(
    "Nothing points to any suspect yet, so neither fluid nor hardware can be ruled out.", "no-suspect-yet"
)
ASK_WHAT = Said("What does it do: grind, block, feel stiff, jump out, or make a noise?", "ask-what-it-does")
ASK_WHEN = Said("When does it show: cold, hot, always, or on fast shifts only?", "ask-when-it-shows")
ASK_GEARS = Said("In which gears: one, several, all, or reverse?", "ask-in-which-gears")
ASK_FLUID = Said(
    "What is in the box now: kind of fluid, grade, and its data sheet if there is one?", "ask-what-is-in-it"
)
SUMMARY_AT_MOST = 140
SUSPECTS_IN_SUMMARY, SUSPECTS_IN_SHORT, EVIDENCE_IN_SHORT, CHECKS_IN_SHORT = 3, 5, 2, 3


def compute_symptom_answer(
    asked: SymptomQuestion, base: KnowledgeBase, shop: Shop = NO_SHOP, detail: Detail = "short"
) -> SymptomAnswer:
    """The answer to a symptom question, in full a `FullSymptomAnswer`; its box is looked up in `shop`.

    Raises UnknownIds when the question names an id that neither the knowledge nor the shop has.
    """
    asked = with_ids(asked, base, shop.ids)
    box, from_box = filled_in(asked.question, shop) if asked.question else (None, None)
    complaints = [row for row in base.rows(SymptomRow) if row.id in asked.symptoms]
    # Lists in one order, each entry once, so that equal questions read the same.
    update = {
        "symptoms": tuple(row.id for row in complaints),
        "fluid_state": tuple(sorted(set(asked.fluid_state))),
        "question": box,
    }
    question = asked.model_copy(update=update)
    known = in_the_box(box, base)
    seen = observations(question, known, base)
    by_cost = checks_by_cost(complaints, seen, base)
    suspects = ranked_suspects(complaints, seen, by_cost, base)
    leaders = [suspect for suspect in suspects if suspect.leads]
    speaking = [
        row
        for suspect, row in ((suspect, base.by_id(SuspectRow)[suspect.id]) for suspect in suspects)
        if suspect.leads or (suspect.score > 0 and not seen.keys().isdisjoint(row.shown_by))
    ]
    cures, reason = _can_cure(speaking)
    checks = tuple(next_checks(complaints, [suspect.id for suspect in leaders], seen, by_cost))
    calling: tuple[SymptomRow | SuspectRow | CheckRow, ...] = (*complaints, *speaking, *checks[:CHECKS_IN_SHORT])
    wanted = {id for row in calling for id in row.cautions}
    by_severity = sorted(base.cautions.values(), key=lambda row: SEVERITIES_FROM_WORST.index(row.severity))
    every = every_fill(base)
    cautions = [row for row in by_severity if row.id in wanted.difference(every.ids)]
    opens = _opens(leaders, seen, base)
    summary, gap = _summary(leaders, opens or CURES[cures]), ring_gap_verdict(question.ring_gap)
    first = [_first(check) for check in checks[:1] if not opens]
    dangers = (caution.in_full for caution in cautions if caution.severity == "danger")
    evidence = [item for suspect in suspects for item in (*suspect.speaks_for, *suspect.against)]
    sides = {suspect.side for suspect in leaders}
    said: dict[str, Any] = {
        "summary": summary,
        "say": spoken((summary, *first, *dangers)),
        "reason": reason,
        "ring_gap": gap,
        "fluid_in_it": FullFluidInIt(
            status=known.status,
            text=known.text,
            lubricants=tuple(dict.fromkeys(lubricant.id for lubricant in known.lubricants)),
            findings=known.findings,
        ),
        "suspects": suspects,
        "ask_for": tuple(_ask_for(complaints, fields_of(seen), gap, is_fluid_stated=known.status == "stated")),
    }
    full = FullSymptomAnswer(
        knowledge=base.stamp,
        answer_id=answer_id("symptom", question, base.digest),
        **said,
        side=sides.pop() if len(sides) == 1 else "either" if sides else "unknown",
        fluid_can_cure=cures,
        next_checks=checks,
        cautions=tuple(cautions),
        every_job=every.ids,
        every_job_words=every.words,
        question=question,
        from_box=from_box,
        messages=tuple(messages_of(said)),
        sources=sources_of((*known.findings, *evidence, *suspects, *checks, *cautions), base),
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


def _first(check: CheckRow) -> Said:
    return Said(f"First {check.words[:1].lower()}{check.words[1:]}", "check-first", check=check.id)


def _opens(leaders: Sequence[FullSuspect], seen: Collection[str], base: KnowledgeBase) -> Said | None:
    """What a leading suspect calls for before anything else; None where none does."""
    rows = (base.by_id(SuspectRow)[suspect.id] for suspect in leaders)
    opening = (row for row in rows if row.opens and not set(row.opens_unless) & set(seen))
    return next((Said(row.opens, f"{row.id}/opens") for row in opening if row.opens), None)


def _summary(leaders: Sequence[FullSuspect], head: Said) -> str:
    """Whether oil cures it or what is done first, and who is first suspected."""
    if not leaders:
        return NOTHING_YET
    summaries = (in_a_row((head, _most_likely(leaders[:count]))) for count in range(SUSPECTS_IN_SUMMARY, 0, -1))
    return next(summary for summary in summaries if len(summary) <= SUMMARY_AT_MOST)


def _most_likely(suspects: Sequence[FullSuspect]) -> Said:
    text = f"Most likely {'; or '.join(suspect.words for suspect in suspects)}."
    return Said(text, "most-likely", suspects=tuple(suspect.id for suspect in suspects))


def _can_cure(speaking: Sequence[SuspectRow]) -> tuple[FluidCures, str]:
    """Whether fluid can cure it: as all suspects have it that lead or were shown, if they agree."""
    if not speaking:
        return "maybe", NO_REASON_YET
    cures = {row.fluid_cures for row in speaking}
    reasons = (
        Said(f"{capitalized(row.words)}: {row.fluid_reason}", f"{row.id}/can-oil-cure-it")
        for row in speaking[:SUSPECTS_IN_SHORT]
    )
    return cures.pop() if len(cures) == 1 else "maybe", in_a_row(reasons)


def _ask_for(
    complaints: Sequence[SymptomRow], known: Collection[str], gap: RingGapVerdict, *, is_fluid_stated: bool
) -> Iterator[str]:
    is_in_a_shift = not complaints or any(row.in_a_shift for row in complaints)
    if not complaints:
        yield ASK_WHAT
    if is_in_a_shift and "when" not in known:
        yield ASK_WHEN
    if is_in_a_shift and "gears" not in known:
        yield ASK_GEARS
    if gap.status == "no-judgement":
        yield gap.text
    if not is_fluid_stated:
        yield ASK_FLUID
