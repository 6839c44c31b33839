"""What the rules come to for one box, as the answers read it."""

from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any, NamedTuple

import numpy as np

from knowledge.base import KnowledgeBase
from knowledge.box.cases import Cases
from knowledge.box.mating import WipingLand
from knowledge.box.named import Named
from knowledge.box.question import FillQuestion
from knowledge.judging.cautions import cautions_of
from knowledge.judging.column_rule import CAUTIONS, EXCLUDES, SUPPORTS
from knowledge.judging.columns import Flags, LubricantColumns
from knowledge.judging.explain import (
    Note,
    aloud,
    explain,
    explain_briefly,
    figures_of,
    note,
    outcome_shown,
    severity_of,
    share_of,
    sheet_lines,
)
from knowledge.judging.judge import Judged
from knowledge.judging.leads_if import LeadsIf
from knowledge.judging.questions import OpenQuestion, open_questions
from knowledge.judging.rank import Lead, Ranking
from knowledge.judging.rules import RULES
from knowledge.judging.worst import codes_shown
from knowledge.lubricant import Lubricant
from knowledge.parts.lubricant_name import Verdict
from knowledge.parts.provenance import Caution, Figure, Finding
from knowledge.text import Said, significant

PLACE_OF_RULE = {rule.id: place for place, rule in enumerate(RULES)}
STRIP_RULES = np.array([rule.settled_by == "copper_strip" for rule in RULES])


class WorstCase(NamedTuple):
    """The worst of everything that is still unknown, taken together."""

    sump_hot_c: float
    coldest_start_c: float
    bearing_reference_mm2_s: float
    wiping_land: WipingLand | None
    has_rings: bool
    copper_parts: tuple[str, ...]
    limited_slip: frozenset[bool]
    surely_wet_clutch: bool


@dataclass(frozen=True, eq=False)
class Judgement:
    """Every rule on every lubricant in every case; a lubricant is named by its index."""

    cases: Cases
    columns: LubricantColumns | None = None
    region: str | None = None

    @classmethod
    def of(
        cls,
        question: FillQuestion,
        base: KnowledgeBase,
        lubricants: Sequence[Lubricant] | None = None,
        region: str | None = None,
    ) -> "Judgement":
        """The judgement of a box; without lubricants on all classes. What is sold every day may be of a region."""
        cases = Cases.of(question, base)
        return cls(cases, None if lubricants is None else LubricantColumns.of(lubricants, base), region)

    @cached_property
    def judged(self) -> Judged:
        """The rules as columns."""
        return Judged.of(self.cases, self.columns)

    @cached_property
    def ranking(self) -> Ranking:
        """The order of the lubricants."""
        return Ranking(self.judged, self.region)

    @cached_property
    def leads_if(self) -> LeadsIf:
        """Who leads once more is known."""
        return LeadsIf(self.ranking)

    @property
    def lubricants(self) -> Sequence[Lubricant]:
        """The lubricants that are judged."""
        return self.judged.lubricants.rows

    @property
    def question(self) -> FillQuestion:
        """The question as understood: the service data is read."""
        return self.cases.question

    @property
    def base(self) -> KnowledgeBase:
        """The knowledge that it rests on."""
        return self.cases.base

    @property
    def named(self) -> Named:
        """What the service data names."""
        return self.cases.named

    @property
    def count(self) -> int:
        """How many cases were tried."""
        return self.cases.count

    @property
    def order(self) -> tuple[int, ...]:
        """The lubricants that are not refused, best first."""
        return self.ranking.order

    @property
    def lead(self) -> Lead:
        """Who leads, in how much of the cases, and whether that settles it."""
        return self.ranking.whole

    @property
    def leader(self) -> int | None:
        """The lubricant that leads; None where nothing does."""
        return self.ranking.whole.leader

    @property
    def safest(self) -> int | None:
        """The lubricant that does least harm over all that is open; None where nothing leads."""
        return self.ranking.safest

    @cached_property
    def alike(self) -> tuple[int, ...]:
        """The lubricants that do the same work as the leader at its grade."""
        leader = self.leader
        if leader is None:
            return ()
        return tuple(index for index in self.order if index != leader and self.ranking.is_twin(index, leader))

    @property
    def tried(self) -> tuple[tuple[str, tuple[Any, ...]], ...]:
        """The place of each unknown field, and the values that were tried for it."""
        return tuple((field.pointer, field.values) for _, field in self.cases.open)

    def of_family(self, family: str) -> tuple[int, ...]:
        """The lubricants of a family."""
        return self.judged.lubricants.by_family.get(family, ())

    def verdict(self, index: int) -> Verdict:
        """The verdict on one lubricant over all cases."""
        return self.ranking.verdicts[index]

    def share_of_cases(self, index: int) -> float:
        """The share of the cases, by weight, in which it fits or fits with care."""
        return significant(abs(round(1 - float(self.ranking.refused_share[index]), 9)))

    def main_refusal(self, index: int) -> Note:
        """What refuses it, the weightiest: what holds in most cases, then what is gravest."""
        single = self.judged.single
        return note(self.judged, single.gravest_refusals[index], index) if single else next(self._weightiest(index))

    def is_refused_whatever_is_open(self, index: int) -> bool:
        """Whether what refuses it most weightily does so in all cases."""
        return self.judged.single is not None or self.main_refusal(index).only_if is None

    def grave_refusals(self, index: int) -> tuple[Note, ...]:
        """The refusals of what does lasting harm, in the order of the rules."""
        return tuple(
            one
            for rule in self._rules_of(index, EXCLUDES)
            if outcome_shown(self.judged, rule, index).is_grave and (one := note(self.judged, rule, index))
        )

    def care(self, index: int) -> Iterator[Note]:
        """What cautions or excludes it in some case: the worst effect first, then the gravest."""
        return (note(self.judged, rule, index) for rule, _ in self.rules_of_care(index))

    def rules_of_care(self, index: int) -> list[tuple[int, float]]:
        """The rules that caution against it or exclude it, each with the share of the cases in which it does."""
        rules = [(effect, rule) for effect in (EXCLUDES, CAUTIONS) for rule in self._rules_of(index, effect)]
        keys = [
            (effect, severity_of(self.judged, rule, index), -share_of(self.judged, rule, index), rule)
            for effect, rule in rules
        ]
        return [(rule, -share) for _, _, share, rule in sorted(keys)]

    def note(self, rule: int, index: int) -> Note:
        """What the rule at a place of RULES says of it, in words."""
        return note(self.judged, rule, index)

    def findings(self, index: int) -> tuple[Finding, ...]:
        """What the rules find that are concerned, in the order of the rules."""
        return tuple(
            explain(self.judged, rule, index)
            for rule in range(len(RULES))
            if outcome_shown(self.judged, rule, index).is_concerned
        )

    def held_against(self, index: int) -> tuple[Finding, ...]:
        """Those of them that do not speak for it, without figures and limits."""
        return tuple(
            [
                explain_briefly(self.judged, rule, index)
                for rule, effect in enumerate(self.judged.worst[:, index].tolist())
                if effect != SUPPORTS and outcome_shown(self.judged, rule, index).is_concerned
            ]
        )

    @cached_property
    def concerned(self) -> frozenset[int]:
        """The places of the rules that are concerned with any of the lubricants."""
        known = self.judged.outcomes.of_rules
        return frozenset(
            rule
            for rule in range(len(RULES))
            if any(known[rule].rows[code].is_concerned for code in codes_shown(self.judged, rule))
        )

    @cached_property
    def refused_everywhere(self) -> Flags:
        """Whether a rule refuses a lubricant in every case, by rules and lubricants."""
        found: Flags = self.judged.worst_that_decides == EXCLUDES
        if self.count > 1:
            for rule in np.nonzero(found.any(axis=1))[0].tolist():
                found[rule] &= np.isclose(self.judged.shares(rule), 1.0, rtol=1e-9, atol=0.0)
        return found

    def outcome(self, rule: str, index: int) -> str:
        """The outcome of a rule for a lubricant, the worst over all cases."""
        return outcome_shown(self.judged, PLACE_OF_RULE[rule], index).outcome

    def share_of_outcomes(self, rule: str, index: int, outcomes: Collection[str]) -> float:
        """The share of the cases in which a rule has one of some outcomes for a lubricant."""
        return self.judged.share_of_outcomes(PLACE_OF_RULE[rule], index, outcomes)

    def figures(self, index: int, rules: Collection[str] = ()) -> Iterator[Figure]:
        """What some rules computed of it, or all of them, in the order of the rules."""
        return figures_of(self.judged, index, rules)

    def is_asked_for(self, index: int) -> bool:
        """Whether the service data names it."""
        return bool(self.ranking.is_named[index])

    def questions(self) -> tuple[OpenQuestion, ...]:
        """A question for each unknown field that any rule reads, the one that settles most first."""
        return open_questions(self.leads_if)

    def cautions(self, *, with_possible: bool = True) -> tuple[Caution, ...]:
        """The cautions that go with the box, worst first; also those that only may."""
        return cautions_of(self.cases, self.base, with_possible=with_possible)

    @cached_property
    def worst_case(self) -> WorstCase:
        """The worst of everything that is still unknown, taken together."""
        values = self.cases.values
        lands = [land for land in values("wiping_land") if land]
        return WorstCase(
            sump_hot_c=max(values("sump_hot_c")),
            coldest_start_c=min(values("coldest_start_c")),
            bearing_reference_mm2_s=self.judged.x.bearing_reference_mm2_s,
            wiping_land=max(lands, key=lambda land: land.wiping_s_per_mpa_s, default=None),
            has_rings=any(values("facings")),
            copper_parts=tuple(sorted({part for parts in values("copper_parts") for part in parts})),
            limited_slip=frozenset(values("limited_slip")),
            surely_wet_clutch=all(values("wet_clutch")),
        )

    def sheet_lines(self, index: int) -> tuple[str, ...]:
        """What the data sheet of a lubricant must show beyond its grade."""
        return tuple(sheet_lines(self.judged, index))

    def aloud(self, family: str) -> Said | None:
        """Why a family is refused whatever is open, as it is read aloud: `eats the bronze`; None without words."""
        for index in self.of_family(family)[:1]:
            rules = self._rules_of(index, EXCLUDES)
            if not self.judged.single:
                rules = [rule for rule in rules if not note(self.judged, rule, index).only_if]
            return next(aloud(self.judged, rules, index), None)
        return None

    @cached_property
    def by_itself(self) -> "Judgement":
        """The same box without a word of what is named for it."""
        rings = self.question.rings
        bare = rings and tuple(ring.model_copy(update={"fluid_named": None}) for ring in rings)
        question = self.question.model_copy(update={"service_data": None, "rings": bare})
        return Judgement.of(question, self.base, region=self.region)

    def provable(self) -> tuple[int, ...]:
        """The lubricants that only a measured copper strip still keeps out."""
        refuses = self.judged.worst == EXCLUDES
        return tuple(np.nonzero(~refuses[~STRIP_RULES].any(axis=0))[0].tolist())

    def _weightiest(self, index: int) -> Iterator[Note]:
        """What refuses a lubricant in some case: what holds in most cases first, then what is gravest."""
        rules = self._rules_of(index, EXCLUDES)
        if len(rules) > 1:
            keys = {
                rule: (-share_of(self.judged, rule, index), severity_of(self.judged, rule, index)) for rule in rules
            }
            rules.sort(key=keys.__getitem__)
        return (note(self.judged, rule, index) for rule in rules)

    @cached_property
    def _effects(self) -> list[list[int]]:
        """The worst effect of each rule, by lubricant; that of rules that only tell is of no matter."""
        return self.judged.worst_that_decides.T.tolist()

    def _rules_of(self, index: int, effect: int) -> list[int]:
        """The rules whose worst effect on a lubricant this is, a refusal or care."""
        return [rule for rule, worst in enumerate(self._effects[index]) if worst == effect]
