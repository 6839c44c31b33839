"""The finding of one rule on one lubricant: its sentence, figures, limits and sources, made when it is shown."""

from collections.abc import Collection, Iterable, Iterator, Mapping
from functools import lru_cache
from typing import Any, NamedTuple

import numpy as np

from knowledge.box.facts import pointers
from knowledge.judging.box_columns import AXES
from knowledge.judging.column_rule import NOTE, ColumnRule
from knowledge.judging.columns import Flags
from knowledge.judging.condition import only_if
from knowledge.judging.judge import Judged
from knowledge.judging.rules import RULES
from knowledge.judging.spot import Spot
from knowledge.loading.schema import OutcomeRow
from knowledge.parts.provenance import EFFECTS_FROM_WORST, Effect, Figure, Finding, LimitUsed, Severity
from knowledge.text import Said, reworded, significant


class _Shown(NamedTuple):
    """The outcome of a rule on a lubricant that is shown, the case that shows it, and in which cases it is so."""

    case: tuple[int, ...]
    code: int
    is_softened: bool
    meant: Flags | None = None

    @property
    def is_many(self) -> bool:
        """Whether it is so in several cases that differ."""
        return self.meant is not None and int(self.meant.sum()) > 1


class _WorstOutcomes(NamedTuple):
    """The worst outcome of a rule over all cases, by lubricant or one for all alike, and the case that shows it."""

    cases: list[tuple[int, ...]]
    codes: list[int]
    is_softened: list[bool]
    meant: Flags | None

    def on(self, lubricant: int) -> _Shown:
        """That on one lubricant."""
        at = lubricant if len(self.codes) > 1 else 0
        meant = None if self.meant is None else self.meant[..., at]
        return _Shown(self.cases[at], self.codes[at], self.is_softened[at], meant)


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
        return f"{self.text} {self.only_if}" if self.only_if else self.text


def note(judged: Judged, rule: int, lubricant: int) -> Note:
    """What the rule at a place of RULES says of a lubricant: its worst outcome over all cases, in words."""
    shown = _shown(judged, rule, lubricant)
    about = lubricant if RULES[rule].speaks_of_grade else judged.lubricants.rows[lubricant].family.id
    # Lubricants of which a rule says the same share the sentence.
    key = (rule, about, shown.case, shown.code, shown.is_softened, shown.meant is None or shown.meant.tobytes())
    if key not in judged.notes:
        judged.notes[key] = _note(judged, rule, lubricant, shown)
    return judged.notes[key]


def _note(judged: Judged, rule: int, lubricant: int, shown: _Shown) -> Note:
    of_rule, row = RULES[rule], judged.outcomes.of_rules[rule].rows[shown.code]
    spot = Spot(judged.x, shown.case, lubricant)
    text = _sentence(row, of_rule, spot, shown.is_softened)
    if shown.is_many and any(spanned.is_known(lubricant) for spanned in judged.figures(rule)):
        text = reworded(text, f"At worst: {text[0].lower()}{text[1:]}", at_worst=True)
    effect = EFFECTS_FROM_WORST[judged.worst_on(rule, lubricant)]
    condition = _condition(judged, rule, shown, spot) if row.is_concerned else None
    share = share_of(judged, rule, lubricant)
    return Note(of_rule.id, row.outcome, effect, row.severity, text, condition, share)


def explain(judged: Judged, rule: int, lubricant: int, is_measured: bool = True) -> Finding:
    """The same with its sources, how often it is so and, where measured, its figures over all cases and limits."""
    brief = note(judged, rule, lubricant)
    shown = _shown(judged, rule, lubricant)
    of_rule, row = RULES[rule], judged.outcomes.of_rules[rule].rows[shown.code]
    spot = Spot(judged.x, shown.case, lubricant)
    return Finding(
        rule=brief.rule,
        effect=brief.effect,
        severity=brief.severity,
        text=brief.text,
        about=_about(rule, len(judged.cases.question.rings or ())),
        figures=tuple(_figures(judged, rule, lubricant)) if is_measured else (),
        limits=tuple(_limits_used(of_rule, spot)) if is_measured and row.is_concerned else (),
        margin=judged.margin(rule, lubricant),
        sources=of_rule.sources if row.is_concerned else (),
        only_if=brief.only_if,
        share_of_worlds=share_of(judged, rule, lubricant),
    )


def outcome_shown(judged: Judged, rule: int, lubricant: int) -> OutcomeRow:
    """What a rule says of a lubricant: its worst outcome over all cases."""
    return judged.outcomes.of_rules[rule].rows[_shown(judged, rule, lubricant).code]


def said_alike(judged: Judged, rule: int, lubricant: int) -> tuple[int, bool, str | None]:
    """What is the same for lubricants of which a rule says the same, but for the figures of each."""
    shown = _shown(judged, rule, lubricant)
    family = None if RULES[rule].speaks_of_grade else judged.lubricants.rows[lubricant].family.id
    return shown.code, shown.is_softened, family


def aloud(judged: Judged, rules: Iterable[int], lubricant: int) -> Iterator[str]:
    """Why some rules refuse a lubricant, as it is read aloud."""
    for rule in rules:
        shown = _shown(judged, rule, lubricant)
        if words := judged.outcomes.of_rules[rule].rows[shown.code].aloud:
            yield words.format_map(_Words(RULES[rule], Spot(judged.x, shown.case, lubricant)))


def sheet_lines(judged: Judged, lubricant: int) -> Iterator[str]:
    """What a data sheet must show beyond the grade, where only an edge of what the grade allows fails."""
    for rule in judged.outcomes.telling_of_sheets:
        shown = _shown(judged, rule, lubricant)
        line = judged.outcomes.of_rules[rule].rows[shown.code].sheet_line
        if line:
            words = _Words(RULES[rule], Spot(judged.x, shown.case, lubricant))
            yield Said(line.format_map(words), f"{RULES[rule].id}/sheet-line", **words.said)


def severity_of(judged: Judged, rule: int, lubricant: int) -> int:
    """The severity of what a rule says of a lubricant, 0 for the gravest."""
    outcomes = judged.outcomes.of_rules[rule]
    if judged.single:
        return int(outcomes.severities[judged.only_outcome(rule, lubricant)[0]])
    alike = outcomes.severity_of_effect.get(judged.worst_on(rule, lubricant))
    if alike is not None and judged.column(rule).softened is None:
        return alike
    return int(outcomes.severities[_shown(judged, rule, lubricant).code])


def figures_of(judged: Judged, lubricant: int, rules: Collection[str] = ()) -> Iterator[Figure]:
    """What some rules computed of a lubricant over all cases, or all of them, in the order of the rules."""
    for place, rule in enumerate(RULES):
        if not rules or rule.id in rules:
            yield from _figures(judged, place, lubricant)


def share_of(judged: Judged, rule: int, lubricant: int) -> float:
    """The share of the cases, by weight, in which a rule has its worst effect on a lubricant."""
    if judged.cases.count == 1:
        return 1.0
    shares = judged.shares(rule)
    return shares[lubricant if len(shares) > 1 else 0]


ONLY_CASE = (0,) * AXES

# A tie-break behind all that can be computed.
LAST = 1e300


def _shown(judged: Judged, rule: int, lubricant: int) -> _Shown:
    if judged.single:
        return _Shown(ONLY_CASE, *judged.only_outcome(rule, lubricant))
    if rule not in judged.shown:
        judged.shown[rule] = _worst_of_many(judged, rule)
    worst: _WorstOutcomes = judged.shown[rule]
    return worst.on(lubricant)


def _worst_of_many(judged: Judged, rule: int) -> _WorstOutcomes:
    """The worst outcome over all cases, of each lubricant or of all alike.

    Among the cases of the worst effect one that is concerned, of the gravest severity, of the least tie-break.
    """
    column = judged.column(rule)
    shape = np.broadcast_shapes(column.effect.shape, column.code.shape)
    is_open = shape[:-1] != (1,) * AXES
    order = judged.tie_break(rule) if is_open else None
    if order is not None:
        shape = np.broadcast_shapes(shape, order.shape)
    code, effect = (np.broadcast_to(part, shape).reshape(-1, shape[-1]) for part in (column.code, column.effect))
    softened = np.zeros(1, bool) if column.softened is None else column.softened
    softened = np.broadcast_to(softened, shape).reshape(code.shape)
    oils = np.arange(shape[-1])
    is_worst, is_concerned = effect == effect.min(axis=0), column.outcomes.is_concerned[code]
    gravity = column.outcomes.severities[code] + (NOTE + 1) * (~is_concerned + 2 * ~is_worst)
    tie_break = np.where(gravity == gravity.min(axis=0), 0.0, np.inf)
    if order is not None:
        found = np.broadcast_to(order, shape).reshape(code.shape)
        tie_break = tie_break + np.where(np.isnan(found), LAST, np.minimum(found, LAST))
    place = tie_break.argmin(axis=0)
    is_meant = (is_worst & (is_concerned == is_concerned[place, oils])).reshape(shape)
    along = (places.tolist() for places in np.unravel_index(place, shape[:-1]))
    return _WorstOutcomes(
        cases=list(zip(*along, strict=True)),
        codes=code[place, oils].tolist(),
        is_softened=softened[place, oils].tolist(),
        meant=is_meant if is_open else None,
    )


def _condition(judged: Judged, rule: int, shown: _Shown, spot: Spot) -> str | None:
    """What has to be so for an outcome to be shown; None where it always is."""
    holds = shown.meant
    if holds is None or holds.all():
        return None
    bounds = {field: words(spot) for field, words in RULES[rule].bounds.items()}
    # Lubricants that a rule means in the same cases share the words.
    key = (rule, holds.shape, holds.tobytes(), *bounds.values())
    if key not in judged.notes:
        judged.notes[key] = _condition_in_words(judged, rule, holds, bounds)
    return str(judged.notes[key])


def _condition_in_words(judged: Judged, rule: int, holds: Flags, bounds: Mapping[str, str]) -> str:
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


def _figures(judged: Judged, rule: int, lubricant: int) -> Iterator[Figure]:
    """The figures of a rule over all cases."""
    oil = judged.lubricants.rows[lubricant]
    for spanned in judged.figures(rule):
        if spanned.is_known(lubricant):
            least, most, is_screening = spanned.at(lubricant)
            yield Figure(
                name=spanned.figure.name,
                unit=spanned.figure.unit,
                min=significant(least),
                max=significant(most),
                standing="computed",
                rests_on=spanned.figure.rests_on(oil),
                screening=is_screening,
            )


def _limits_used(rule: ColumnRule, spot: Spot) -> Iterator[LimitUsed]:
    """What a lubricant was held against, each with where it comes from."""
    named = rule.limits(spot) if callable(rule.limits) else map(spot.base.quantity, rule.limits)
    for quantity in named:
        yield LimitUsed(id=quantity.id, value=quantity.value, unit=quantity.unit, standing=quantity.standing)
