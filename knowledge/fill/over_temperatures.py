"""Who leads over many cold starts and hot sumps of one box, judged in one pass of the columns."""

from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from knowledge.base import KnowledgeBase
from knowledge.box.axes import COLD_START, DUTY, FIELDS_OF_AXES, Axis, axis_of
from knowledge.box.cases import Cases
from knowledge.box.question import FillQuestion
from knowledge.fill.compute import LEADS
from knowledge.fill.words import outcome_of
from knowledge.judging.columns import Floats
from knowledge.judging.grid import Grid
from knowledge.judging.judgement import Judgement
from knowledge.judging.rank import Ranking
from knowledge.judging.rules import RULES

Leaders = list[list[str | None]]
# In place of temperatures: as the question has it.
AS_ASKED: tuple[None] = (None,)
# Without such a rule the starts that are told apart are the same whatever the heat.
IS_ANY_RULE_OF_BOTH = any({COLD_START, DUTY} <= {axis for axis, _ in rule.facts_on_axes} for rule in RULES)


def leading_id(judgement: Judgement) -> str | None:
    """The id of the class that an answer has as its leader; None where none leads, or one that is no class here."""
    leader = judgement.leader if judgement.named.is_listed and outcome_of(judgement) in LEADS else None
    return None if leader is None else judgement.lubricants[leader].id


def leaders_over(
    judgement: Judgement, colds_c: Sequence[float | None] = AS_ASKED, hots_c: Sequence[float | None] = AS_ASKED
) -> Leaders:
    """The id that leads with each coldest start (rows) and each hottest sump (columns) in place of what was asked.

    What a book means may follow from the cold; starts that it means the same for are judged together.
    """
    found: Leaders = [[] for _ in colds_c]
    together: dict[Any, list[int]] = {}
    for row, cold_c in enumerate(colds_c):
        question = _at(judgement.question, cold_c, hots_c[0])
        together.setdefault(Cases.of(question, judgement.base).named, []).append(row)
    for rows in together.values():
        of_rows = _of_one_meaning(judgement, [colds_c[row] for row in rows], hots_c)
        for row, leaders in zip(rows, of_rows, strict=True):
            found[row] = leaders
    return found


def _of_one_meaning(judgement: Judgement, colds_c: Sequence[float | None], hots_c: Sequence[float | None]) -> Leaders:
    """Starts that nothing tells apart are one row, and each row is a pass of its own: the columns stay narrow."""
    if 1 in (len(colds_c), len(hots_c)) or IS_ANY_RULE_OF_BOTH:
        return _in_one_pass(judgement, colds_c, hots_c)
    cells = _ranking(judgement, colds_c, hots_c[:1]).grid.cells[COLD_START].tolist()
    rows = {cell: _in_one_pass(judgement, [colds_c[cells.index(cell)]], hots_c)[0] for cell in set(cells)}
    return [rows[cell] for cell in cells]


def _at(question: FillQuestion, cold_c: float | None, hot_c: float | None) -> FillQuestion:
    given = {"coldest_start_c": cold_c, "sump_hot_c": hot_c}
    return question.model_copy(update={name: value for name, value in given.items() if value is not None})


def _in_one_pass(judgement: Judgement, colds_c: Sequence[float | None], hots_c: Sequence[float | None]) -> Leaders:
    base, ranking = judgement.base, _ranking(judgement, colds_c, hots_c)
    question, named = ranking.cases.question, ranking.cases.named
    if named.disagrees or not named.is_possible or not named.is_listed:
        return [[None] * len(hots_c) for _ in colds_c]
    # Whether what is named does harm is asked of the answer itself, once for what nothing tells apart.
    may_be_doubted = bool(named.text) and not (named.is_vouched_for and named.by == "service-data")
    is_asked_whole = may_be_doubted and bool(ranking.refused_share[ranking.is_named].all())
    by_cold = _cells_of_values(ranking.grid, COLD_START, len(colds_c))
    by_hot = _cells_of_values(ranking.grid, DUTY, len(hots_c))
    known: dict[tuple[bytes, bytes], str | None] = {}

    def leader(cold: int, hot: int) -> str | None:
        key = by_cold[cold].tobytes(), by_hot[hot].tobytes()
        if key not in known:
            if is_asked_whole:
                asked = _at(question, colds_c[cold], hots_c[hot])
                known[key] = leading_id(Judgement.of(asked, base, region=ranking.region))
            else:
                weights = list(ranking.grid.weights)
                weights[COLD_START], weights[DUTY] = by_cold[cold], by_hot[hot]
                lead = ranking.within(weights)
                known[key] = None if lead.leader is None else base.lubricants[lead.leader].id
        return known[key]

    return [[leader(cold, hot) for hot in range(len(hots_c))] for cold in range(len(colds_c))]


def _ranking(judgement: Judgement, colds_c: Sequence[float | None], hots_c: Sequence[float | None]) -> Ranking:
    question, base = _at(judgement.question, colds_c[0], hots_c[0]), judgement.base
    cases = Cases.of(question, base, _axes(question, base, colds_c, hots_c))
    return Judgement(cases, region=judgement.region).ranking


def _axes(
    question: FillQuestion, base: KnowledgeBase, colds_c: Sequence[float | None], hots_c: Sequence[float | None]
) -> dict[int, Axis]:
    """Axes that have every temperature, one after the other, each with all that stood on the axis."""
    tried = {}
    if colds_c[0] is not None:
        starts = tuple((cold_c,) for cold_c in colds_c)
        tried[COLD_START] = Axis(FIELDS_OF_AXES[COLD_START], starts, _alike(len(starts)), ())
    if hots_c[0] is not None:
        duties = axis_of(DUTY, question, base)
        pairs = tuple(((duty, hot_c),) for hot_c in hots_c for ((duty, _),) in duties.alternatives)
        tried[DUTY] = Axis(duties.fields, pairs, np.outer(_alike(len(hots_c)), duties.weights).ravel(), ())
    return tried


def _alike(count: int) -> Floats:
    return np.full(count, 1 / count)


def _cells_of_values(grid: Grid, place: int, count: int) -> list[NDArray[np.float64]]:
    """The weights of the cells of an axis for each of the values that stand on it one after the other."""
    axis, cells, size = grid.axes[place], grid.cells[place], len(grid.weights[place])
    parts = np.split(axis.weights, count), np.split(cells, count)
    found = (np.bincount(of, weights=weights, minlength=size) for weights, of in zip(*parts, strict=True))
    return [weights / weights.sum() for weights in found]
