"""What is in the box, as the classes it can be, and what holds of that box whatever is still unknown of it."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from types import MappingProxyType
from typing import Literal, NamedTuple

import numpy as np

from knowledge.base import KnowledgeBase
from knowledge.box.cases import Cases
from knowledge.box.named import Named
from knowledge.box.question import FillQuestion
from knowledge.fluids.data_sheet import Sheet
from knowledge.fluids.possible_lubricants import possible_lubricants
from knowledge.judging.explain import explain, outcome_shown, share_of
from knowledge.judging.judge import Judged
from knowledge.judging.judgement import Judgement
from knowledge.judging.rules import RULES
from knowledge.lubricant import Lubricant
from knowledge.parts.jug import Jug, Label
from knowledge.parts.provenance import Finding
from knowledge.text import Said, listed

NAMED_AT_MOST = 3


class InTheBox(NamedTuple):
    """The fluid: where the question has it, the lubricants it can be, and whether the service data names it.

    `rings` are values of the mark of that name that hold, `findings` those that hold in every open case, `outcomes` the
    outcome of each rule that has one and the same there.
    """

    status: Literal["stated", "taken-from-service-data", "not-known"] = "not-known"
    text: str = Said("What is in the box is not known, so the fluid is not judged.", "fluid-not-known")
    lubricants: tuple[Lubricant, ...] = ()
    pointer: str = ""
    as_service_data: bool | None = None
    rings: tuple[str, ...] = ()
    findings: tuple[Finding, ...] = ()
    outcomes: Mapping[str, str] = MappingProxyType({})


def in_the_box(box: FillQuestion | None, base: KnowledgeBase) -> InTheBox:
    """A box with the fluid that the caller states in it, or else the one that the service data names."""
    if box is None:
        return InTheBox()
    known = _fluid(box, base)
    judgement = Judgement.of(box, base, known.lubricants)
    known = known._replace(rings=tuple(_rings(judgement.cases, box)))
    if not known.lubricants:
        return known
    return known._replace(findings=tuple(_agreed(judgement)), outcomes=_outcomes(judgement.judged))


def _fluid(box: FillQuestion, base: KnowledgeBase) -> InTheBox:
    if box.in_it_now is not None:
        if lubricants := _lubricants(box.in_it_now, base, box.is_without_rings):
            names = _named(lubricants)
            text = Said(f"In it now, as stated: {names}.", "fluid-stated", fluid=names)
            return InTheBox("stated", text, lubricants, "/question/in_it_now", _is_named(box, lubricants, base))
    elif box.service_data is not None:
        label = Label(family=box.service_data.family, grade=box.service_data.grade)
        if lubricants := _lubricants(Jug(label=label), base):
            names = _named(lubricants)
            told = f"Nobody says what is in it; taken to be what the service data names: {names}."
            text = Said(told, "fluid-taken-from-service-data", fluid=names)
            return InTheBox("taken-from-service-data", text, lubricants, "/question/service_data")
    return InTheBox()


def _lubricants(jug: Jug, base: KnowledgeBase, is_without_rings: bool = False) -> tuple[Lubricant, ...]:
    """What a jug may hold; nothing where it states nothing, or nothing that can be computed."""
    stated = jug.model_dump(exclude={"name"}, exclude_defaults=True)
    is_stated = any(value != {} for value in stated.values())
    return possible_lubricants(Sheet(jug, base, is_without_rings)) if is_stated else ()


def _is_named(box: FillQuestion, lubricants: Sequence[Lubricant], base: KnowledgeBase) -> bool | None:
    """Whether it is what the service data names; None when that cannot be compared."""
    wanted = Named.of(box, base)
    if not wanted.pairs:
        return None
    named = {wanted.names(lubricant) for lubricant in lubricants} if wanted.is_listed else {None}
    return named.pop() if len(named) == 1 else None


def _named(lubricants: Sequence[Lubricant]) -> str:
    names = list(dict.fromkeys(lubricant.name for lubricant in lubricants))
    return listed(names, "or") if len(names) <= NAMED_AT_MOST else f"one of {len(names)} classes"


def _rings(cases: Cases, box: FillQuestion) -> Iterator[str]:
    """What holds of the rings in every open case; rings that were replaced are new, until they are said to be worn."""
    replaced = [ring for ring in box.rings or () if ring.replaced]
    kinds = cases.values("facing_kinds")
    conditions = [{land.condition for land in lands} for lands in cases.values("lands")]
    holding = {
        "none": not any(kinds),
        "lined": all("lined" in kind for kind in kinds),
        "unlined": all(kind and "lined" not in kind for kind in kinds),
        "worn": all("worn" in condition for condition in conditions),
        "new": all(condition == {"new"} for condition in conditions)
        or (bool(replaced) and all(ring.condition in (None, "new") for ring in replaced)),
        "multi-cone": all(cones > 1 for cones in cases.values("cones")),
    }
    return (value for value, holds in holding.items() if holds)


def _outcomes(judged: Judged) -> Mapping[str, str]:
    """The outcome of each rule that has one and the same in every open case; what is surely so is so."""
    found: dict[str, set[str]] = {}
    for place, rule in enumerate(RULES):
        rows = judged.outcomes.of_rules[place].rows
        found[rule.id] = {rows[code].outcome.removeprefix("surely-") for code in np.unique(judged.codes(place))}
    return {rule: outcomes.pop() for rule, outcomes in found.items() if len(outcomes) == 1}


def _agreed(judgement: Judgement) -> Iterator[Finding]:
    """What each concerned rule comes to for all lubricants alike in every open case.

    The text is that of the lubricant nearest to its limit, the figures span all of them.
    """
    judged, every = judgement.judged, range(len(judgement.lubricants))
    for place in range(len(RULES)):
        effects, shares = set(judged.worst[place].tolist()), {share_of(judged, place, index) for index in every}
        is_so = len(effects) == 1 and shares == {1}
        if is_so and all(outcome_shown(judged, place, index).is_concerned for index in every):
            away = [abs((judged.margin(place, index) or 1.0) - 1.0) for index in every]
            nearest = explain(judged, place, away.index(min(away)), every)
            about = tuple(f"/question{pointer}" for pointer in nearest.about)
            yield replace(nearest, about=about)
