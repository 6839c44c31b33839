"""Every rule on every oil in every world, and what that comes to."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any, NamedTuple

from knowledge.answers import Effect, Figure, Finding, Span, Verdict, weakest
from knowledge.base import KnowledgeBase
from knowledge.facts import FACTS, pointers
from knowledge.oils import Oil
from knowledge.rules import RULES
from knowledge.rules.rule import Measured, Rule, Said
from knowledge.service_data import names
from knowledge.wording import only_if
from knowledge.worlds import Worlds

EFFECTS_FROM_WORST: tuple[Effect, ...] = ("excludes", "cautions", "no-data", "supports")
SEVERITIES_FROM_WORST = ("danger", "warning", "note")


class Heard(NamedTuple):
    """What a rule said in some of the worlds."""

    said: Said
    worlds: int


@dataclass(frozen=True, slots=True)
class Judged:
    """One oil with all that the rules said of it; `fits` and `serves` are the worlds in which it does so."""

    oil: Oil
    findings: tuple[Finding, ...]
    spans: dict[str, Span]
    fits: int
    serves: int
    margins: tuple[tuple[float, int], ...]
    is_named: bool
    overruled: tuple[Finding, ...]

    def verdict(self, worlds: int) -> Verdict:
        """The verdict over a set of worlds; `depends` when it is refused in some of them and not in others."""
        if not self.serves & worlds:
            return "does-not-fit"
        if worlds & ~self.serves:
            return "depends"
        return "fits-with-care" if worlds & ~self.fits else "fits"

    def margin(self, worlds: int) -> float:
        """The least margin to a numeric limit over a set of worlds."""
        return min((margin for margin, held in self.margins if held & worlds), default=float("inf"))


class _Hearing(NamedTuple):
    """A rule with all that is the same for every oil."""

    rule: Rule
    about: tuple[str, ...]
    cells: tuple[tuple[dict[str, Any], int], ...]


def judge(worlds: Worlds, oils: Sequence[Oil]) -> tuple[Judged, ...]:
    """Each oil as judged by every rule in every world."""
    hearings = tuple(
        _Hearing(
            rule,
            tuple(dict.fromkeys(pointer for fact in rule.reads for pointer in pointers(fact, worlds.question))),
            tuple(worlds.cells(rule.reads)),
        )
        for rule in RULES
    )
    return tuple(_judged(oil, hearings, worlds) for oil in oils)


def _judged(oil: Oil, hearings: tuple[_Hearing, ...], worlds: Worlds) -> Judged:
    is_named = names(worlds.question.service_data, oil)
    findings, overruled, margins = [], [], []
    measured: dict[str, list[Measured]] = {}
    refused = cared = 0
    for hearing in hearings:
        heard = tuple(_hear(hearing, oil, worlds.base))
        if is_named and hearing.rule.yields_to_service_data:
            heard, softened = _softened(heard)
            if softened:
                overruled.append(_finding(hearing, heard, worlds))
        for said, held in heard:
            if said.effect == "excludes":
                refused |= held
            elif said.effect == "cautions":
                cared |= held
            if said.margin is not None:
                margins.append((said.margin, held))
            for figure in said.figures:
                measured.setdefault(figure.name, []).append(figure)
        findings.append(_finding(hearing, heard, worlds))
    return Judged(
        oil=oil,
        findings=tuple(findings),
        spans={name: _span(figures) for name, figures in measured.items()},
        fits=worlds.every & ~refused & ~cared,
        serves=worlds.every & ~refused,
        margins=tuple(margins),
        is_named=is_named,
        overruled=tuple(overruled),
    )


def _hear(hearing: _Hearing, oil: Oil, base: KnowledgeBase) -> Iterator[Heard]:
    for facts, held in hearing.cells:
        yield Heard(hearing.rule.judge(**facts, oil=oil, base=base), held)


def _softened(heard: tuple[Heard, ...]) -> tuple[tuple[Heard, ...], bool]:
    """Refusals turned into warnings, because the service data names this very class."""
    softened = tuple(
        Heard(
            said._replace(
                effect="cautions",
                text=f"{said.text} The service data names this class, so this warns and does not refuse: "
                "ask the manufacturer.",
            ),
            held,
        )
        if said.effect == "excludes"
        else Heard(said, held)
        for said, held in heard
    )
    return softened, softened != heard


def _finding(hearing: _Hearing, heard: tuple[Heard, ...], worlds: Worlds) -> Finding:
    effect = min((said.effect for said, _ in heard), key=EFFECTS_FROM_WORST.index)
    told = [item for item in heard if item.said.effect == effect]
    worst = min(told, key=_how_bad).said
    bites = 0
    for item in told:
        bites |= item.worlds
    everywhere = bites == worlds.every
    margins = [said.margin for said, _ in heard if said.margin is not None]
    return Finding(
        rule=hearing.rule.id,
        effect=effect,
        severity=worst.severity,
        text=worst.text,
        about=hearing.about,
        figures=tuple(_figure(figures) for figures in _by_name(heard)),
        margin=min(margins) if margins else None,
        sources=hearing.rule.sources,
        only_if=None if everywhere else only_if(bites, _axes(hearing.rule), worlds),
        share_of_worlds=1.0 if everywhere else bites.bit_count() / worlds.count,
    )


def _how_bad(item: Heard) -> tuple[int, float]:
    margin = item.said.margin
    return SEVERITIES_FROM_WORST.index(item.said.severity), float("inf") if margin is None else margin


def _axes(rule: Rule) -> frozenset[str]:
    return frozenset(axis for fact in rule.reads for axis in FACTS[fact].reads)


def _by_name(heard: tuple[Heard, ...]) -> Iterator[list[Measured]]:
    names_ = dict.fromkeys(figure.name for said, _ in heard for figure in said.figures)
    for name in names_:
        yield [figure for said, _ in heard for figure in said.figures if figure.name == name]


def _figure(figures: list[Measured]) -> Figure:
    span = _span(figures)
    return Figure(
        name=figures[0].name, unit=span.unit, min=span.min, max=span.max, standing="computed", rests_on=span.rests_on
    )


def _span(figures: list[Measured]) -> Span:
    return Span(
        min=min(figure.low for figure in figures),
        max=max(figure.high for figure in figures),
        unit=figures[0].unit,
        rests_on=weakest(*(figure.rests_on for figure in figures)),
        screening=any(figure.screening for figure in figures),
    )
