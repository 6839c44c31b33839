"""Each facing under every rule of the shift, and what that comes to."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

from knowledge.parts.digits import rounded, rounded_ratio
from knowledge.parts.notes import RuleNote, shortened
from knowledge.parts.provenance import EFFECTS_FROM_WORST, SEVERITIES_FROM_WORST, Citation, Finding, weakest
from knowledge.rings.figures import LIMITED
from knowledge.rule import Rule, RuleOutcome
from knowledge.shift.answer import ComparedRing, FullMargin, LeastChange, Margin, ShiftVerdict
from knowledge.shift.changes import LEVERS, least_changes
from knowledge.shift.loaded_ring import EASED_BY, GRAVEST, OUTSIDE, LoadedRing
from knowledge.shift.rules.shift import SHIFT_RULES
from knowledge.text import Said, capitalized, digits, listed, said_of, significant

DECIDES = "The manufacturer's service data decides."
CONES = {1: "one cone", 2: "two cones", 3: "three cones"}
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
    def rank_key(self) -> tuple[int, float, int]:
        """The better verdict first, then the one least outside; of those alike the one that is reached for first."""
        turn = self.ring.base.facings[self.ring.shift.facing].reached_for
        return VERDICTS_FROM_BEST.index(self.verdict), max(self.ring.worst_ratio, 1.0), turn

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
                refused_above=self.ring.refused_above(row.quantity),
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

    @cached_property
    def least_changes(self) -> tuple[LeastChange, ...]:
        """The least change of each lever."""
        return tuple(least_changes(self.ring))

    @property
    def gravest(self) -> str:
        """The criterion that speaks most against it; that a ring may wedge is no graver than another care."""
        ratios, ring = self.ring.ratios, self.ring
        grave = (one for one in GRAVEST if ratios.get(one, 0) > 1 and (one != "release" or ring.wedges))
        return next(grave, max(ratios, key=lambda criterion: ratios[criterion]))

    @property
    def why(self) -> Said:
        """What speaks most against it, in words."""
        return self.ring.outside(self.gravest)

    @property
    def care(self) -> Said:
        """What to change: the first thing that is enough by itself, or else what eases the worst of it."""
        change = next((one for one in self.least_changes if one.to is not None and one.to != one.now), None)
        if change is None or change.to is None:
            return Said(EASED_BY[self.gravest], f"eased/{self.gravest.replace('_', '-')}")
        text = f"{LEVERS[change.change].enough.format(digits(change.to, 6))} will do"
        return Said(text, "one-change-will-do", change=change.change, to=change.to)

    @property
    def verdict_text(self) -> Said:
        """The verdict in words: what lies outside, the gravest two by name."""
        ratios = self.ring.ratios
        outside = [self.ring.outside(criterion) for criterion in OUTSIDE if ratios.get(criterion, 0) > 1]
        named = outside[:2] if len(outside) > 3 else outside
        if not named:
            return Said("Inside every limit we have.", "inside-every-limit")
        more = len(outside) - len(named)
        rest = f"; {more} more limits are passed" if more else ""
        return Said(f"{capitalized(listed(named, 'and'))}{rest}.", "outside-limits", tuple(named), more=more)


def _gravity(outcome: RuleOutcome) -> tuple[int, int, float]:
    margin = 0.0 if outcome.margin is None else outcome.margin
    return EFFECTS_FROM_WORST.index(outcome.effect), SEVERITIES_FROM_WORST.index(outcome.severity), margin


def summary(judged: Sequence[JudgedRing], beside: Sequence[ComparedRing] = ()) -> Said:
    """What to fit, in a sentence to read aloud of at most 140 characters, and that service data decides.

    Where no ring that was asked for stands it, one beside it that does, such as one of more cones.
    """
    best = judged[0]
    words = [item.ring.base.facings[item.ring.shift.facing].ring_words for item in judged]
    name, of = capitalized(words[0]), {"facing": best.ring.shift.facing}
    alike = [item.ring.shift.facing for item in judged if item.verdict == best.verdict]
    if best.verdict == "fits":
        so_would = alike[1] if len(alike) > 1 else None
        also = f"; so would {words[1]}" if so_would else ""
        return Said(f"{name} stand this shift{also}. {DECIDES}", "rings-stand-it", **of, so_would=so_would)
    if best.verdict == "fits-with-care":
        text = f"{name} stand it with care: {best.why}; {best.care}. Service data decides."
        return Said(text, "rings-stand-it-with-care", (best.why, best.care), **of)
    if other := next((row for row in beside if row.verdict != "does-not-fit"), None):
        is_of_other_cones = other.cones != best.ring.shift.cones
        which = best.ring.base.facings[other.facing].ring_words
        which += f" with {CONES[other.cones]}" if is_of_other_cones else ""
        does = {"other": other.facing, "cones": other.cones if is_of_other_cones else None}
        if len(judged) == 1:
            care = "" if other.why is None else ", with care"
            text = f"{name} do not stand it; {which} do{care}. Service data decides."
            return Said(text, "another-ring-stands-it", **of, **does, with_care=bool(care))
        care = "" if other.why is None else f" with care: {other.why}"
        text = f"{capitalized(which)} stand it{care}. Service data decides."
        return Said(text, "only-another-ring-stands-it", said_of(other.why) if other.why else (), **does)
    if len(judged) > 1:
        text = f"No ring stands this shift. Nearest are {words[0]}: {best.why}. {DECIDES}"
        return Said(text, "no-ring-stands-it", (best.why,), **of)
    return Said(f"{name} do not stand it: {best.why}. {DECIDES}", "rings-do-not-stand-it", (best.why,), **of)
