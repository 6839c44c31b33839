"""Each facing under every rule of the shift, and what that comes to."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

from knowledge.parts.digits import rounded, rounded_ratio
from knowledge.parts.notes import RuleNote, shortened
from knowledge.parts.provenance import EFFECTS_FROM_WORST, SEVERITIES_FROM_WORST, Citation, Finding, weakest
from knowledge.rings.figures import LIMITED
from knowledge.rule import Rule, RuleOutcome
from knowledge.shift.answer import FullMargin, Margin, ShiftVerdict
from knowledge.shift.loaded_ring import GRAVEST, OUTSIDE, LoadedRing
from knowledge.shift.rules.limits import is_binding
from knowledge.shift.rules.shift import SHIFT_RULES
from knowledge.text import listed, significant

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
    def adverse(self) -> tuple[tuple[Rule, RuleOutcome], ...]:
        """What refuses it and what warns of it: the gravest first, and of those the farthest beyond its limit."""
        found = [
            (rule, outcome)
            for rule, outcome in self.outcomes.items()
            if outcome.effect == "excludes" or (outcome.effect == "cautions" and outcome.severity != "note")
        ]
        return tuple(sorted(found, key=lambda item: _gravity(item[1])))

    @property
    def verdict(self) -> ShiftVerdict:
        """Refused by any rule, warned of by any rule, or neither; a note lowers nothing."""
        effects = {outcome.effect for _, outcome in self.adverse}
        return "does-not-fit" if "excludes" in effects else "fits-with-care" if effects else "fits"

    @property
    def rank_key(self) -> tuple[int, float]:
        """The better verdict first, then the one that keeps farther from its limits."""
        return VERDICTS_FROM_BEST.index(self.verdict), self.ring.worst_ratio

    @property
    def notes(self) -> tuple[RuleNote, ...]:
        """What refuses it and what warns of it, in short."""
        return tuple(RuleNote(rule=rule.id, severity=it.severity, text=it.text) for rule, it in self.adverse)

    @property
    def findings(self) -> tuple[Finding, ...]:
        """The outcome of every rule with its figures, limits and sources."""
        return tuple(
            replace(
                rule.finding(outcome, tuple(f"/{name}" for name in rule.reads)),
                limits=tuple(replace(limit, value=significant(limit.value)) for limit in outcome.limits),
                margin=rounded(outcome.margin),
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
                value=rounded(value),
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
        return tuple(
            shortened(
                margin,
                Margin,
                value=rounded(margin.value, margin.rests_on),
                ratio=rounded_ratio(ratio, weakest(margin.rests_on, margin.standing)),
            )
            for ratio, margin in sorted(known, key=lambda item: item[0], reverse=True)
        )

    @property
    def why(self) -> str:
        """What speaks most against it, in words."""
        grave = (criterion for criterion in GRAVEST if self.ring.ratios.get(criterion, 0) > 1)
        return next((OUTSIDE[criterion] for criterion in grave), self.ring.farthest)

    @property
    def verdict_text(self) -> str:
        """The verdict in words, with what stands behind it and how much that can bear."""
        outside = [criterion for criterion, ratio in self.ring.ratios.items() if ratio > 1]
        if not outside:
            return "Inside every limit we have."
        limits = self.ring.limits.values()
        warning = [row.quantity for row in limits if row.quantity in outside and not is_binding(row.standing)]
        refusing = [OUTSIDE[criterion] for criterion in outside if criterion not in warning]
        sentences = [f"Outside: {listed(refusing, 'and')}."] if refusing else []
        if warning:
            many = f"{len(warning)} limits" if len(warning) > 1 else "1 limit"
            does = "they warn and do not refuse" if len(warning) > 1 else "it warns and does not refuse"
            sentences.append(f"Over {many} that we recall or judge and did not read: {does}.")
        return " ".join(sentences)


def _gravity(outcome: RuleOutcome) -> tuple[int, int, float]:
    margin = 0.0 if outcome.margin is None else outcome.margin
    return EFFECTS_FROM_WORST.index(outcome.effect), SEVERITIES_FROM_WORST.index(outcome.severity), margin


def summary(judged: Sequence[JudgedRing]) -> str:
    """One plain sentence of at most 140 characters, of the best facing, and that service data decides."""
    best = judged[0]
    words = best.ring.words
    name = words[0].upper() + words[1:]
    alike = sum(item.verdict == best.verdict for item in judged)
    leads = f"{name} leads of {alike} that stand" if alike > 1 else f"{name} stands"
    if best.verdict != "does-not-fit":
        text = f"{leads} this shift" if best.verdict == "fits" else f"{leads} it with care: {best.why}"
    elif len(judged) > 1:
        text = f"No facing stands this shift. Nearest is {words}: {best.why}"
    else:
        text = f"{name} does not stand it: {best.why}"
    return f"{text}. The manufacturer's service data decides."
