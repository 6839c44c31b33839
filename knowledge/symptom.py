"""Is it the fluid at all? Suspects in the order of the evidence, and the checks that tell them apart."""

import hashlib
from collections.abc import Collection, Iterator, Mapping, Sequence

from knowledge.answers import Caution, Citation, Source
from knowledge.base import KnowledgeBase
from knowledge.errors import UnknownId, UnknownIds
from knowledge.fluid_in_it import InIt, in_it_now, nothing_known
from knowledge.judging import SEVERITIES_FROM_WORST
from knowledge.observations import Observation, observations, ring_gap_verdict
from knowledge.shop import NO_SHOP, Shop, filled_in
from knowledge.spelling import nearest
from knowledge.symptom_models import Evidence, FluidCures, Suspect, SymptomAnswer, SymptomQuestion
from knowledge.symptom_rows import CheckRow, EvidenceRow, SuspectRow
from knowledge.vocabulary import check_ids
from knowledge.wording import listed
from knowledge.worlds import Worlds

SERVICE_DATA_DECIDES = "service-data-decides"
CURES = {"yes": "Fluid can cure it", "maybe": "Fluid may cure it", "no": "Fluid does not cure it"}


def symptom_answer(asked: SymptomQuestion, base: KnowledgeBase, shop: Shop = NO_SHOP) -> SymptomAnswer:
    """The answer to a symptom question; `shop` is where the box of its fill question is looked up.

    Errors: UnknownIds, when the question names an id that the knowledge or the shop does not have.
    """
    _check_ids(asked, base, shop)
    question = _understood(asked, base, shop)
    worlds = Worlds.of(question.question, base) if question.question else None
    in_it = in_it_now(question.question, worlds) if worlds else nothing_known()
    seen = observations(question, worlds, in_it, base)
    suspects = _suspects(seen, base)
    leaders = [suspect for suspect in suspects if suspect.leads]
    cures, reason = _can_cure(leaders, base)
    checks = tuple(_next_checks(leaders, question, base))
    cautions = _cautions(question, leaders, checks, base)
    sides = {suspect.side for suspect in leaders}
    return SymptomAnswer(
        knowledge=base.stamp,
        answer_id=_answer_id(question, base),
        question=question,
        summary=f"{CURES[cures]}: {leaders[0].words} {'leads' if len(leaders) == 1 else 'leads, others are near'}."
        if leaders
        else "Nothing points anywhere yet: say what it does, when, and in which gears.",
        side=sides.pop() if len(sides) == 1 else "either" if sides else "unknown",
        fluid_can_cure=cures,
        reason=reason,
        ring_gap=ring_gap_verdict(question.ring_gap),
        fluid_in_it=in_it.told,
        suspects=suspects,
        next_checks=checks,
        ask_for=tuple(_ask_for(question, in_it)),
        cautions=cautions,
        sources=_sources(suspects, checks, cautions, base),
    )


def _check_ids(asked: SymptomQuestion, base: KnowledgeBase, shop: Shop) -> None:
    unknown = [
        UnknownId(f"/symptoms/{index}", id, tuple(base.symptoms), nearest(id, base.symptoms))
        for index, id in enumerate(asked.symptoms)
        if id not in base.symptoms
    ]
    try:
        if asked.question is not None:
            check_ids(asked.question, base, shop.boxes)
    except UnknownIds as error:
        unknown += [item._replace(pointer=f"/question{item.pointer}") for item in error.items]
    if unknown:
        raise UnknownIds(tuple(unknown))


def _understood(asked: SymptomQuestion, base: KnowledgeBase, shop: Shop) -> SymptomQuestion:
    """The question with its lists in one order, each entry once, and its box filled in."""
    return asked.model_copy(
        update={
            "symptoms": tuple(id for id in base.symptoms if id in asked.symptoms),
            "fluid_state": tuple(sorted(set(asked.fluid_state))),
            "question": filled_in(asked.question, shop)[0] if asked.question else None,
        }
    )


def _answer_id(question: SymptomQuestion, base: KnowledgeBase) -> str:
    said = question.model_dump_json(exclude_defaults=True)
    return hashlib.sha256(f"{base.digest}\nsymptom\n{said}".encode()).hexdigest()[:16]


def _suspects(seen: Mapping[str, Observation], base: KnowledgeBase) -> tuple[Suspect, ...]:
    """Every suspect that anything speaks for or against: highest score first, equal ones by the cheaper check."""
    found: dict[str, list[Evidence]] = {}
    for row in base.evidence:
        if row.seen in seen and (row.only_with is None or row.only_with in seen):
            found.setdefault(row.suspect, []).append(_evidence(row, seen[row.seen]))
    scores = {id: sum(item.steps for item in items) for id, items in found.items()}
    top = max(scores.values(), default=0)
    near = top - base.limit("suspects-near-within")
    order = sorted(
        (row for row in base.suspects.values() if row.id in found),
        key=lambda row: (-scores[row.id], cheapest_check(row.id, base).cost),
    )
    return tuple(
        _suspect(row, found[row.id], leads=scores[row.id] > 0 and scores[row.id] >= near, base=base) for row in order
    )


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


def _suspect(row: SuspectRow, evidence: Sequence[Evidence], *, leads: bool, base: KnowledgeBase) -> Suspect:
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
        check=cheapest_check(row.id, base).id,
        sources=row.sources,
    )


def cheapest_check(suspect: str, base: KnowledgeBase) -> CheckRow:
    """The cheapest check that speaks of a suspect; of equal ones the first in the table."""
    return min((check for check in base.checks.values() if suspect in _spoken_of(check)), key=lambda check: check.cost)


def _spoken_of(check: CheckRow) -> set[str]:
    return {suspect for outcome in check.outcomes for suspect in outcome.points_to}


def _can_cure(leaders: Sequence[Suspect], base: KnowledgeBase) -> tuple[FluidCures, str]:
    """Whether fluid can cure it: as the leading suspects say, if they agree."""
    if not leaders:
        return "maybe", "Nothing speaks for any suspect yet, so neither fluid nor hardware can be ruled out."
    cures = {suspect.fluid_cures for suspect in leaders}
    verdict = cures.pop() if len(cures) == 1 else "maybe"
    told = dict.fromkeys(base.suspects[suspect.id].fluid_reason for suspect in leaders)
    names = listed((suspect.words for suspect in leaders), "or")
    return verdict, f"It points to {names}. {' '.join(told)}"


def _next_checks(leaders: Sequence[Suspect], question: SymptomQuestion, base: KnowledgeBase) -> Iterator[CheckRow]:
    """The checks not made yet, cheapest first, of which some result points to some of the leaders and not to all."""
    ids = {suspect.id for suspect in leaders}
    for check in sorted(base.checks.values(), key=lambda check: check.cost):
        if check.tells is not None and _is_told(check.tells, question):
            continue
        if any(_tells_apart(ids, outcome.points_to) for outcome in check.outcomes):
            yield check


def _tells_apart(leaders: Collection[str], points_to: Collection[str]) -> bool:
    pointed = set(leaders).intersection(points_to)
    return bool(pointed) and (len(leaders) == 1 or len(pointed) < len(leaders))


def _is_told(field: str, question: SymptomQuestion) -> bool:
    if field == "ring_gap":
        return ring_gap_verdict(question.ring_gap).status in ("past-limit", "within-limit")
    return getattr(question, field) is not None


def _ask_for(question: SymptomQuestion, in_it: InIt) -> Iterator[str]:
    if not question.symptoms:
        yield "What does it do: grind, block, feel stiff, jump out, or make a noise?"
    if question.when is None:
        yield "When does it show: cold, hot, always, or on fast shifts only?"
    if question.gears is None:
        yield "In which gears: one, several, all, or reverse?"
    if (gap := ring_gap_verdict(question.ring_gap)).status == "no-judgement":
        yield gap.text
    if in_it.told.status != "stated":
        yield "What is in the box now: kind of fluid, grade, and its data sheet if there is one?"


def _cautions(
    question: SymptomQuestion, leaders: Sequence[Suspect], checks: Sequence[CheckRow], base: KnowledgeBase
) -> tuple[Caution, ...]:
    """The cautions of the complaints, the leading suspects and the checks; service data decides in any case."""
    wanted = {SERVICE_DATA_DECIDES}
    for row in (
        *(base.symptoms[id] for id in question.symptoms),
        *(base.suspects[suspect.id] for suspect in leaders),
        *checks,
    ):
        wanted.update(row.cautions)
    rows = (row for row in base.cautions.values() if row.id in wanted)
    return tuple(sorted(rows, key=lambda row: SEVERITIES_FROM_WORST.index(row.severity)))


def _sources(
    suspects: Sequence[Suspect], checks: Sequence[CheckRow], cautions: Sequence[Caution], base: KnowledgeBase
) -> tuple[Source, ...]:
    evidence = [item for suspect in suspects for item in (*suspect.speaks_for, *suspect.against)]
    used = {cited.id for part in (*evidence, *suspects, *checks, *cautions) for cited in part.sources}
    return tuple(row for row in base.sources.values() if row.id in used)
