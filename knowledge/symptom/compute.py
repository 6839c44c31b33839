"""Is it the fluid at all? Suspects in the order of the evidence, and the checks that tell them apart."""

from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence

from knowledge.base import KnowledgeBase
from knowledge.box.question import FillQuestion
from knowledge.box.worlds import Worlds
from knowledge.ids import check_symptom_ids
from knowledge.parts.citing import answer_id, sources_of
from knowledge.parts.provenance import SEVERITIES_FROM_WORST, Caution, Citation
from knowledge.shop.shop import NO_SHOP, Shop, filled_in
from knowledge.symptom.answer import Evidence, FluidCures, Suspect, SymptomAnswer
from knowledge.symptom.fluid_in_it import InIt, in_it_now, nothing_known
from knowledge.symptom.observations import Observation, observations, ring_gap_verdict
from knowledge.symptom.question import SymptomQuestion
from knowledge.symptom.rows import CheckRow, EvidenceRow, SuspectRow, SymptomRow
from knowledge.text import listed

SERVICE_DATA_DECIDES = "service-data-decides"

ON_BENCH = ("grip_test=", "ring_gap=")

CURES = {"yes": "Fluid can cure it", "maybe": "Fluid may cure it", "no": "Fluid does not cure it"}


def symptom_answer(asked: SymptomQuestion, base: KnowledgeBase, shop: Shop = NO_SHOP) -> SymptomAnswer:
    """The answer to a symptom question; `shop` is where the box of its fill question is looked up.

    Errors: UnknownIds, when the question names an id that the knowledge or the shop does not have.
    """
    check_symptom_ids(asked, base, shop.boxes)
    box, from_box = filled_in(asked.question, shop) if asked.question else (None, None)
    question = _understood(asked, box, base)
    worlds = Worlds.of(question.question, base) if question.question else None
    in_it = in_it_now(question.question, worlds) if worlds else nothing_known()
    seen = observations(question, worlds, in_it, base)
    marks = frozenset(seen)
    by_cost = _cheapest_first(question, marks, base)
    suspects = _suspects(seen, by_cost, _may_lead(question, base), base)
    leaders = [suspect for suspect in suspects if suspect.leads]
    shown = [row for row in base.by_id(SuspectRow).values() if not marks.isdisjoint(row.shown_by)]
    cures, reason = _can_cure(leaders, shown, base)
    checks = tuple(_next_checks(question, leaders, marks, by_cost, base))
    rows = {row.id: row for row in (*(base.by_id(SuspectRow)[suspect.id] for suspect in leaders), *shown)}
    cautions = _cautions(question, rows.values(), checks, base)
    evidence = [item for suspect in suspects for item in (*suspect.speaks_for, *suspect.against)]
    sides = {suspect.side for suspect in leaders}
    return SymptomAnswer(
        knowledge=base.stamp,
        answer_id=answer_id("symptom", question, base.digest),
        question=question,
        from_box=from_box,
        summary=_summary(leaders, cures),
        side=sides.pop() if len(sides) == 1 else "either" if sides else "unknown",
        fluid_can_cure=cures,
        reason=reason,
        ring_gap=ring_gap_verdict(question.ring_gap),
        fluid_in_it=in_it.told,
        suspects=suspects,
        next_checks=checks,
        ask_for=tuple(_ask_for(question, seen, in_it)),
        cautions=cautions,
        sources=sources_of((*in_it.findings, *evidence, *suspects, *checks, *cautions), base),
    )


def _summary(leaders: Sequence[Suspect], cures: FluidCures) -> str:
    if not leaders:
        return "Nothing points anywhere yet: say what it does, when, and in which gears."
    others = f", {len(leaders) - 1} more near it" if len(leaders) > 1 else ""
    return f"{CURES[cures]}. Leading suspect: {leaders[0].words}{others}."


def _understood(asked: SymptomQuestion, box: FillQuestion | None, base: KnowledgeBase) -> SymptomQuestion:
    """The question with its lists in one order, each entry once, and its box as the shop filled it in."""
    return asked.model_copy(
        update={
            "symptoms": tuple(id for id in base.by_id(SymptomRow) if id in asked.symptoms),
            "fluid_state": tuple(sorted(set(asked.fluid_state))),
            "question": box,
        }
    )


def _may_lead(question: SymptomQuestion, base: KnowledgeBase) -> frozenset[str]:
    """The suspects that may stand at the top: no fluid where every complaint is one that no fluid causes."""
    is_never_fluid = bool(question.symptoms) and all(base.by_id(SymptomRow)[id].never_fluid for id in question.symptoms)
    return frozenset(row.id for row in base.by_id(SuspectRow).values() if row.side == "hardware" or not is_never_fluid)


def _suspects(
    seen: Mapping[str, Observation], by_cost: Sequence[CheckRow], may_lead: Collection[str], base: KnowledgeBase
) -> tuple[Suspect, ...]:
    """Every suspect that anything speaks for or against and that this box can have.

    The leading ones stand first; then the highest score, equal ones by the cheaper check.
    """
    possible = {row.id for row in base.by_id(SuspectRow).values() if seen.keys().isdisjoint(row.impossible_when)}
    found: dict[str, list[Evidence]] = {}
    for row in base.rows(EvidenceRow):
        if row.suspect in possible and row.seen in seen and (row.only_with is None or row.only_with in seen):
            found.setdefault(row.suspect, []).append(_evidence(row, seen[row.seen]))
    scores = {id: sum(item.steps for item in items) for id, items in found.items()}
    near = max((scores[id] for id in found if id in may_lead), default=0) - base.limit("suspects-near-within")
    checks = {id: _cheapest_check(id, by_cost) for id in found}
    rows = [row for row in base.by_id(SuspectRow).values() if row.id in found]
    leading = {
        row.id
        for row in rows
        if row.id in may_lead and scores[row.id] > 0 and (scores[row.id] >= near or _is_shown_on_bench(row, seen))
    }
    rows.sort(key=lambda row: (row.id not in leading, -scores[row.id], by_cost.index(checks[row.id])))
    return tuple(_suspect(row, found[row.id], checks[row.id], leads=row.id in leading) for row in rows)


def _is_shown_on_bench(row: SuspectRow, seen: Iterable[str]) -> bool:
    return any(mark in row.shown_by and mark.startswith(ON_BENCH) for mark in seen)


def _evidence(row: EvidenceRow, observation: Observation) -> Evidence:
    citation = Citation(id=row.source, locator=row.locator)
    if (finding := observation.finding) is None:
        return Evidence(
            seen=row.seen,
            text=row.reason,
            steps=row.steps,
            standing=row.standing,
            about=observation.about,
            sources=(citation,),
        )
    return Evidence(
        seen=row.seen,
        text=f"{row.reason} {finding.text}",
        steps=row.steps,
        standing="computed" if finding.figures else row.standing,
        about=observation.about,
        figures=finding.figures,
        sources=(*finding.sources, citation),
    )


def _suspect(row: SuspectRow, evidence: Sequence[Evidence], check: CheckRow, *, leads: bool) -> Suspect:
    ordered = sorted(evidence, key=lambda item: -abs(item.steps))
    return Suspect(
        id=row.id,
        side=row.side,
        words=row.words,
        score=sum(item.steps for item in evidence),
        leads=leads,
        fluid_cures=row.fluid_cures,
        speaks_for=tuple(item for item in ordered if item.steps > 0),
        against=tuple(item for item in ordered if item.steps < 0),
        check=check.id,
        sources=row.sources,
    )


def _cheapest_check(suspect: str, by_cost: Sequence[CheckRow]) -> CheckRow:
    return next(check for check in by_cost if any(suspect in outcome.points_to for outcome in check.outcomes))


def _cheapest_first(question: SymptomQuestion, marks: frozenset[str], base: KnowledgeBase) -> tuple[CheckRow, ...]:
    """Every check that can be made, by its cost; of equal ones the first in the table comes first.

    Whoever measured a ring or saw its teeth has the box apart: the bench is then near and the road far.
    """
    is_apart = any(mark.startswith(ON_BENCH) for mark in marks) or any(
        base.by_id(SymptomRow)[id].on_bench for id in question.symptoms
    )
    rows = [row for row in base.by_id(CheckRow).values() if marks.isdisjoint(row.impossible_when)]
    if is_apart:
        rows = [row.model_copy(update={"cost": row.cost_apart or row.cost}) for row in rows]
    return tuple(sorted(rows, key=lambda check: check.cost))


def _can_cure(leaders: Sequence[Suspect], shown: Sequence[SuspectRow], base: KnowledgeBase) -> tuple[FluidCures, str]:
    """Whether fluid can cure it: as the leading suspects say, if they agree and nothing shown is beyond a fluid."""
    if not leaders:
        return "maybe", "Nothing speaks for any suspect yet, so neither fluid nor hardware can be ruled out."
    cures = {suspect.fluid_cures for suspect in leaders}
    verdict = cures.pop() if len(cures) == 1 else "maybe"
    told = dict.fromkeys(base.by_id(SuspectRow)[suspect.id].fluid_reason for suspect in leaders)
    names = listed((suspect.words for suspect in leaders), "or")
    reason = f"It points to {names}. {' '.join(told)}"
    if verdict != "yes" or not shown:
        return verdict, reason
    others = listed((row.words for row in shown), "and")
    return "maybe", f"{reason} But reckon with {others} too. {' '.join(row.fluid_reason for row in shown)}"


def _next_checks(
    question: SymptomQuestion,
    leaders: Sequence[Suspect],
    marks: frozenset[str],
    by_cost: Sequence[CheckRow],
    base: KnowledgeBase,
) -> Iterator[CheckRow]:
    """The checks not made yet, cheapest first: those with a result that points to a leader.

    What was seen can call for a check whoever leads; one that is needless for every complaint is left out.
    """
    ids = {suspect.id for suspect in leaders}
    told = {mark.partition("=")[0] for mark in marks}
    needless = [set(base.by_id(SymptomRow)[id].needless_checks) for id in question.symptoms]
    left_out = set.intersection(*needless) if needless else set()
    for check in by_cost:
        points_to_leader = any(not ids.isdisjoint(outcome.points_to) for outcome in check.outcomes)
        is_wanted = points_to_leader or not marks.isdisjoint(check.always_when)
        if is_wanted and check.tells not in told and check.id not in left_out:
            yield check


def _ask_for(question: SymptomQuestion, seen: Iterable[str], in_it: InIt) -> Iterator[str]:
    told = {mark.partition("=")[0] for mark in seen}
    if not question.symptoms:
        yield "What does it do: grind, block, feel stiff, jump out, or make a noise?"
    if "when" not in told:
        yield "When does it show: cold, hot, always, or on fast shifts only?"
    if "gears" not in told:
        yield "In which gears: one, several, all, or reverse?"
    if (gap := ring_gap_verdict(question.ring_gap)).status == "no-judgement":
        yield gap.text
    if in_it.told.status != "stated":
        yield "What is in the box now: kind of fluid, grade, and its data sheet if there is one?"


def _cautions(
    question: SymptomQuestion, suspects: Iterable[SuspectRow], checks: Sequence[CheckRow], base: KnowledgeBase
) -> tuple[Caution, ...]:
    """The cautions of the complaints, of the suspects that lead or are shown, and of the checks.

    That service data decides is said in any case.
    """
    wanted = {SERVICE_DATA_DECIDES}
    for row in (
        *(base.by_id(SymptomRow)[id] for id in question.symptoms),
        *suspects,
        *checks,
    ):
        wanted.update(row.cautions)
    rows = (row for row in base.cautions.values() if row.id in wanted)
    return tuple(sorted(rows, key=lambda row: SEVERITIES_FROM_WORST.index(row.severity)))
