"""The finding of one rule on one lubricant: its sentence, figures, limits and sources, made when it is shown."""

from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from functools import lru_cache
from typing import Any, NamedTuple

import numpy as np

from knowledge.box.facts import pointers
from knowledge.judging.column_rule import ColumnRule
from knowledge.judging.columns import Flags
from knowledge.judging.condition import only_if
from knowledge.judging.judge import Judged
from knowledge.judging.rules import RULES
from knowledge.judging.spot import Spot
from knowledge.judging.worst import Shown, outcome_of, shown_of
from knowledge.loading.schema import OutcomeRow
from knowledge.parts.provenance import EFFECTS_FROM_WORST, Effect, Figure, Finding, LimitUsed, Severity, weakest
from knowledge.text import Said, in_a_row, reworded, significant

MEASURING = tuple(place for place, rule in enumerate(RULES) if rule.figures)


class Note(NamedTuple):
    """What one rule says of one lubricant, without its figures: made in a fraction of the time of a finding."""

    rule: str
    outcome: str
    effect: Effect
    severity: Severity
    text: str
    only_if: str | None
    share: float

    @property
    def in_full(self) -> str:
        """What it says, and when it bites where that is not known."""
        return in_a_row((self.text, self.only_if)) if self.only_if else self.text


def note(judged: Judged, rule: int, lubricant: int) -> Note:
    """What the rule at a place of RULES says of a lubricant: its worst outcome over all cases, in words."""
    shown = shown_of(judged, rule, lubricant)
    about = lubricant if RULES[rule].speaks_of_grade else judged.lubricants.rows[lubricant].family.id
    # Lubricants of which a rule says the same share the sentence.
    key = (rule, about, shown.key)
    if key not in judged.notes:
        judged.notes[key] = _note(judged, rule, lubricant, shown)
    return judged.notes[key]


def _note(judged: Judged, rule: int, lubricant: int, shown: Shown) -> Note:
    of_rule, row = RULES[rule], judged.outcomes.of_rules[rule].rows[shown.code]
    spot = Spot(judged.x, shown.case, lubricant)
    text = _sentence(row, of_rule, spot, shown.is_softened)
    if shown.is_many and any(spanned.at(lubricant) for spanned in judged.figures(rule)):
        text = reworded(text, f"At worst: {text[0].lower()}{text[1:]}", at_worst=True)
    effect = EFFECTS_FROM_WORST[judged.worst_on(rule, lubricant)]
    condition = _condition(judged, rule, shown, spot) if row.is_concerned else None
    share = share_of(judged, rule, lubricant)
    return Note(of_rule.id, row.outcome, effect, row.severity, text, condition, share)


def explain(judged: Judged, rule: int, lubricant: int, among: Sequence[int] | None = None) -> Finding:
    """The same with its sources, how often it is so, its limits, and its figures over all cases.

    The figures are those of the lubricant, or span some among which it is shown.
    """
    brief, shown = note(judged, rule, lubricant), shown_of(judged, rule, lubricant)
    of_rule, spot = RULES[rule], Spot(judged.x, shown.case, lubricant)
    is_concerned = judged.outcomes.of_rules[rule].rows[shown.code].is_concerned
    figures = tuple(_figures(judged, rule, (lubricant,) if among is None else among))
    limits = tuple(_limits_used(of_rule, spot)) if is_concerned else ()
    return _finding(judged, rule, lubricant, brief, figures, limits)


def explain_briefly(judged: Judged, rule: int, lubricant: int) -> Finding:
    """The same without figures and limits: one and the same for lubricants of which it is the same."""
    brief = note(judged, rule, lubricant)
    key = (id(brief), judged.margin(rule, lubricant), share_of(judged, rule, lubricant))
    if key not in judged.notes:
        judged.notes[key] = _finding(judged, rule, lubricant, brief)
    found: Finding = judged.notes[key]
    return found


def _finding(
    judged: Judged,
    rule: int,
    lubricant: int,
    brief: Note,
    figures: tuple[Figure, ...] = (),
    limits: tuple[LimitUsed, ...] = (),
) -> Finding:
    return Finding(
        rule=brief.rule,
        effect=brief.effect,
        severity=brief.severity,
        text=brief.text,
        about=_about(rule, len(judged.cases.question.rings or ())),
        figures=figures,
        limits=limits,
        margin=judged.margin(rule, lubricant),
        sources=RULES[rule].sources if outcome_shown(judged, rule, lubricant).is_concerned else (),
        only_if=brief.only_if,
        share_of_worlds=share_of(judged, rule, lubricant),
    )


def outcome_shown(judged: Judged, rule: int, lubricant: int) -> OutcomeRow:
    """What a rule says of a lubricant: its worst outcome over all cases."""
    return judged.outcomes.of_rules[rule].rows[outcome_of(judged, rule, lubricant)[0]]


def said_alike(judged: Judged, rule: int, lubricant: int) -> tuple[int, bool, str | None]:
    """What is the same for lubricants of which a rule says the same, but for the figures of each."""
    family = None if RULES[rule].speaks_of_grade else judged.lubricants.rows[lubricant].family.id
    return *outcome_of(judged, rule, lubricant), family


def aloud(judged: Judged, rules: Iterable[int], lubricant: int) -> Iterator[Said]:
    """Why some rules refuse a lubricant, as it is read aloud."""
    for rule in rules:
        shown = shown_of(judged, rule, lubricant)
        row = judged.outcomes.of_rules[rule].rows[shown.code]
        if row.aloud:
            words = _Words(RULES[rule], Spot(judged.x, shown.case, lubricant))
            yield Said(row.aloud.format_map(words), f"{row.rule}/{row.outcome}/aloud", **words.said)


def sheet_lines(judged: Judged, lubricant: int) -> Iterator[str]:
    """What a data sheet must show beyond the grade, where only an edge of what the grade allows fails."""
    for rule in judged.outcomes.telling_of_sheets:
        if line := outcome_shown(judged, rule, lubricant).sheet_line:
            words = _Words(RULES[rule], Spot(judged.x, shown_of(judged, rule, lubricant).case, lubricant))
            yield Said(line.format_map(words), f"{RULES[rule].id}/sheet-line", **words.said)


def severity_of(judged: Judged, rule: int, lubricant: int) -> int:
    """The severity of what a rule says of a lubricant, 0 for the gravest."""
    outcomes = judged.outcomes.of_rules[rule]
    if judged.single:
        return int(outcomes.severities[judged.only_outcome(rule, lubricant)[0]])
    alike = outcomes.severity_of_effect.get(judged.worst_on(rule, lubricant))
    if alike is not None and judged.column(rule).softened is None:
        return alike
    return int(outcomes.severities[outcome_of(judged, rule, lubricant)[0]])


def gravest(judged: Judged, rule: int, lubricants: Sequence[int]) -> int:
    """Of lubricants on which a rule has one effect the one whose finding is gravest, then the nearest to its limit."""
    severities = judged.outcomes.of_rules[rule].severities.tolist()
    found = [severities[outcome_of(judged, rule, index)[0]] for index in lubricants]
    most = min(found)
    return judged.nearest(rule, [index for index, severity in zip(lubricants, found, strict=True) if severity == most])


def figures_of(judged: Judged, lubricant: int, rules: Collection[str] = ()) -> Iterator[Figure]:
    """What some rules computed of a lubricant over all cases, or all of them, in the order of the rules."""
    for place in MEASURING:
        if not rules or RULES[place].id in rules:
            yield from _figures(judged, place, (lubricant,))


def share_of(judged: Judged, rule: int, lubricant: int) -> float:
    """The share of the cases, by weight, in which a rule has its worst effect on a lubricant."""
    if judged.cases.count == 1:
        return 1.0
    shares = judged.shares(rule)
    return shares[lubricant if len(shares) > 1 else 0]


def _condition(judged: Judged, rule: int, shown: Shown, spot: Spot) -> str | None:
    """What has to be so for an outcome to be shown; None where it always is."""
    holds = shown.only_where
    if holds is None:
        return None
    bounds = {field: words(spot) for field, words in RULES[rule].bounds.items()}
    # Lubricants that a rule means in the same cases share the words.
    key = (rule, holds.shape, holds.tobytes(), *bounds.values())
    if key not in judged.notes:
        judged.notes[key] = _condition_in_words(judged, rule, holds, bounds)
    found: str = judged.notes[key]
    return found


def _condition_in_words(judged: Judged, rule: int, holds: Flags, bounds: Mapping[str, str]) -> Said:
    along = {}
    for axis, places in enumerate(judged.column(rule).places):
        if holds.shape[axis] > 1 and places is not None:
            others = tuple(other for other in range(holds.ndim) if other != axis)
            can_hold: Flags = np.any(holds, axis=others)
            along[axis] = can_hold[places]
    return only_if(along, RULES[rule].fields, judged.cases, bounds)


def _sentence(row: OutcomeRow, rule: ColumnRule, spot: Spot, is_softened: bool) -> str:
    words, code = _Words(rule, spot), f"{rule.id}/{row.outcome}"
    if is_softened and row.when_named:
        return Said(row.when_named.format_map(words), f"{code}/when-named", **words.said)
    text = row.text.format_map(words) if "{" in row.text else row.text
    if row.unless and not is_softened:
        text = f"{text} {row.unless.format_map(words)}"
    return Said(text, code, **words.said)


class _Words(dict[str, Any]):
    """The places of a text, each filled in when it is asked for."""

    def __init__(self, rule: ColumnRule, spot: Spot) -> None:
        super().__init__()
        self._rule, self._spot = rule, spot
        self.said: dict[str, str] = {}

    def __missing__(self, name: str) -> Any:
        found = self._found(name)
        if name != "limit":
            self.said[name] = str(found)
        return found

    def _found(self, name: str) -> Any:
        if name == "label":
            return self._spot.lubricant.family.label
        return self._spot.limit if name == "limit" else self._rule.words[name](self._spot)


@lru_cache(maxsize=1_000)
def _about(rule: int, ring_sets: int) -> tuple[str, ...]:
    """The parts of a question of so many ring sets that a rule reads."""
    read = [pointer for fact in RULES[rule].reads for pointer in pointers(fact, ring_sets)]
    named = ("/service_data",) if RULES[rule].uses_service_data else ()
    return tuple(dict.fromkeys((*read, *named)))


def _figures(judged: Judged, rule: int, lubricants: Sequence[int]) -> Iterator[Figure]:
    """The figures of a rule over all cases and some lubricants."""
    for spanned in judged.figures(rule):
        known = [(ends, index) for index in lubricants if (ends := spanned.at(index))]
        if known:
            (least, most, is_screening), first = known[0]
            standing = spanned.figure.rests_on(judged.lubricants.rows[first])
            for (low, high, also_screening), index in known[1:]:
                least, most, is_screening = min(least, low), max(most, high), is_screening or also_screening
                standing = weakest(standing, spanned.figure.rests_on(judged.lubricants.rows[index]))
            yield Figure(
                name=spanned.figure.name,
                unit=spanned.figure.unit,
                min=significant(least),
                max=significant(most),
                standing="computed",
                rests_on=standing,
                screening=is_screening,
            )


def _limits_used(rule: ColumnRule, spot: Spot) -> Iterator[LimitUsed]:
    """What a lubricant was held against, each with where it comes from."""
    yield from rule.limits(spot) if callable(rule.limits) else map(spot.base.quantity, rule.limits)
