"""The checks that tell suspects apart, cheapest first."""

from collections.abc import Collection, Iterator, Sequence

from knowledge.base import KnowledgeBase
from knowledge.symptom.observations import ON_BENCH, fields_of
from knowledge.symptom.question import SymptomQuestion
from knowledge.symptom.rows import CheckRow, SymptomRow


def checks_by_cost(question: SymptomQuestion, marks: Collection[str], base: KnowledgeBase) -> tuple[CheckRow, ...]:
    """Every check that can be made, by its cost; of equal ones the first in the table comes first.

    Whoever measured a ring or saw its teeth has the box apart: the bench is then near and the road far.
    """
    symptoms = base.by_id(SymptomRow)
    is_apart = any(mark.startswith(ON_BENCH) for mark in marks) or any(
        symptoms[id].on_bench for id in question.symptoms
    )
    rows = [row for row in base.rows(CheckRow) if not set(row.impossible_when) & set(marks)]
    if is_apart:
        rows = [row.model_copy(update={"cost": row.cost_apart or row.cost}) for row in rows]
    return tuple(sorted(rows, key=lambda check: check.cost))


def cheapest_check(suspect: str, by_cost: Sequence[CheckRow]) -> CheckRow:
    """The first check with a result that points to a suspect."""
    return next(check for check in by_cost if any(suspect in outcome.points_to for outcome in check.outcomes))


def next_checks(
    question: SymptomQuestion,
    leaders: Collection[str],
    marks: Collection[str],
    by_cost: Sequence[CheckRow],
    base: KnowledgeBase,
) -> Iterator[CheckRow]:
    """The checks not made yet, cheapest first: those with a result that points to a leader.

    What was seen can call for a check whoever leads; one that is needless for every complaint is left out.
    """
    symptoms = base.by_id(SymptomRow)
    known = fields_of(marks)
    needless = [set(symptoms[id].needless_checks) for id in question.symptoms]
    left_out = set.intersection(*needless) if needless else set()
    for check in by_cost:
        points_to_leader = any(set(outcome.points_to) & set(leaders) for outcome in check.outcomes)
        is_wanted = points_to_leader or set(check.always_when) & set(marks)
        if is_wanted and check.tells not in known and check.id not in left_out:
            yield check
