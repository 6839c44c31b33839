"""What is in the box now, as the classes it can be, and what the rules say of every one of them."""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import NamedTuple

from knowledge.base import KnowledgeBase
from knowledge.box.named import Named
from knowledge.box.question import FillQuestion
from knowledge.box.worlds import Worlds
from knowledge.fluids.data_sheet import Sheet
from knowledge.fluids.possible_lubricants import possible_oils
from knowledge.judging.judge import judge
from knowledge.jug.verdict import spanned_figures
from knowledge.lubricant import Lubricant
from knowledge.parts.jug import Jug, Label
from knowledge.parts.provenance import Finding
from knowledge.symptom.answer import FluidInIt
from knowledge.text import listed

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
    service_data = question.service_data
    if question.in_it_now is not None:
        if oils := _oils(question.in_it_now, worlds.base):
            told = _told("stated", "In it now, as stated", oils, worlds)
            return InIt(told, "/question/in_it_now", _is_named(question, oils, worlds.base))
    elif service_data is not None:
        label = Label(family=service_data.family, grade=service_data.grade)
        if oils := _oils(Jug(label=label), worlds.base):
            said = "Nobody says what is in it; taken to be what the service data names"
            return InIt(_told("taken-from-service-data", said, oils, worlds), "/question/service_data")
    return nothing_known()


def _oils(jug: Jug, base: KnowledgeBase) -> tuple[Lubricant, ...]:
    """The oils a jug may hold; none where it says nothing, or nothing that can be computed."""
    said = jug.model_dump(exclude={"name"}, exclude_defaults=True)
    return possible_oils(Sheet.of(jug, base), base) if any(value != {} for value in said.values()) else ()


def _is_named(question: FillQuestion, oils: Sequence[Lubricant], base: KnowledgeBase) -> bool | None:
    """Whether it is what the service data names; None when that cannot be compared."""
    service_data = question.service_data
    if service_data is None or service_data.family is None:
        return None
    wanted = Named.of(service_data, base)
    named = {wanted.names(oil) for oil in oils} if wanted.is_listed else {None}
    return named.pop() if len(named) == 1 else None


def _told(status: str, said: str, oils: Sequence[Lubricant], worlds: Worlds) -> FluidInIt:
    known_as = list(dict.fromkeys(oil.name for oil in oils))
    shown = listed(known_as, "or") if len(known_as) <= NAMED_AT_MOST else f"one of {len(known_as)} classes"
    return FluidInIt(
        status=status,
        text=f"{said}: {shown}.",
        lubricants=tuple(dict.fromkeys(oil.id for oil in oils)),
        findings=tuple(_agreed(oils, worlds)),
    )


def _agreed(oils: Sequence[Lubricant], worlds: Worlds) -> Iterator[Finding]:
    """What each rule says alike of all these oils in every open case; a rule not concerned says nothing."""
    judged = judge(worlds, oils)
    for findings in zip(*(item.findings for item in judged)):
        effects = {(finding.effect, finding.share_of_worlds, bool(finding.sources)) for finding in findings}
        if effects == {(findings[0].effect, 1.0, True)}:
            yield _joined(findings)


def _joined(findings: Sequence[Finding]) -> Finding:
    """One finding for several oils: the text of the one nearest to its limit, the figures over all of them."""
    mildest = min(findings, key=lambda finding: abs((finding.margin or 1.0) - 1.0))
    about = tuple(f"/question{pointer}" for pointer in mildest.about)
    return replace(mildest, about=about, figures=tuple(spanned_figures(findings)))
