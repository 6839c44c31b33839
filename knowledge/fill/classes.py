"""The classes as an answer shows them: the leader, the others, the refused, and each in full."""

from collections.abc import Iterator, Sequence
from dataclasses import fields
from itertools import islice
from math import sqrt
from typing import NamedTuple

from knowledge.fill.answer import (
    Candidate,
    CandidateFigures,
    FigureAt,
    FirstShifts,
    Leader,
    Other,
    Outcome,
    Refusal,
    Safest,
    ShiftStep,
)
from knowledge.fill.words import leads_by
from knowledge.judging.explain import Note
from knowledge.judging.judgement import Judgement
from knowledge.judging.wording import as_condition
from knowledge.parts.provenance import Figure
from knowledge.text import percent

MOST_OTHERS = 6

MOST_CARE = 4

LONGEST_REASON = 160

# What people read of a class in short; the rest stands in full and at the class itself.
FIRST_SHIFTS = "cold-first-shifts-need-the-film-wiped"
TOLD_OF_THE_LEADER = frozenset(
    {"bearings-need-viscosity-when-hot", FIRST_SHIFTS, "first-shifts-come-freely-once-warm-enough"}
)

SHOWN = frozenset(field.name for field in fields(CandidateFigures))

HOT_FIGURES = frozenset({"kv_hot_mm2_s", "bearing_ratio", "film_lambda"})

COLD_FIGURES = frozenset({"kv_cold_mm2_s", "wiping_time_s"})

COLD_STEP_C = 5


class SafestClass(NamedTuple):
    """The class that does least harm: its place among the lubricants, and as it is shown."""

    place: int
    shown: Safest


def alike_of(judgement: Judgement) -> tuple[int, ...]:
    """The classes that serve the same as the leader at its grade."""
    if not judgement.order:
        return ()
    leader = judgement.order[0]
    grade, verdict = judgement.lubricants[leader].grade, judgement.verdict(leader)
    return tuple(
        index
        for index in judgement.leading
        if index != leader and judgement.lubricants[index].grade == grade and judgement.verdict(index) == verdict
    )


def leader_of(judgement: Judgement, alike: Sequence[int]) -> Leader | None:
    """The class to fill; None where nothing serves or the service data names a grade of no class."""
    if not judgement.order or not judgement.named.is_listed:
        return None
    first = judgement.order[0]
    lubricant, verdict = judgement.lubricants[first], judgement.verdict(first)
    by, because = leads_by(judgement)
    is_open = verdict == "depends"
    figures = {} if is_open else {one.name: one for one in judgement.figures(first, TOLD_OF_THE_LEADER)}
    return Leader(
        lubricant=lubricant.lubricant_name,
        alike=tuple(judgement.lubricants[index].id for index in alike),
        verdict=verdict,
        because=because,
        leads_by=by,
        care=tuple(as_condition(item.text, item.only_if) for item in islice(judgement.care(first), MOST_CARE)),
        first_shifts=_first_shifts(figures.get("wiping_time_s"), judgement),
        figures={name: _shown(figure, judgement) for name, figure in figures.items() if name in SHOWN},
    )


def _first_shifts(time: Figure | None, judgement: Judgement) -> FirstShifts | None:
    """How the first shifts go at the coldest start; None where no ring has to wipe oil away."""
    if time is None or time.min is None or time.max is None:
        return None
    outcome, base = judgement.outcome(FIRST_SHIFTS, judgement.order[0]), judgement.base
    step: ShiftStep = "hard" if outcome.endswith("hard") else "slow" if outcome == "slow" else "free"
    edges = {"free": time.max <= base.limit("wiping-time-slow-from"), "slow": False}
    sure = edges.get(step, time.min >= base.limit("wiping-time-hard-from"))
    return FirstShifts(step=step, sure=sure, at_c=judgement.worst_case.coldest_start_c)


def _shown(figure: Figure, judgement: Judgement) -> FigureAt:
    """A figure with no more digits than its origin bears; of a wiping time no more than is worth telling."""
    at_c, factor, worst = None, None, judgement.worst_case
    if figure.name in HOT_FIGURES:
        at_c = worst.sump_hot_c
    elif figure.name in COLD_FIGURES:
        at_c = worst.coldest_start_c
    least, most = (
        value if value is None or not figure.is_unchecked else _rounded(figure.name, value)
        for value in (figure.min, figure.max)
    )
    if figure.name == "wiping_time_s" and least and most:
        end_s, values = judgement.base.limit("wiping-time-hard-from"), judgement.cases.values
        if len(values("wiping_land")) == len(values("coldest_start_c")) == 1:
            factor = _rounded(figure.name, sqrt(most / least))
        least, most = min(least, end_s), None if most > end_s else most
    return FigureAt(
        min=least,
        max=most,
        unit=figure.unit,
        at_c=at_c,
        standing=figure.standing,
        rests_on=figure.rests_on,
        factor=factor,
    )


def _rounded(name: str, value: float) -> float:
    if name == "shifts_freely_above_c":
        return float(COLD_STEP_C * round(value / COLD_STEP_C))
    return float(f"{value:.2g}")


def others_of(judgement: Judgement, alike: Sequence[int]) -> tuple[Other, ...]:
    """The classes behind the leader, best first, each with why it stands behind."""
    if not judgement.named.is_listed:
        return tuple(
            _other(judgement, index, "Not the grade that the service data names.")
            for index in judgement.order[:MOST_OTHERS]
        )
    return tuple(_behind(judgement, alike)) if judgement.order else ()


def _behind(judgement: Judgement, alike: Sequence[int]) -> Iterator[Other]:
    leader, *behind = judgement.order[: MOST_OTHERS + 1]
    shared = {finding.text for finding in judgement.care(leader)}
    for index in behind:
        own = (finding for finding in judgement.care(index) if finding.text not in shared)
        if index in alike:
            yield _other(judgement, index, "Serves the same at this grade.")
        elif found := next(own, None):
            yield _other(judgement, index, _in_short(found))
        elif judgement.verdict(index) == "depends":
            share = percent(judgement.share_of_cases(index))
            yield _other(judgement, index, f"Serves in {share} of the cases that are still open.")
        else:
            yield _other(judgement, index, "Serves as well; less usual, or nearer to a limit.")


def _other(judgement: Judgement, index: int, because: str) -> Other:
    lubricant = judgement.lubricants[index].lubricant_name
    return Other(lubricant=lubricant, verdict=judgement.verdict(index), because=because)


def _in_short(finding: Note) -> str:
    """As many sentences of a finding as are short, and at least the first."""
    shown, *more = as_condition(finding.text, finding.only_if).split(". ")
    for sentence in more:
        if len(shown) + len(sentence) > LONGEST_REASON:
            break
        shown = f"{shown}. {sentence}"
    return shown if shown.endswith(".") else f"{shown}."


def refused_of(judgement: Judgement) -> tuple[Refusal, ...]:
    """Every refused class once, those of the same gravest reason together."""
    in_order = set(judgement.order)
    groups: dict[tuple[str, str, str | None], list[str]] = {}
    first: dict[tuple[str, str, str | None], Note] = {}
    for index, lubricant in enumerate(judgement.lubricants):
        if index not in in_order:
            finding = judgement.main_refusal(index)
            key = finding.rule, finding.text, finding.only_if
            first.setdefault(key, finding)
            groups.setdefault(key, []).append(lubricant.id)
    return tuple(Refusal(rule=key[0], text=_in_short(first[key]), lubricants=tuple(ids)) for key, ids in groups.items())


def safest_of(outcome: Outcome, judgement: Judgement) -> SafestClass | None:
    """While it depends: what the service data names, else the first class that no open case refuses."""
    if outcome != "depends":
        return None
    first = judgement.order[0]
    sure = next((index for index in judgement.order if judgement.verdict(index) != "depends"), None)
    if judgement.is_asked_for(first) and first != sure:
        because = "The service data names it; only in some case that is still open is it refused."
        return _safest(first, because, judgement)
    if sure is None:
        return None
    return _safest(sure, "No case that is still open refuses it.", judgement)


def _safest(index: int, because: str, judgement: Judgement) -> SafestClass:
    return SafestClass(index, Safest(lubricant=judgement.lubricants[index].lubricant_name, because=because))


def candidate_of(judgement: Judgement, index: int) -> Candidate:
    """One class with everything that was found and computed of it."""
    verdict = judgement.verdict(index)
    return Candidate(
        lubricant=judgement.lubricants[index].lubricant_name,
        verdict=verdict,
        rank=None if verdict == "does-not-fit" else judgement.order.index(index) + 1,
        share_of_worlds=judgement.share_of_cases(index),
        figures=CandidateFigures(**{one.name: one for one in judgement.figures(index) if one.name in SHOWN}),
        findings=judgement.findings(index),
    )
