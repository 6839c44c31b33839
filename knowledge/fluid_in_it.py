"""What is in the box now, as the classes it can be, and what the rules say of every one of them."""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import NamedTuple

from knowledge.answers import Figure, Finding, weakest
from knowledge.base import KnowledgeBase
from knowledge.judging import judge
from knowledge.oils import Corner, Oil
from knowledge.physics.limits import OutOfRange
from knowledge.physics.viscosity import viscosity_line
from knowledge.questions import FillQuestion, Jug
from knowledge.service_data import names, plain_grade
from knowledge.symptom_models import FluidInIt
from knowledge.wording import listed
from knowledge.worlds import Worlds

NAMED_AT_MOST = 3


class InIt(NamedTuple):
    """What is in the box: the text for the caller, where it was read, and what holds of it whatever is open."""

    told: FluidInIt
    pointer: str = ""
    as_service_data: bool | None = None

    @property
    def findings(self) -> tuple[Finding, ...]:
        """What the rules say of it."""
        return self.told.findings


def nothing_known() -> InIt:
    """There is no box to judge a fluid in, or nobody says what is in it."""
    return InIt(FluidInIt(status="not-known", text="What is in the box is not known, so the fluid is not judged."))


def in_it_now(question: FillQuestion, worlds: Worlds) -> InIt:
    """What is in the box: the fluid that the caller states, or else the one that the service data names."""
    base = worlds.base
    if question.in_it_now is not None:
        oils = _oils_of_jug(question.in_it_now, base)
        if oils:
            return InIt(
                _told("stated", "In it now, as stated", oils, worlds), "/question/in_it_now", _is_named(question, oils)
            )
    elif question.service_data is not None:
        label = (question.service_data.family, question.service_data.grade)
        if any(label) and (oils := _labelled(*label, base)):
            said = "Nobody says what is in it; taken to be what the service data names"
            return InIt(_told("taken-from-service-data", said, oils, worlds), "/question/service_data")
    return nothing_known()


def _is_named(question: FillQuestion, oils: Sequence[Oil]) -> bool | None:
    """Whether it is what the service data names; None when that cannot be compared."""
    service_data = question.service_data
    if service_data is None or service_data.family is None:
        return None
    named = {names(service_data, oil) for oil in oils}
    return named.pop() if len(named) == 1 else None


def _labelled(family: str | None, grade: str | None, base: KnowledgeBase) -> tuple[Oil, ...]:
    """The classes that a family and a grade allow; a grade that none of them has is left out of account."""
    oils = tuple(oil for oil in base.oils if family in (None, oil.family.id))
    of_grade = tuple(oil for oil in oils if grade is not None and plain_grade(grade) == plain_grade(oil.grade))
    return of_grade or (oils if family is not None else ())


def _oils_of_jug(jug: Jug, base: KnowledgeBase) -> tuple[Oil, ...]:
    """The classes a jug can be, with its own figures in the place of their bands."""
    label = jug.label
    oils = _labelled(label.family, label.grade, base) if label else ()
    corner = _measured_corner(jug)
    if not oils and corner is None and jug.limited_slip is None:
        return ()
    return tuple(dict.fromkeys(_as_measured(oil, jug, corner) for oil in oils or base.oils))


def _measured_corner(jug: Jug) -> Corner | None:
    if jug.kv40_mm2_s is None or jug.kv100_mm2_s is None:
        return None
    try:
        line = viscosity_line(kv40_mm2_s=jug.kv40_mm2_s, kv100_mm2_s=jug.kv100_mm2_s)
    except OutOfRange:
        return None
    return Corner(jug.kv40_mm2_s, jug.kv100_mm2_s, line)


def _as_measured(oil: Oil, jug: Jug, corner: Corner | None) -> Oil:
    measured: dict = {}
    if corner is not None:
        measured = {"corners": (corner,), "kv100_min_mm2_s": corner.kv100_mm2_s, "kv100_max_mm2_s": corner.kv100_mm2_s}
    for name, value in (
        ("cold_limit_c", jug.t150_c),
        ("density15_kg_m3", jug.density15_kg_m3),
        ("copper_strip", jug.copper_strip),
        ("limited_slip", jug.limited_slip or None),
    ):
        if value is not None:
            measured[name] = value
    return replace(oil, **measured)


def _told(status: str, said: str, oils: Sequence[Oil], worlds: Worlds) -> FluidInIt:
    names_ = list(dict.fromkeys(oil.name for oil in oils))
    shown = listed(names_, "or") if len(names_) <= NAMED_AT_MOST else f"one of {len(names_)} classes"
    return FluidInIt(
        status=status,
        text=f"{said}: {shown}.",
        lubricants=tuple(dict.fromkeys(oil.id for oil in oils)),
        findings=tuple(_agreed(oils, worlds)),
    )


def _agreed(oils: Sequence[Oil], worlds: Worlds) -> Iterator[Finding]:
    """What each rule says alike of all these oils in every open case; a rule not concerned says nothing."""
    judged = judge(worlds, oils)
    for findings in zip(*(item.findings for item in judged)):
        effects = {(finding.effect, finding.share_of_worlds, bool(finding.sources)) for finding in findings}
        if effects == {(findings[0].effect, 1.0, True)}:
            yield _joined(findings)


def _joined(findings: Sequence[Finding]) -> Finding:
    """One finding for several oils: the text of the one nearest to its limit, the figures over all of them."""
    mildest = min(findings, key=lambda finding: abs((finding.margin or 1.0) - 1.0))
    by_name: dict[str, list[Figure]] = {}
    for finding in findings:
        for figure in finding.figures:
            by_name.setdefault(figure.name, []).append(figure)
    return mildest.model_copy(update={"figures": tuple(_over_all(figures) for figures in by_name.values())})


def _over_all(figures: Sequence[Figure]) -> Figure:
    lows, highs = [figure.min for figure in figures], [figure.max for figure in figures]
    return figures[0].model_copy(
        update={
            "min": None if None in lows else min(lows),
            "max": None if None in highs else max(highs),
            "rests_on": weakest(*(figure.rests_on for figure in figures if figure.rests_on)),
        }
    )
