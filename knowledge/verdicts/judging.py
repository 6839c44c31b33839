"""Every rule on every oil in every world, and what that comes to."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import reduce
from itertools import chain
from operator import or_
from typing import Any, NamedTuple

from knowledge.answers import Effect, Figure, Finding, Verdict, weakest
from knowledge.box.facts import FACTS, pointers
from knowledge.box.worlds import Worlds
from knowledge.oils import Oil
from knowledge.questions import FillQuestion
from knowledge.rules import RULES
from knowledge.rules.rule import Measured, Rule, Said
from knowledge.verdicts.service_data import matches, names
from knowledge.verdicts.wording import only_if

EFFECTS_FROM_WORST: tuple[Effect, ...] = ("excludes", "cautions", "no-data", "supports")
SEVERITIES_FROM_WORST = ("danger", "warning", "note")


class Heard(NamedTuple):
    """What a rule said in some of the worlds."""

    said: Said
    worlds: int


@dataclass(frozen=True, slots=True)
class Judged:
    """One oil with all that the rules said of it.

    `fits` and `serves` are the worlds in which it does so, `warned` those in which it is more than a nuisance;
    `is_asked_for` when the service data gives its grade, its family or both.
    """

    oil: Oil
    findings: tuple[Finding, ...]
    figures: dict[str, Figure]
    fits: int
    serves: int
    warned: int
    margins: tuple[tuple[float, int], ...]
    eases: tuple[tuple[float, int], ...]
    is_asked_for: bool
    overruled: tuple[Finding, ...]

    def depends(self, worlds: int) -> bool:
        """Whether it is refused in some of these worlds and not in others."""
        return (self.serves & worlds) not in (0, worlds)

    def verdict(self, worlds: int) -> Verdict:
        """The verdict over a set of worlds; `depends` when it is refused in some of them and not in others."""
        serves = self.serves & worlds
        if not serves:
            return "does-not-fit"
        if serves != worlds:
            return "depends"
        return "fits" if self.fits & worlds == worlds else "fits-with-care"

    def margin(self, worlds: int) -> float:
        """The least margin to a limit that refuses, over a set of worlds."""
        return _least(self.margins, worlds)

    def ease(self, worlds: int) -> float:
        """The least margin to a limit that only bothers, over a set of worlds."""
        return _least(self.eases, worlds)


def _least(margins: tuple[tuple[float, int], ...], worlds: int) -> float:
    """Margins stand in rising order, so that the first that holds is the least."""
    return next((margin for margin, held in margins if held & worlds), float("inf"))


class _Ruling(NamedTuple):
    """What a rule comes to for one oil, or for all oils of a family: its finding, and the worlds it counts in."""

    finding: Finding
    is_softened: bool
    refused: int
    cared: int
    warned: int
    margins: tuple[tuple[float, int], ...]


class _Hearing(NamedTuple):
    """A rule with all that is the same for every oil; what several oils share is kept."""

    rule: Rule
    about: tuple[str, ...]
    axes: frozenset[str]
    cells: tuple[tuple[dict[str, Any], int], ...]
    rulings: dict[tuple[str, bool], _Ruling]
    findings: dict[tuple[Said, ...] | None, Finding]
    phrases: dict[int, str]


def judge(worlds: Worlds, oils: Sequence[Oil]) -> tuple[Judged, ...]:
    """Each oil as judged by every rule in every world."""
    hearings = tuple(
        _Hearing(
            rule=rule,
            about=_about(rule, worlds.question),
            axes=frozenset(axis for fact in rule.reads for axis in FACTS[fact].reads),
            cells=tuple(worlds.cells(rule.reads)),
            rulings={},
            findings={},
            phrases={},
        )
        for rule in RULES
    )
    return tuple(_judged(oil, hearings, worlds) for oil in oils)


def _about(rule: Rule, question: FillQuestion) -> tuple[str, ...]:
    read = [pointer for fact in rule.reads for pointer in pointers(fact, question)]
    return tuple(dict.fromkeys((*read, *(("/service_data",) if "is_named" in rule.takes else ()))))


def _judged(oil: Oil, hearings: tuple[_Hearing, ...], worlds: Worlds) -> Judged:
    is_named = names(worlds.question.service_data, oil)
    rulings = [_ruling(hearing, oil, is_named, worlds) for hearing in hearings]
    refused = cared = warned = 0
    for ruling in rulings:
        refused |= ruling.refused
        cared |= ruling.cared
        warned |= ruling.warned
    return Judged(
        oil=oil,
        findings=tuple(ruling.finding for ruling in rulings),
        figures={figure.name: figure for ruling in rulings for figure in ruling.finding.figures},
        fits=worlds.every & ~refused & ~cared,
        serves=worlds.every & ~refused,
        warned=warned,
        margins=_rising(ruling.margins for ruling, hearing in zip(rulings, hearings) if hearing.rule.sets_margin),
        eases=_rising(ruling.margins for ruling, hearing in zip(rulings, hearings) if hearing.rule.sets_ease),
        is_asked_for=matches(worlds.question.service_data, oil),
        overruled=tuple(ruling.finding for ruling in rulings if ruling.is_softened),
    )


def _rising(margins: Iterable[tuple[tuple[float, int], ...]]) -> tuple[tuple[float, int], ...]:
    return tuple(sorted(chain.from_iterable(margins)))


def _ruling(hearing: _Hearing, oil: Oil, is_named: bool, worlds: Worlds) -> _Ruling:
    if hearing.rule.looks_at_the_oil:
        return _heard_out(hearing, oil, is_named, worlds)
    kind = (oil.family.id if "family" in hearing.rule.takes else "", is_named)
    if kind not in hearing.rulings:
        hearing.rulings[kind] = _heard_out(hearing, oil, is_named, worlds)
    return hearing.rulings[kind]


def _heard_out(hearing: _Hearing, oil: Oil, is_named: bool, worlds: Worlds) -> _Ruling:
    rule = hearing.rule
    given = rule.given(oil=oil, is_named=is_named, base=worlds.base)
    heard = tuple([Heard(rule.judge(**facts, **given), held) for facts, held in hearing.cells])
    softened = _softened(heard) if is_named and rule.yields_to_service_data else heard
    refused = cared = warned = 0
    for said, held in softened:
        if said.effect == "excludes":
            refused |= held
        elif said.effect == "cautions":
            cared |= held
            warned |= held if said.severity != "note" else 0
    return _Ruling(
        finding=_finding(hearing, softened, worlds),
        is_softened=softened != heard,
        refused=refused,
        cared=cared,
        warned=warned,
        margins=tuple((said.margin, held) for said, held in softened if said.margin is not None),
    )


def _softened(heard: tuple[Heard, ...]) -> tuple[Heard, ...]:
    """Refusals turned into warnings, because the service data names this very class."""
    return tuple(
        Heard(
            said._replace(
                effect="cautions",
                text=f"{said.against} The service data names this class all the same, so this warns and does not "
                "refuse: ask the manufacturer.",
            ),
            held,
        )
        if said.effect == "excludes"
        else Heard(said, held)
        for said, held in heard
    )


def _finding(hearing: _Hearing, heard: tuple[Heard, ...], worlds: Worlds) -> Finding:
    """The finding of what was heard: its worst effect, its figures over all worlds."""
    alike = None if any([said.figures for said, _ in heard]) else tuple([said for said, _ in heard])
    if alike in hearing.findings:
        return hearing.findings[alike]
    worst, bites = _worst(heard)
    everywhere = bites == worlds.every
    finding = Finding(
        rule=hearing.rule.id,
        effect=worst.effect,
        severity=worst.severity,
        text=worst.text,
        about=hearing.about,
        figures=tuple(_figure(same) for same in _by_name(heard)),
        margin=_least_margin(heard),
        sources=hearing.rule.sources if worst.is_concerned else (),
        only_if=None if everywhere else _phrase(bites, hearing, worlds),
        share_of_worlds=1.0 if everywhere else bites.bit_count() / worlds.count,
    )
    if alike is not None:
        hearing.findings[alike] = finding
    return finding


def _phrase(bites: int, hearing: _Hearing, worlds: Worlds) -> str:
    if bites not in hearing.phrases:
        hearing.phrases[bites] = only_if(bites, hearing.axes, worlds)
    return hearing.phrases[bites]


def _worst(heard: tuple[Heard, ...]) -> Heard:
    """The worst that was said, with all the worlds in which its effect holds."""
    if len(heard) == 1:
        return heard[0]
    effect = min((said.effect for said, _ in heard), key=EFFECTS_FROM_WORST.index)
    told = [item for item in heard if item.said.effect == effect]
    concerned = [item for item in told if item.said.is_concerned] or told
    worst = min((said for said, _ in concerned), key=_how_bad)
    if worst.figures and len(concerned) > 1:
        worst = worst._replace(text=f"At worst: {worst.text[0].lower()}{worst.text[1:]}")
    return Heard(worst, reduce(or_, (held for _, held in told)))


def _least_margin(heard: tuple[Heard, ...]) -> float | None:
    margins = [said.margin for said, _ in heard if said.margin is not None]
    return _significant(min(margins)) if margins else None


def _how_bad(said: Said) -> tuple[int, float]:
    return SEVERITIES_FROM_WORST.index(said.severity), float("inf") if said.margin is None else said.margin


def _by_name(heard: tuple[Heard, ...]) -> Iterable[Sequence[Measured]]:
    """The figures of the same name, together."""
    if len(heard) == 1:
        return ((figure,) for figure in heard[0].said.figures)
    measured: dict[str, list[Measured]] = {}
    for said, _ in heard:
        for figure in said.figures:
            measured.setdefault(figure.name, []).append(figure)
    return measured.values()


def _figure(same: Sequence[Measured]) -> Figure:
    name, low, high, unit, rests_on, screening = same[0]
    if len(same) > 1:
        low, high = min([figure.low for figure in same]), max([figure.high for figure in same])
        rests_on = weakest(*{figure.rests_on for figure in same})
        screening = any(figure.screening for figure in same)
    return Figure(
        name=name,
        unit=unit,
        min=_significant(low),
        max=_significant(high),
        standing="computed",
        rests_on=rests_on,
        screening=screening,
    )


def _significant(value: float) -> float:
    """A figure with no more digits than its origin can bear."""
    return float(f"{value:.4g}")
