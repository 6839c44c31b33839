"""Suspects in the order of the evidence."""

from collections.abc import Collection, Iterable, Mapping, Sequence

from knowledge.base import KnowledgeBase
from knowledge.parts.provenance import Citation
from knowledge.symptom.answer import FullEvidence, FullSuspect
from knowledge.symptom.next_checks import cheapest_check
from knowledge.symptom.observations import ON_BENCH, Observation
from knowledge.symptom.question import SymptomQuestion
from knowledge.symptom.rows import CheckRow, EvidenceRow, SuspectRow, SymptomRow


def ranked_suspects(
    question: SymptomQuestion, seen: Mapping[str, Observation], by_cost: Sequence[CheckRow], base: KnowledgeBase
) -> tuple[FullSuspect, ...]:
    """Every suspect that anything speaks for or against and that this box can have.

    The leading ones stand first; then the highest score, equal ones by the cheaper check.
    """
    found = _evidence_by_suspect(seen, base)
    rows = [row for row in base.rows(SuspectRow) if row.id in found]
    scores = {id: sum(item.steps for item in items) for id, items in found.items()}
    leading = _leading([row for row in rows if _may_lead(row, question, base)], scores, seen, base)
    checks = {id: cheapest_check(id, by_cost) for id in found}
    rows.sort(key=lambda row: (row.id not in leading, -scores[row.id], by_cost.index(checks[row.id])))
    return tuple(_suspect(row, scores[row.id], found[row.id], checks[row.id], leads=row.id in leading) for row in rows)


def _may_lead(row: SuspectRow, question: SymptomQuestion, base: KnowledgeBase) -> bool:
    """No fluid may stand at the top where every complaint is one that no fluid causes."""
    symptoms = base.by_id(SymptomRow)
    is_never_fluid = bool(question.symptoms) and all(symptoms[id].never_fluid for id in question.symptoms)
    return row.side == "hardware" or not is_never_fluid


def _leading(
    rows: Iterable[SuspectRow], scores: Mapping[str, int], seen: Collection[str], base: KnowledgeBase
) -> frozenset[str]:
    """Those at the top or near it, and those that the bench has shown; nobody without anything that speaks for it."""
    suspected = [row for row in rows if scores[row.id] > 0]
    near = max((scores[row.id] for row in suspected), default=0) - base.limit("suspects-near-within")
    on_bench = {mark for mark in seen if mark.startswith(ON_BENCH)}
    return frozenset(row.id for row in suspected if scores[row.id] >= near or not on_bench.isdisjoint(row.shown_by))


def _evidence_by_suspect(seen: Mapping[str, Observation], base: KnowledgeBase) -> dict[str, list[FullEvidence]]:
    possible = {row.id for row in base.rows(SuspectRow) if seen.keys().isdisjoint(row.impossible_when)}
    found: dict[str, list[FullEvidence]] = {}
    for row in base.rows(EvidenceRow):
        if row.suspect in possible and row.seen in seen and (row.only_with is None or row.only_with in seen):
            found.setdefault(row.suspect, []).append(_evidence(row, seen[row.seen]))
    return found


def _evidence(row: EvidenceRow, observation: Observation) -> FullEvidence:
    """A row of the table, with text, figures and sources of the finding where a rule saw it."""
    finding = observation.finding
    citation = Citation(id=row.source, locator=row.locator)
    return FullEvidence(
        seen=row.seen,
        text=f"{row.reason} {finding.text}" if finding else row.reason,
        steps=row.steps,
        standing="computed" if finding and finding.figures else row.standing,
        about=observation.about,
        figures=finding.figures if finding else (),
        sources=(*(finding.sources if finding else ()), citation),
    )


def _suspect(
    row: SuspectRow, score: int, evidence: Iterable[FullEvidence], check: CheckRow, *, leads: bool
) -> FullSuspect:
    ordered = sorted(evidence, key=lambda item: -abs(item.steps))
    return FullSuspect(
        id=row.id,
        side=row.side,
        words=row.words,
        score=score,
        leads=leads,
        fluid_cures=row.fluid_cures,
        speaks_for=tuple(item for item in ordered if item.steps > 0),
        against=tuple(item for item in ordered if item.steps < 0),
        check=check.id,
        sources=row.sources,
    )
