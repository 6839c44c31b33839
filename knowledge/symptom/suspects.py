"""Suspects in the order of the evidence, and the checks that tell them apart."""

from collections.abc import Collection, Iterator, Mapping, Sequence

from knowledge.base import KnowledgeBase
from knowledge.parts.provenance import Citation
from knowledge.symptom.answer import FullEvidence, FullSuspect
from knowledge.symptom.observations import ON_BENCH, Observation, fields_of
from knowledge.symptom.rows import CheckRow, EvidenceRow, SuspectRow, SymptomRow


def checks_by_cost(
    complaints: Collection[SymptomRow], seen: Mapping[str, Observation], base: KnowledgeBase
) -> tuple[CheckRow, ...]:
    """Every check that can be made, by its cost; of equal ones the first in the table comes first.

    Whoever measured a ring or saw its teeth has the box apart: the bench is then near and the road far.
    """
    rows = [row for row in base.rows(CheckRow) if seen.keys().isdisjoint(row.impossible_when)]
    if any(mark.startswith(ON_BENCH) for mark in seen) or any(row.on_bench for row in complaints):
        rows = [row.model_copy(update={"cost": row.cost_apart or row.cost}) for row in rows]
    return tuple(sorted(rows, key=lambda check: check.cost))


def next_checks(
    complaints: Collection[SymptomRow],
    leaders: Collection[str],
    seen: Mapping[str, Observation],
    by_cost: Sequence[CheckRow],
) -> Iterator[CheckRow]:
    """The checks not made yet, cheapest first: those with a result that points to a leader.

    What was seen can call for a check whoever leads; one that is needless for every complaint is left out.
    """
    known = fields_of(seen)
    needless = [set(row.needless_checks) for row in complaints]
    left_out = set.intersection(*needless) if needless else set()
    for check in by_cost:
        is_wanted = any(points_to(check, leader) for leader in leaders) or not seen.keys().isdisjoint(check.always_when)
        if is_wanted and check.tells not in known and check.id not in left_out:
            yield check


def points_to(check: CheckRow, suspect: str) -> bool:
    """Whether a check has a result that points to a suspect."""
    return any(suspect in outcome.points_to for outcome in check.outcomes)


def ranked_suspects(
    complaints: Collection[SymptomRow],
    seen: Mapping[str, Observation],
    by_cost: Sequence[CheckRow],
    base: KnowledgeBase,
) -> tuple[FullSuspect, ...]:
    """Every suspect that anything speaks for or against and that this box can have.

    The leading ones stand first: those at the top or near it, and those that the bench has shown. Nobody leads without
    anything that speaks for it, and no fluid where every complaint is one that no fluid causes. Then comes the highest
    score, equal ones by the cheaper check.
    """
    found = _evidence_by_suspect(seen, base)
    rows = [row for row in base.rows(SuspectRow) if row.id in found]
    scores = {id: sum(item.steps for item in items) for id, items in found.items()}
    checks = {id: next(check for check in by_cost if points_to(check, id)) for id in found}
    is_never_fluid = bool(complaints) and all(row.never_fluid for row in complaints)
    suspected = [row for row in rows if scores[row.id] > 0 and (row.side == "hardware" or not is_never_fluid)]
    near = max((scores[row.id] for row in suspected), default=0) - base.limit("suspects-near-within")
    on_bench = {mark for mark in seen if mark.startswith(ON_BENCH)}
    leading = {row.id for row in suspected if scores[row.id] >= near or not on_bench.isdisjoint(row.shown_by)}
    rows.sort(key=lambda row: (row.id not in leading, -scores[row.id], by_cost.index(checks[row.id])))
    return tuple(
        FullSuspect(
            **{name: getattr(row, name) for name in ("id", "side", "words", "fluid_cures", "sources")},
            score=scores[row.id],
            leads=row.id in leading,
            speaks_for=tuple(item for item in found[row.id] if item.steps > 0),
            against=tuple(item for item in found[row.id] if item.steps < 0),
            check=checks[row.id].id,
        )
        for row in rows
    )


def _evidence_by_suspect(seen: Mapping[str, Observation], base: KnowledgeBase) -> dict[str, list[FullEvidence]]:
    """What moves each suspect that this box can have, what moves it most first."""
    possible = {row.id for row in base.rows(SuspectRow) if seen.keys().isdisjoint(row.impossible_when)}
    found: dict[str, list[FullEvidence]] = {}
    for row in sorted(base.rows(EvidenceRow), key=lambda row: -abs(row.steps)):
        if row.suspect in possible and row.seen in seen and (row.only_with is None or row.only_with in seen):
            found.setdefault(row.suspect, []).append(_evidence(row, seen[row.seen]))
    return found


def _evidence(row: EvidenceRow, observation: Observation) -> FullEvidence:
    """A row of the table, with text, figures and sources of the finding where a rule saw it."""
    finding = observation.finding
    return FullEvidence(
        seen=row.seen,
        text=f"{row.reason} {finding.text}" if finding else row.reason,
        steps=row.steps,
        standing="computed" if finding and finding.figures else row.standing,
        about=observation.about,
        figures=finding.figures if finding else (),
        sources=(*(finding.sources if finding else ()), Citation(id=row.source, locator=row.locator)),
    )
