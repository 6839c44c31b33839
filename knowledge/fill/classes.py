"""The classes as an answer shows them: the leader, the others, the refused, and each in full."""

from collections.abc import Iterator
from dataclasses import fields
from itertools import islice
from math import inf, sqrt

from knowledge.fill.answer import (
    Candidate,
    CandidateFigures,
    FigureAt,
    FirstShifts,
    Leader,
    LeadsBy,
    Other,
    Refusal,
    Safest,
    ShiftStep,
)
from knowledge.fill.open_cases import unless_safest
from knowledge.fill.reasons import behind, in_short, leads_by, meant
from knowledge.fill.service_data import care_of_no_class
from knowledge.judging.explain import Note
from knowledge.judging.judgement import Judgement
from knowledge.loading.fluid_rows import FamilyRow
from knowledge.parts.lubricant_name import LubricantName, Verdict
from knowledge.parts.provenance import SEVERITIES_FROM_WORST, Figure
from knowledge.text import Said, as_condition, significant

MOST_OTHERS = 5
ANOTHER_GRADE = Said("Not the grade that is named.", "another-grade-is-named")
ANOTHER_AXLE_OIL = Said("Another axle oil is named.", "another-axle-oil-is-named")
MOST_CARE = 4
HARD = ("surely-hard", "hard", "not-computable")
FIRST_SHIFTS = "cold-first-shifts-need-the-film-wiped"

# What people read of a class in short; the rest stands in full and at the class itself.
TOLD_OF_THE_LEADER = frozenset(
    {"bearings-need-viscosity-when-hot", FIRST_SHIFTS, "first-shifts-come-freely-once-warm-enough"}
)

SHOWN = frozenset(field.name for field in fields(CandidateFigures))
HOT_FIGURES = frozenset({"kv_hot_mm2_s", "bearing_ratio", "film_lambda"})
COLD_FIGURES = frozenset({"kv_cold_mm2_s", "wiping_time_s"})
COLD_STEP_C = 5


def leader_of(judgement: Judgement) -> Leader | None:
    """The class to fill; None where nothing leads. What the book names and no class has leads as it is printed."""
    named = judgement.named
    if not named.is_listed and named.by:
        return _as_printed(judgement)
    first = judgement.leader
    if first is None:
        return None
    by, because = leads_by(judgement)
    is_open = judgement.lead.outcome == "depends"
    figures = {} if is_open else {one.name: one for one in judgement.figures(first, TOLD_OF_THE_LEADER)}
    return Leader(
        lubricant=judgement.lubricants[first].lubricant_name,
        alike=tuple(judgement.lubricants[index].id for index in judgement.alike),
        verdict="depends" if is_open else judgement.verdict(first),
        because=because,
        leads_by=by,
        care=() if is_open else tuple(_care(judgement, first)),
        first_shifts=_first_shifts(figures.get("wiping_time_s"), judgement),
        figures={name: _shown(figure, judgement) for name, figure in figures.items() if name in SHOWN},
    )


def _as_printed(judgement: Judgement) -> Leader:
    named = judgement.named
    by: LeadsBy = "ring-maker" if named.by == "ring-maker" else "service-data"
    who = "The maker of the rings" if by == "ring-maker" else "The book"
    care = care_of_no_class(judgement)
    return Leader(
        lubricant=LubricantName(id=None, name=named.text, family=named.family, grade=named.grade),
        alike=(),
        verdict="fits-with-care" if care else "fits",
        because=meant(judgement) or Said(f"{who} names it; no class here has that grade.", "named-and-no-class"),
        leads_by=by,
        care=care[:MOST_CARE],
        first_shifts=None,
        figures={},
    )


def _care(judgement: Judgement, index: int) -> Iterator[str]:
    """What the caller must do or watch, but for what is so in rare cases only unless nothing else is."""
    rare, care = judgement.ranking.rare, tuple(judgement.care(index))
    told = [item for item in care if item.only_if is None or item.share > rare]
    if not told and judgement.verdict(index) == "fits-with-care":
        told = [max(care, key=lambda item: item.share)]
    yield from islice(dict.fromkeys(as_condition(item.text, item.only_if) for item in told), MOST_CARE)


def _first_shifts(time: Figure | None, judgement: Judgement) -> FirstShifts | None:
    """How the first shifts go at the coldest start that was stated, and no easier in half of what is open.

    None where no ring has to wipe oil away.
    """
    if judgement.question.coldest_start_c is None or time is None or time.min is None or time.max is None:
        return None
    base, leader = judgement.base, judgement.order[0]
    steps: tuple[tuple[ShiftStep, tuple[str, ...]], ...] = (("hard", HARD), ("slow", (*HARD, "slow")))
    shares = ((step, judgement.share_of_outcomes(FIRST_SHIFTS, leader, of)) for step, of in steps)
    step: ShiftStep = next((step for step, share in shares if share >= 0.5), "free")
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
    return significant(value, 2)


def others_of(judgement: Judgement) -> tuple[Other, ...]:
    """The classes behind the leader, best first, each with why it stands behind; none where nothing leads."""
    if judgement.leader is None or not judgement.named.is_listed:
        return ()
    return tuple(
        Other(
            lubricant=judgement.lubricants[index].lubricant_name,
            verdict=verdict_told(judgement, index),
            because=behind(judgement, index),
        )
        for index in _behind(judgement, judgement.leader)
    )


def verdict_told(judgement: Judgement, index: int) -> Verdict:
    """The verdict on a class as it is told: while it depends, the leader and its twins depend as well."""
    is_open = judgement.lead.outcome == "depends" and index in (judgement.leader, *judgement.alike)
    return "depends" if is_open else judgement.verdict(index)


def _behind(judgement: Judgement, leader: int) -> tuple[int, ...]:
    """The classes that are told behind the leader: those that bear a stated heat and cold for long.

    Where none does, those that bear no less than the leader.
    """
    oils, question = judgement.lubricants, judgement.question
    hot_c = question.sump_hot_c if question.sump_hot_c is not None else -inf
    cold_c = question.coldest_start_c if question.coldest_start_c is not None else inf
    hot_c = min(hot_c, max(oils[at].long_sump_c for at in judgement.order))
    cold_c = max(cold_c, oils[leader].tolerated_to_c)
    return tuple(
        at
        for at in judgement.order
        if at != leader and oils[at].long_sump_c >= hot_c and oils[at].tolerated_to_c <= cold_c
    )[:MOST_OTHERS]


def told_of(judgement: Judgement) -> tuple[int, ...]:
    """The leader, its twins and what an answer tells behind them, in order; nothing where nothing leads."""
    if judgement.leader is None:
        return ()
    return tuple(dict.fromkeys((judgement.leader, *judgement.alike, *_behind(judgement, judgement.leader))))


def fitting(judgement: Judgement) -> tuple[int, ...]:
    """The leader, its twins and what an answer tells as fitting beside them."""
    if judgement.leader is None:
        return ()
    others = (at for at in _behind(judgement, judgement.leader) if judgement.verdict(at) == "fits")
    return tuple(dict.fromkeys((judgement.leader, *judgement.alike, *others)))


def refused_of(judgement: Judgement) -> tuple[Refusal, ...]:
    """Every refused class once, those of the same gravest reason together."""
    in_order = set(judgement.order)
    groups: dict[tuple[str, str, str | None], list[str]] = {}
    first: dict[tuple[str, str, str | None], Note] = {}
    named = _named_against_a_rule(judgement)
    for index, lubricant in enumerate(judgement.lubricants):
        if index not in in_order:
            finding = judgement.main_refusal(index)
            key = finding.rule, finding.text, finding.only_if
            if named and lubricant.family.id == named.id:
                key = finding.rule, ANOTHER_GRADE, None
            elif named and named.protection == lubricant.family.protection == "full":
                key = finding.rule, ANOTHER_AXLE_OIL, None
            first.setdefault(key, finding)
            groups.setdefault(key, []).append(lubricant.id)
    of_axles = {oil.id for oil in judgement.lubricants if oil.family.protection == "full"}
    gravest = sorted(
        groups,
        key=lambda key: (
            of_axles.isdisjoint(groups[key]),
            SEVERITIES_FROM_WORST.index(first[key].severity),
            -len(groups[key]),
        ),
    )
    return tuple(
        Refusal(rule=key[0], text=in_short(_if_told(key[1], key[2])), lubricants=tuple(groups[key])) for key in gravest
    )


def _named_against_a_rule(judgement: Judgement) -> FamilyRow | None:
    """The family of a leader that is named though a rule is against it: what refuses it is not told of the others."""
    leader = judgement.leader
    if leader is None or not judgement.is_asked_for(leader) or judgement.verdict(leader) != "fits-with-care":
        return None
    return judgement.lubricants[leader].family


def _if_told(text: str, only_if: str | None) -> str:
    """A reason with its condition before it, where that can be told in words."""
    return as_condition(text, only_if) if only_if and only_if.startswith("Only if") else text


def safest_of(judgement: Judgement) -> Safest | None:
    """What does least harm while it depends; None where it is settled or nothing leads."""
    if judgement.lead.outcome != "depends" or judgement.safest is None or not judgement.named.is_listed:
        return None
    return Safest(
        lubricant=judgement.lubricants[judgement.safest].lubricant_name,
        because=Said("Least harm to rings and bearings over all that is open.", "least-harm"),
        unless=unless_safest(judgement),
    )


def candidate_of(judgement: Judgement, index: int, leads: bool, findings_at: tuple[int, ...] = ()) -> Candidate:
    """One class, and where what is held against it stands; where nothing leads none is told as fitting."""
    verdict = verdict_told(judgement, index)
    verdict = verdict if leads or verdict == "does-not-fit" else "depends"
    return Candidate(
        lubricant=judgement.lubricants[index].lubricant_name,
        verdict=verdict,
        rank=judgement.order.index(index) + 1 if index in judgement.order else None,
        share_of_worlds=judgement.share_of_cases(index),
        figures=CandidateFigures(**{one.name: one for one in judgement.figures(index) if one.name in SHOWN}),
        findings_at=findings_at,
    )
