"""Each facing under every rule of the shift, and what that comes to."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from functools import cached_property

from knowledge.parts.notes import RuleNote
from knowledge.parts.provenance import EFFECTS_FROM_WORST, SEVERITIES_FROM_WORST, Citation, Finding, weakest
from knowledge.rings.figures import LIMITED
from knowledge.rule import Rule, RuleOutcome
from knowledge.shift.answer import FullMargin, Margin, ShiftVerdict
from knowledge.shift.digits import rounded, rounded_ratio
from knowledge.shift.loaded_ring import LoadedRing
from knowledge.shift.rules.limits import is_binding
from knowledge.shift.rules.shift import SHIFT_RULES
from knowledge.text import significant

VERDICTS_FROM_BEST: tuple[ShiftVerdict, ...] = ("fits", "fits-with-care", "does-not-fit")


@dataclass(frozen=True)
class JudgedRing:
    """One facing with the outcome of every rule."""

    ring: LoadedRing

    @cached_property
    def outcomes(self) -> Mapping[Rule, RuleOutcome]:
        """The outcome of each rule, in the order of the rules."""
        return {rule: rule.judge(ring=self.ring) for rule in SHIFT_RULES}

    @cached_property
    def verdict(self) -> ShiftVerdict:
        """Refused by any rule, warned of by any rule, or neither; a note lowers nothing."""
        if any(outcome.effect == "excludes" for outcome in self.outcomes.values()):
            return "does-not-fit"
        return "fits-with-care" if any(map(_is_adverse, self.outcomes.values())) else "fits"

    @property
    def rank_key(self) -> tuple[int, float]:
        """The better verdict first, then the one that keeps farther from its limits."""
        return VERDICTS_FROM_BEST.index(self.verdict), self.ring.worst_ratio

    @property
    def notes(self) -> tuple[RuleNote, ...]:
        """What refuses it and what warns of it: the gravest first, and of those the farthest beyond its limit."""
        adverse = [(rule, outcome) for rule, outcome in self.outcomes.items() if _is_adverse(outcome)]
        adverse.sort(key=lambda item: _gravity(item[1]))
        return tuple(RuleNote(rule=rule.id, severity=outcome.severity, text=outcome.text) for rule, outcome in adverse)

    @property
    def findings(self) -> tuple[Finding, ...]:
        """The outcome of every rule with its figures, limits and sources."""
        return tuple(
            Finding(
                rule=rule.id,
                effect=outcome.effect,
                severity=outcome.severity,
                text=outcome.text,
                about=tuple(f"/{name}" for name in rule.reads),
                figures=tuple(measured.figure for measured in outcome.figures),
                limits=tuple(replace(limit, value=significant(limit.value)) for limit in outcome.limits),
                margin=None if outcome.margin is None else significant(outcome.margin),
                sources=self._cited(rule, outcome),
            )
            for rule, outcome in self.outcomes.items()
        )

    def _cited(self, rule: Rule, outcome: RuleOutcome) -> tuple[Citation, ...]:
        if not outcome.is_concerned:
            return ()
        names = {limit.id for limit in outcome.limits}
        rows = [row for row in self.ring.limits.values() if row.quantity in names]
        return tuple(dict.fromkeys((*rule.sources, *(Citation(id=row.source, locator=row.locator) for row in rows))))

    @property
    def margins(self) -> Iterator[FullMargin]:
        """Each limit of the facing beside its figure."""
        for row in self.ring.limits.values():
            value = self.ring.ends.worst(LIMITED[row.quantity])
            yield FullMargin(
                limit=row.quantity,
                value=None if value is None else significant(value),
                allowed=row.value,
                ratio=None if value is None else significant(value / row.value),
                unit=row.unit,
                standing=row.standing,
                rests_on=self.ring.standing(row.quantity),
                is_binding=is_binding(row.standing),
                sources=(Citation(id=row.source, locator=row.locator),),
                reason=row.note,
            )

    @property
    def nearest_margins(self) -> tuple[Margin, ...]:
        """The limits it comes nearest to, the nearest first."""
        known = [(margin.ratio, margin) for margin in self.margins if margin.ratio is not None]
        nearest = sorted(known, key=lambda item: item[0], reverse=True)
        return tuple(
            Margin(
                limit=margin.limit,
                value=rounded(margin.value, margin.rests_on),
                allowed=margin.allowed,
                ratio=rounded_ratio(ratio, weakest(margin.rests_on, margin.standing)),
                standing=margin.standing,
            )
            for ratio, margin in nearest
        )


def _is_adverse(outcome: RuleOutcome) -> bool:
    return outcome.effect == "excludes" or (outcome.effect == "cautions" and outcome.severity != "note")


def _gravity(outcome: RuleOutcome) -> tuple[int, int, float]:
    margin = 0.0 if outcome.margin is None else outcome.margin
    return EFFECTS_FROM_WORST.index(outcome.effect), SEVERITIES_FROM_WORST.index(outcome.severity), margin
