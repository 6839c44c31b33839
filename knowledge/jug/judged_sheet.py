"""One jug under every rule for a box: all that it may hold, judged as one."""

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from math import fsum, inf
from operator import attrgetter
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from knowledge.box.circumstances import knows_nothing
from knowledge.fluids.data_sheet import Sheet
from knowledge.judging.column_rule import CAUTIONS, EXCLUDES, NO_DATA, SUPPORTS
from knowledge.judging.explain import (
    Note,
    explain,
    explain_briefly,
    gravest,
    note,
    outcome_shown,
    said_alike,
    severity_of,
    share_of,
)
from knowledge.judging.judgement import Judgement
from knowledge.judging.rules import RULES
from knowledge.judging.rules.rings import lined_rings_burn_under_thick_gear_oil, lined_rings_take_dedicated_fluid
from knowledge.jug.rules.label import NO_CONTRADICTION, dual_label_counts_as_gl_5, label_findings
from knowledge.lubricant import Lubricant
from knowledge.parts.lubricant_name import Verdict
from knowledge.parts.provenance import Finding
from knowledge.text import Said, as_condition, first_sentence, in_a_row, listed, plain, reworded, said_of

NAMED_AT_MOST = 4
OF_THE_LIKELIEST = Said("It fits what this box most likely is.", "fits-the-likeliest-box")
TOO_OPEN = Said("Too little is known of it to judge it beside so many others.", "jug-too-open")
BOX_TOO_OPEN = Said(
    "So much of the box is open that this jug is not judged yet: answer what is asked first.", "box-too-open"
)
FOR_SOME_OILS = Said("Only for some of the oils that it may be.", "only-for-some-oils")
SOME_OTHERS = Said("Some others that it may be come to the same.", "some-others-come-to-the-same")
NO_SUCH_JUG = Said("Nothing that is known here can be this jug.", "no-such-jug")
NOTHING_AGAINST = Said("Nothing is against it.", "nothing-against-the-jug")
EVERY_RULE = range(len(RULES))

# Of an oil that both refuse they say the same.
BURNS_A_LINING = RULES.index(lined_rings_burn_under_thick_gear_oil)
UNFIT_FOR_A_LINING = RULES.index(lined_rings_take_dedicated_fluid)


class Folded(NamedTuple):
    """The worst that a rule finds of what a jug may hold, of which that is shown, which it is about, what is alike."""

    shown: int
    worst: Note
    about: Sequence[int]
    alike: Sequence[tuple[Sequence[int], Note]] = ()


@dataclass(frozen=True, eq=False)
class JudgedSheet:
    """The lubricants that a jug may hold, by their places in a judgement; `of_box` is that of the classes."""

    sheet: Sheet
    judgement: Judgement
    places: tuple[int, ...]
    is_left_out: bool
    of_box: Judgement

    @property
    def lubricants(self) -> tuple[Lubricant, ...]:
        """What the jug may hold."""
        return tuple(self.judgement.lubricants[place] for place in self.places)

    @cached_property
    def _effects(self) -> NDArray[np.int8]:
        return self.judgement.judged.worst[:, list(self.places)]

    def effects(self, rule: int) -> Mapping[int, int]:
        """The worst effect of a rule on each lubricant, by place; 0 excludes."""
        if rule not in self._by_place:
            self._by_place[rule] = dict(zip(self.places, self._effects[rule].tolist(), strict=True))
        return self._by_place[rule]

    @cached_property
    def _by_place(self) -> dict[int, dict[int, int]]:
        return {}

    def _refused_by(self, rule: int) -> set[int]:
        return {place for place, effect in self.effects(rule).items() if effect == EXCLUDES}

    def worst(self, rule: int) -> int:
        """The worst effect of a rule on anything that it may hold."""
        return self._worst[rule]

    @cached_property
    def _worst(self) -> list[int]:
        worst: list[int] = self._effects.min(axis=1).tolist()
        return worst

    @cached_property
    def refusing(self) -> Mapping[int, Sequence[int]]:
        """The rules that refuse each lubricant in every case, by place."""
        rows = self.judgement.refused_everywhere[:, list(self.places)].T
        return {place: np.nonzero(row)[0].tolist() for place, row in zip(self.places, rows, strict=True)}

    @cached_property
    def verdict(self) -> Verdict:
        """Refused whatever it holds and in every case, refused in none, or neither; open where a rule lacks data.

        What fits and is not what its label says fits with care: the seller has to explain it.
        """
        verdicts = {self.judgement.verdict(place) for place in self.places}
        if verdicts == {"does-not-fit"}:
            return "does-not-fit"
        if not verdicts or not verdicts <= {"fits", "fits-with-care"}:
            return "depends"
        if (self._effects == NO_DATA).any():
            return "depends"
        is_sound = verdicts == {"fits"} and not self.contradiction and not self.stiff
        return "fits" if is_sound else "fits-with-care"

    @cached_property
    def stiff(self) -> str | None:
        """That the trade does not put up with it at a stated start, though it does with what leads; None elsewhere."""
        start_c, leader, lubricants = self.of_box.question.coldest_start_c, self.of_box.leader, self.lubricants
        if start_c is None or leader is None or any(map(self.judgement.is_asked_for, self.places)):
            return None
        most_c = min((one.tolerated_to_c for one in lubricants), default=start_c)
        if most_c <= max(start_c, self.of_box.lubricants[leader].tolerated_to_c):
            return None
        text = f"Stiff at {plain(start_c)} °C: the trade puts up with it to about {plain(most_c)} °C."
        return Said(text, "stiff-at-the-start", coldest_start_c=start_c, tolerated_to_c=most_c)

    @property
    def care(self) -> Iterator[str]:
        """What cautions or excludes, the weightiest first; what has to be so for it to bite stands before it."""
        rules = [rule for rule in EVERY_RULE if self.places and self.worst(rule) in (EXCLUDES, CAUTIONS)]
        unfit = self._refused_by(UNFIT_FOR_A_LINING) if UNFIT_FOR_A_LINING in rules else set()
        if unfit and unfit <= self._refused_by(BURNS_A_LINING):
            rules.remove(UNFIT_FOR_A_LINING)
        told = (rule for rule in sorted(rules, key=self._weight) if not self._is_rare(rule))
        for rule in told:
            folded = self._folded(rule)
            yield self._in_short(folded, folded.worst.text)
        yield from filter(None, (self.stiff, self.contradiction and self.contradiction.text))

    @cached_property
    def label_findings(self) -> tuple[Finding, ...]:
        """What is found of its label and its data sheet, whatever the box."""
        return tuple(label_findings(self.sheet))

    @cached_property
    def doubts(self) -> tuple[Finding, ...]:
        """Where its sheet contradicts its label or itself, or its copper strip proves nothing."""
        return tuple(
            one
            for one in self.label_findings
            if one.effect == "cautions" and one.severity != "note" and one.rule != dual_label_counts_as_gl_5.id
        )

    @property
    def contradiction(self) -> Finding | None:
        """The first of these that makes its label or its sheet false."""
        return next((one for one in self.doubts if one.rule not in NO_CONTRADICTION), None)

    @cached_property
    def because(self) -> str:
        """The weightiest reason against it, in its first sentence, and for which kinds of oil it holds."""
        if self.is_left_out:
            return TOO_OPEN if self.of_box.count == 1 else BOX_TOO_OPEN
        if not self.places:
            return NO_SUCH_JUG
        rule = self._weightiest
        if rule is None:
            doubt = first_sentence(self.doubts[0].text) if self.doubts else None
            return doubt or self.stiff or NOTHING_AGAINST
        folded = self._folded(rule)
        reason = self._in_short(folded, first_sentence(folded.worst.text))
        return in_a_row((OF_THE_LIKELIEST, reason)) if self.suits_the_likeliest else reason

    @cached_property
    def suits_the_likeliest(self) -> bool:
        """Whether it is what would be filled at the likeliest of a box of which much is open."""
        of_box = self.of_box
        if self.verdict != "depends" or not self.places or knows_nothing(of_box.question):
            return False
        leading = () if of_box.leader is None else (of_box.leader, *of_box.alike)
        return {one.id for one in self.lubricants} <= {of_box.lubricants[place].id for place in leading}

    @property
    def findings(self) -> tuple[Finding, ...]:
        """What each rule finds of all that it may hold: the worst is shown, and figures span everything."""
        return tuple([self._finding(rule) for rule in EVERY_RULE]) if self.places else ()

    @cached_property
    def _folds(self) -> dict[int, Folded]:
        return {}

    @cached_property
    def _of_rules(self) -> dict[int, int]:
        return {}

    @property
    def held_against(self) -> tuple[Finding, ...]:
        """Those of the rules that are concerned and do not speak for it, without figures and limits."""
        rules = EVERY_RULE if self.places else ()
        against = (rule for rule in rules if self.worst(rule) != SUPPORTS and self._is_concerned(rule))
        return tuple([self._finding(rule, is_brief=True) for rule in against])

    def concerned_beside(self, other: Judgement) -> Iterator[int]:
        """The rules that are concerned, but for those that are in another judgement."""
        rules = EVERY_RULE if self.places else ()
        return (rule for rule in rules if rule not in other.concerned and self._is_concerned(rule))

    def _is_concerned(self, rule: int) -> bool:
        return outcome_shown(self.judgement.judged, rule, self._shown(rule)).is_concerned

    def _folded(self, rule: int) -> Folded:
        if rule not in self._folds:
            self._folds[rule] = self._fold(rule)
        return self._folds[rule]

    def _fold(self, rule: int) -> Folded:
        judged, oils, shown = self.judgement.judged, self.judgement.lubricants, self._shown(rule)
        worst = note(judged, rule, shown)
        of_worst = _reason(worst.text, oils[shown])
        alike: dict[object, list[int]] = {}
        for place in self._meant(rule):
            alike.setdefault(said_alike(judged, rule, place), []).append(place)
        reasons: dict[str, list[int]] = {}
        for places in alike.values():
            text = note(judged, rule, places[0]).text
            reason = of_worst if text == worst.text else _reason(text, oils[places[0]])
            reasons.setdefault(reason, []).extend(places)
        about = reasons.pop(next(reason for reason, places in reasons.items() if shown in places))
        return Folded(shown, worst, about, [(places, note(judged, rule, places[0])) for places in reasons.values()])

    def _meant(self, rule: int) -> list[int]:
        """The places on which a rule has its worst effect."""
        worst = self.worst(rule)
        return [place for place, effect in self.effects(rule).items() if effect == worst]

    def _shown(self, rule: int) -> int:
        """Of these the one whose finding is the gravest, then the one with the least margin."""
        if rule not in self._of_rules:
            self._of_rules[rule] = gravest(self.judgement.judged, rule, self._meant(rule))
        return self._of_rules[rule]

    def _share(self, rule: int) -> float:
        """In which share of the cases, and of what it may hold, a rule has its worst effect."""
        shares = [share_of(self.judgement.judged, rule, place) for place in self._meant(rule)]
        return fsum(shares) / len(self.places)

    def _is_rare(self, rule: int) -> bool:
        """Whether a rule has its worst effect in so few cases only that they change no verdict."""
        return self.verdict != "depends" and self._share(rule) <= self.judgement.ranking.rare

    @cached_property
    def _weightiest(self) -> int | None:
        """The rule that weighs most; None where none weighs more than those that speak for it."""
        rules = [rule for rule in EVERY_RULE if self.worst(rule) != SUPPORTS]
        if not rules:
            return None
        rule = min(rules, key=self._weight)
        return None if self._is_rare(rule) and len(rules) < len(EVERY_RULE) else rule

    def _weight(self, rule: int) -> tuple[bool, int, float, int]:
        """How heavily a rule weighs, less is heavier: its worst effect, then how often it has it, then its severity.

        What it finds in rare cases only weighs least.

        Of what calls for care a strip that was given comes first: it is why the jug may go in at all.
        """
        worst = self.worst(rule)
        if worst == CAUTIONS and RULES[rule].settled_by == "copper_strip" and self.sheet.copper_strip_proves:
            return False, worst, -inf, 0
        grave = severity_of(self.judgement.judged, rule, self._shown(rule))
        return self._is_rare(rule), worst, -self._share(rule), grave

    def _finding(self, rule: int, is_brief: bool = False) -> Finding:
        judged, folded = self.judgement.judged, self._folded(rule)
        found = (
            explain_briefly(judged, rule, folded.shown)
            if is_brief
            else explain(judged, rule, folded.shown, self.places)
        )
        if len(self.places) == 1:
            return found
        margin = judged.least_margin(rule, self.places)
        return replace(found, margin=margin, only_if=self._only_if(folded), share_of_worlds=self._share(rule))

    def _in_short(self, folded: Folded, text: str) -> str:
        """A text after what has to be so for it: which of the lubricants it is, and what of the box is not known."""
        condition = folded.worst.only_if
        if len(folded.about) == len(self.places):
            return as_condition(text, condition)
        if not (names := self._named(folded.about)):
            text = reworded(text, f"{text} That holds for some of what it may be.", only_for_some=True)
            return as_condition(text, condition)
        if condition and not condition.startswith("Only if "):
            text, condition = reworded(text, f"{text} {condition}", said_of(condition), of_box=condition), None
        of_box = f" and {condition.removeprefix('Only if ')}" if condition else "."
        parts = said_of(condition) if condition else ()
        return as_condition(text, Said(f"Only if it is {names}{of_box}", "only-if-it-is", parts, oils=names))

    def _only_if(self, folded: Folded) -> str | None:
        """What a text is about, where that is not all that the jug may hold, and what of the rest comes to the same."""
        if len(folded.about) == len(self.places):
            return folded.worst.only_if
        names = self._named(folded.about)
        of_oils = Said(f"Only if it is {names}.", "only-if-it-is", oils=names) if names else FOR_SOME_OILS
        told = [of_oils, *([folded.worst.only_if] if folded.worst.only_if else [])]
        named = {names: one.in_full for places, one in folded.alike if (names := self._named(places))}
        told += [
            Said(f"If it is {names}: {text}", "if-it-is", said_of(text), oils=names) for names, text in named.items()
        ]
        return in_a_row(told if len(named) == len(folded.alike) else [*told, SOME_OTHERS])

    def _named(self, places: Sequence[int]) -> str | None:
        """These in few words: whole families, or a few names; None where that is not short."""
        rows, meant = self.judgement.lubricants, set(places)
        rest = [place for place in self.places if place not in meant]
        for name in (attrgetter("family.label"), attrgetter("name")):
            different = dict.fromkeys(name(rows[place]) for place in places)
            if len(different) <= NAMED_AT_MOST and not any(name(rows[place]) in different for place in rest):
                return listed(different, "or")
        return None


def _reason(text: str, lubricant: Lubricant) -> str:
    """What a text comes to whatever its figures are and whichever lubricant it names."""
    return re.sub(r"-?\d+(\.\d+)?", "0", text.removeprefix("At worst: ").replace(lubricant.family.label, "")).lower()
