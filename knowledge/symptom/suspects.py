"""Suspects in the order of the evidence, and the checks that tell them apart."""

import re
from collections.abc import Collection, Iterator, Mapping, Sequence

from knowledge.base import KnowledgeBase
from knowledge.parts.provenance import Citation, Finding
from knowledge.symptom.answer import FullEvidence, FullSuspect
from knowledge.symptom.observations import ON_BENCH, SEEN_DIRECTLY, Observation, fields_of
from knowledge.symptom.rows import CheckRow, EvidenceRow, SuspectRow, SymptomRow
from knowledge.text import Said


def checks_by_cost(
    complaints: Collection[SymptomRow], seen: Mapping[str, Observation], base: KnowledgeBase
) -> tuple[CheckRow, ...]:
    """Checks that can be made, by their cost; of equal ones the first in the table comes first; needless ones are last.

    Whoever measured a ring or saw its teeth has the box apart: the bench is then near and the road far.
    """
    rows = [
        row
        for row in base.rows(CheckRow)
        if seen.keys().isdisjoint(row.impossible_when) and not (row.only_when and seen.keys().isdisjoint(row.only_when))
    ]
    if any(mark.startswith(ON_BENCH) for mark in seen) or any(row.on_bench for row in complaints):
        rows = [row.model_copy(update={"cost": row.cost_apart or row.cost}) for row in rows]
    needless = _needless(complaints)
    return tuple(sorted(rows, key=lambda check: (check.id in needless, check.cost)))


def _needless(complaints: Collection[SymptomRow]) -> set[str]:
    """The checks that show nothing of any of the complaints."""
    return set.intersection(*(set(row.needless_checks) for row in complaints)) if complaints else set()


def next_checks(
    complaints: Collection[SymptomRow],
    leaders: Collection[str],
    seen: Mapping[str, Observation],
    by_cost: Sequence[CheckRow],
) -> Iterator[CheckRow]:
    """The checks not made yet, cheapest first, and of equal ones what is called for: those that point to a leader.

    What was seen can call for a check whoever leads; one that is needless for every complaint is left out.
    """
    known, needless = fields_of(seen), _needless(complaints)
    called_for = {check.id for check in by_cost if not seen.keys().isdisjoint(check.always_when)}
    for check in sorted(by_cost, key=lambda check: (check.cost, check.id not in called_for)):
        is_wanted = check.id in called_for or any(points_to(check, leader) for leader in leaders)
        if is_wanted and check.tells not in known and check.id not in needless:
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
    """Every suspect that this box can have, and that can be behind one of the complaints or was seen directly.

    The leading ones stand first: those at the top or near it, and those that the bench has shown. Nobody leads without
    anything that speaks for it. Then comes the highest score; equal ones as a rebuilder names them.
    """
    places = [(place, id) for row in complaints for place, id in enumerate(row.suspects)]
    named = {id: place for place, id in sorted(places, reverse=True)}  # each at its foremost place
    found = _evidence_by_suspect(seen, base)
    direct = {id for id, items in found.items() if any(e.steps > 0 and e.seen.startswith(SEEN_DIRECTLY) for e in items)}
    rows = [row for row in base.rows(SuspectRow) if row.id in found and seen.keys().isdisjoint(row.impossible_when)]
    if complaints:
        sides = {row.side for row in base.rows(SuspectRow) if row.id in named} | {"hardware"}
        rows = [row for row in rows if row.id in named or (row.id in direct and row.side in sides)]
    scores = {row.id: sum(item.steps for item in found[row.id]) for row in rows}
    near = max(scores.values(), default=0) - base.limit("suspects-near-within")
    on_bench = {mark for mark in seen if mark.startswith(ON_BENCH)}
    leading = {
        row.id for row in rows if scores[row.id] > 0 and (scores[row.id] >= near or on_bench & set(row.shown_by))
    }
    rows.sort(key=lambda row: (row.id not in leading, -scores[row.id], named.get(row.id, len(named))))
    return tuple(
        FullSuspect(
            **{name: getattr(row, name) for name in ("id", "side", "words", "fluid_cures", "sources")},
            score=scores[row.id],
            leads=row.id in leading,
            speaks_for=tuple(item for item in found[row.id] if item.steps > 0),
            against=tuple(item for item in found[row.id] if item.steps < 0),
            check=next(check for check in by_cost if points_to(check, row.id)).id,
        )
        for row in rows
    )


def _evidence_by_suspect(seen: Mapping[str, Observation], base: KnowledgeBase) -> dict[str, list[FullEvidence]]:
    """What moves each suspect, what moves it most first."""
    found: dict[str, list[FullEvidence]] = {}
    for row in sorted(base.rows(EvidenceRow), key=lambda row: -abs(row.steps)):
        if row.seen in seen and (row.only_with is None or row.only_with in seen):
            found.setdefault(row.suspect, []).append(_evidence(row, seen[row.seen]))
    return found


def _said(row: EvidenceRow, finding: Finding | None) -> str:
    """What was seen says of a suspect; its code is that of the row."""
    marks = "-with-".join(re.sub(r"[^a-z0-9]+", "-", mark) for mark in (row.seen, row.only_with) if mark)
    if finding is None:
        return Said(row.reason, f"{row.suspect}/{marks}")
    return Said(f"{row.reason} {finding.text}", f"{row.suspect}/{marks}", finding=finding.text)


def _evidence(row: EvidenceRow, observation: Observation) -> FullEvidence:
    """A row of the table, with text, figures and sources of the finding where a rule saw it."""
    finding = observation.finding
    return FullEvidence(
        seen=row.seen,
        text=_said(row, finding),
        steps=row.steps,
        standing="computed" if finding and finding.figures else row.standing,
        about=observation.about,
        figures=finding.figures if finding else (),
        sources=(*(finding.sources if finding else ()), Citation(id=row.source, locator=row.locator)),
    )
