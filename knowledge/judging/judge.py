"""Every rule on every oil in every world, and what that comes to."""

from collections.abc import Callable, Collection, Iterable, Sequence
from dataclasses import dataclass
from functools import cache, lru_cache, partial, reduce
from itertools import compress
from operator import attrgetter, or_
from typing import Any, NamedTuple

from knowledge.base import KnowledgeBase
from knowledge.box.facts import FACTS, pointers
from knowledge.box.named import Named
from knowledge.box.worlds import Worlds
from knowledge.judging.judged import Judged, figure_of
from knowledge.judging.rules import RULES
from knowledge.judging.wording import ALL_THE_SAME, only_if
from knowledge.lubricant import Lubricant
from knowledge.parts.provenance import EFFECTS_FROM_WORST, SEVERITIES_FROM_WORST, Finding
from knowledge.rule import Rule, RuleOutcome
from knowledge.text import significant

# The set of all worlds there may be: every bit is set.
EVERYWHERE = -1

NOTHING_NAMED = Named(None, None)

SETTING_MARGIN = tuple(place for place, rule in enumerate(RULES) if rule.sets_margin)

SETTING_EASE = tuple(place for place, rule in enumerate(RULES) if rule.sets_comfort_margin)


class _Ruling(NamedTuple):
    """What a rule comes to for one oil, or for all oils of a family: its finding, and the worlds it counts in."""

    finding: Finding
    is_softened: bool
    refused: int
    cared: int
    warned: int
    margins: tuple[tuple[float, int], ...]


@dataclass(frozen=True, slots=True, eq=False)
class _Opinion:
    """What a rule says of an oil in one world, and the ruling that it comes to where that is so in all."""

    said: RuleOutcome
    ruling: _Ruling
    badness: tuple[int, bool, int, float]


class _Hearing(NamedTuple):
    """A rule with its opinions of every oil in each cell of the worlds; what several oils share is kept.

    The worlds in which something holds are those of some of the cells; sets of cells are told apart by their
    indices, which are quick to compare, and not by their worlds, which are not.
    """

    rule: Rule
    about: tuple[str, ...]
    cells: tuple[int, ...]
    opinions: tuple[tuple[_Opinion, ...], ...]
    unions: dict[tuple[int, ...], int]
    shares: dict[tuple[int, ...], float]
    phrases: dict[tuple[int, ...], str | None]


def judge(worlds: Worlds, oils: Sequence[Lubricant]) -> tuple[Judged, ...]:
    """Each oil as judged by every rule in every world."""
    base = worlds.base
    named = worlds.named
    # No jug comes back as the same oil.
    ask = _opinions_of_classes if oils is base.lubricants else partial(_opinions, oils)
    hearings = [_hearing(rule, ask, named, worlds) for rule in RULES]
    heard = [_rulings(hearing, worlds) for hearing in hearings]
    bands = {oil.kv100_band_mm2_s for oil in base.lubricants if named.matches(oil)} if named.grades else ()
    return tuple(_judged(oil, rulings, bands, worlds) for oil, rulings in zip(oils, zip(*heard)))


def provable(judged: Iterable[Judged]) -> tuple[Judged, ...]:
    """The oils that nothing refuses but what a measured copper strip of one jug can settle."""
    return tuple(
        item
        for item in judged
        if all(
            rule.settled_by == "copper_strip"
            for rule, finding in zip(RULES, item.findings)
            if finding.effect == "excludes"
        )
    )


def _hearing(rule: Rule, ask: Callable[..., tuple[_Opinion, ...]], named: Named, worlds: Worlds) -> _Hearing:
    about = _about(rule, len(worlds.question.rings or ()))
    heeded = named if rule.uses_service_data else NOTHING_NAMED
    facts, cells = zip(*worlds.cells(rule.reads))
    opinions = tuple([ask(rule, about, heeded, tuple(values.values()), worlds.base) for values in facts])
    return _Hearing(rule, about, cells, opinions, unions={}, shares={}, phrases={})


@cache
def _about(rule: Rule, ring_sets: int) -> tuple[str, ...]:
    read = [pointer for fact in rule.reads for pointer in pointers(fact, ring_sets)]
    return tuple(dict.fromkeys((*read, *(("/service_data",) if "is_named" in rule.parameters else ()))))


def _rulings(hearing: _Hearing, worlds: Worlds) -> Iterable[_Ruling]:
    """What a rule comes to for each oil; those of which it says the same in every cell are heard once."""
    if len(hearing.cells) == 1:
        return [opinion.ruling for opinion in hearing.opinions[0]]
    heard_out = cache(partial(_heard_out, hearing, worlds))
    return [heard_out(opinions) for opinions in zip(*hearing.opinions)]


def _judged(
    oil: Lubricant, rulings: Sequence[_Ruling], bands_asked_for: Collection[tuple[float, float]], worlds: Worlds
) -> Judged:
    findings, softened, refused, cared, warned, margins = zip(*rulings)
    serves = worlds.every & ~reduce(or_, refused)
    return Judged(
        oil=oil,
        findings=findings,
        fits=serves & ~reduce(or_, cared),
        serves=serves,
        warned=reduce(or_, warned),
        margins=_rising(margins, SETTING_MARGIN),
        eases=_rising(margins, SETTING_EASE),
        is_asked_for=worlds.named.matches(oil) or worlds.named.is_kin(oil),
        is_as_thick_as_asked_for=oil.kv100_band_mm2_s in bands_asked_for,
        overruled=tuple(compress(findings, softened)),
    )


def _rising(margins: Sequence[tuple[tuple[float, int], ...]], places: Iterable[int]) -> tuple[tuple[float, int], ...]:
    """The margins of the rules at some places, the least first."""
    return tuple(sorted([margin for place in places for margin in margins[place]]))


def _heard_out(hearing: _Hearing, worlds: Worlds, opinions: Sequence[_Opinion]) -> _Ruling:
    said = [opinion.said for opinion in opinions]
    cautious = [index for index, item in enumerate(said) if item.effect == "cautions"]
    return _Ruling(
        finding=_finding(hearing, opinions, worlds),
        is_softened=any([opinion.ruling.is_softened for opinion in opinions]),
        refused=_union(hearing, [index for index, item in enumerate(said) if item.effect == "excludes"]),
        cared=_union(hearing, cautious),
        warned=_union(hearing, [index for index in cautious if said[index].severity != "note"]),
        margins=tuple([(item.margin, held) for item, held in zip(said, hearing.cells) if item.margin is not None]),
    )


def _union(hearing: _Hearing, cells: Iterable[int]) -> int:
    """The worlds of some of the cells."""
    key = tuple(cells)
    if key not in hearing.unions:
        hearing.unions[key] = reduce(or_, [hearing.cells[index] for index in key], 0)
    return hearing.unions[key]


@lru_cache(maxsize=1_000)
def _opinions_of_classes(
    rule: Rule, about: tuple[str, ...], named: Named, values: tuple[Any, ...], base: KnowledgeBase
) -> tuple[_Opinion, ...]:
    """A rule is a pure function of few values, and boxes have many of them in common, hence the cache."""
    return _opinions(base.lubricants, rule, about, named, values, base)


def _opinions(
    oils: Sequence[Lubricant],
    rule: Rule,
    about: tuple[str, ...],
    named: Named,
    values: tuple[Any, ...],
    base: KnowledgeBase,
) -> tuple[_Opinion, ...]:
    """What a rule says of each oil where what it reads has these values.

    It is asked once for those that are the same to it, and those of which it says the same share one opinion.
    """
    subjects = [(rule.subject(oil), named.names(oil)) for oil in oils]
    opinion_of = cache(partial(_opinion, rule, about, named.grades is not None))
    kept = {
        (subject, is_named): opinion_of(rule.ask(values, subject, is_named, base), is_named)
        for subject, is_named in dict.fromkeys(subjects)
    }
    return tuple([kept[subject] for subject in subjects])


def _opinion(
    rule: Rule,
    about: tuple[str, ...],
    grade_is_named: bool,
    said: RuleOutcome,
    is_named: bool,
) -> _Opinion:
    is_excused = is_named and rule.yields_to_service_data and (grade_is_named or not said.is_of_grade)
    is_softened = is_excused and said.effect == "excludes"
    if is_softened:
        said = _softened(said)
    finding = Finding(
        rule=rule.id,
        effect=said.effect,
        severity=said.severity,
        text=said.text,
        about=about,
        figures=tuple([figure_of((measured,)) for measured in said.figures]),
        margin=None if said.margin is None else significant(said.margin),
        sources=rule.sources if said.is_concerned else (),
    )
    is_cautious = said.effect == "cautions"
    ruling = _Ruling(
        finding=finding,
        is_softened=is_softened,
        refused=EVERYWHERE if said.effect == "excludes" else 0,
        cared=EVERYWHERE if is_cautious else 0,
        warned=EVERYWHERE if is_cautious and said.severity != "note" else 0,
        margins=() if said.margin is None else ((said.margin, EVERYWHERE),),
    )
    tie_break = said.tie_break if said.margin is None else said.margin
    effect, severity = EFFECTS_FROM_WORST.index(said.effect), SEVERITIES_FROM_WORST.index(said.severity)
    return _Opinion(said, ruling, (effect, not said.is_concerned, severity, tie_break))


def _softened(said: RuleOutcome) -> RuleOutcome:
    """A refusal turned into a warning, because the service data names this very class."""
    return said._replace(effect="cautions", text=f"{said.against}{ALL_THE_SAME}")


def _finding(hearing: _Hearing, opinions: Sequence[_Opinion], worlds: Worlds) -> Finding:
    """The finding of several opinions: the worst effect, the figures over all worlds."""
    worst = min(opinions, key=attrgetter("badness")).said
    told = [index for index, opinion in enumerate(opinions) if opinion.said.effect == worst.effect]
    meant = [index for index in told if opinions[index].said.is_concerned == worst.is_concerned]
    margins = [opinion.said.margin for opinion in opinions if opinion.said.margin is not None]
    is_worst_of_many = worst.figures and len(meant) > 1
    return Finding(
        rule=hearing.rule.id,
        effect=worst.effect,
        severity=worst.severity,
        text=f"At worst: {worst.text[0].lower()}{worst.text[1:]}" if is_worst_of_many else worst.text,
        about=hearing.about,
        figures=tuple(
            [figure_of(same) for same in zip(*[item.said.figures for item in opinions if item.said.figures])]
        ),
        margin=significant(min(margins)) if margins else None,
        sources=hearing.rule.sources if worst.is_concerned else (),
        only_if=_only_if(hearing, tuple(meant), worlds) if worst.is_concerned else None,
        share_of_worlds=_share(hearing, tuple(told), worlds),
    )


def _share(hearing: _Hearing, cells: tuple[int, ...], worlds: Worlds) -> float:
    """The share of the worlds that some of the cells have."""
    if cells not in hearing.shares:
        hearing.shares[cells] = _union(hearing, cells).bit_count() / worlds.count
    return hearing.shares[cells]


def _only_if(hearing: _Hearing, cells: tuple[int, ...], worlds: Worlds) -> str | None:
    """What has to be so for a finding to bite; None where it always does."""
    if cells not in hearing.phrases:
        bites = _union(hearing, cells)
        axes = frozenset(axis for fact in hearing.rule.reads for axis in FACTS[fact].reads)
        hearing.phrases[cells] = only_if(bites, axes, worlds)
    return hearing.phrases[cells]
