"""One jug, several oils it may hold: their verdicts and findings folded into one."""

import re
from collections.abc import Collection, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

from knowledge.base import KnowledgeBase
from knowledge.judging.judgement import Judgement
from knowledge.judging.rules import RULES
from knowledge.jug.judged_jug import WouldDecide
from knowledge.jug.possible_oil import PossibleOil
from knowledge.jug.rules.label import WINDOW_RULES
from knowledge.lubricant import Lubricant
from knowledge.parts.jug import Jug
from knowledge.parts.lubricant_name import Limits, Verdict
from knowledge.parts.provenance import EFFECTS_FROM_WORST, SEVERITIES_FROM_WORST, Effect, Figure, Finding, weakest
from knowledge.text import grouped, listed

NAMED_AT_MOST = 4

ASK = {
    "label/family": "The API category or the kind of fluid.",
    "label/grade": "The grade, as the service data gives one.",
    "kv100_mm2_s": "Kinematic viscosity at 100 °C (KV100), in mm²/s.",
    "kv40_mm2_s": "Kinematic viscosity at 40 °C (KV40), in mm²/s.",
    "t150_c": "Cold viscosity (ASTM D2983): the temperature at which it reaches {flow_limit} mPa·s.",
    "copper_strip": "Copper strip (ASTM D130): rating, temperature and hours.",
    "limited_slip": "Whether it holds a limited-slip friction modifier.",
}


@dataclass(frozen=True, eq=False)
class JudgedSheet:
    """A jug under every rule: the oils that it may hold as one, and what is found of it beside what is asked for."""

    jug: Jug
    oils: tuple[PossibleOil, ...]
    beside_window: tuple[Finding, ...]

    @cached_property
    def verdict(self) -> Verdict:
        """What lies beside what is asked for fits with care at best."""
        verdict = _folded_verdict(self.oils)
        is_beside = any(finding.effect == "cautions" for finding in self.beside_window)
        return "fits-with-care" if verdict == "fits" and is_beside else verdict

    def effect(self, rule: int) -> Effect:
        """The worst effect of a rule on the oils that it may hold."""
        return min((item.effect(rule) for item in self.oils), key=EFFECTS_FROM_WORST.index)

    @cached_property
    def findings(self) -> tuple[Finding, ...]:
        """What each rule finds of the oils it may hold, the worst shown; figures span all of them."""
        of_rules = tuple(_folded(rule, self.oils) for rule in range(len(RULES))) if self.oils else ()
        return of_rules + (() if self.verdict == "does-not-fit" else self.beside_window)


def judge_sheet(jug: Jug, oils: tuple[PossibleOil, ...], asked_for: Limits) -> JudgedSheet:
    """The oils that a jug may hold as one jug, held against the KV100 that is asked for."""
    found = []
    for rule in WINDOW_RULES:
        outcome = rule.judge(
            kv100_mm2_s=jug.kv100_mm2_s,
            kv100_sheared_mm2_s=jug.kv100_sheared_mm2_s,
            least_kv100_mm2_s=asked_for.min,
            most_kv100_mm2_s=asked_for.max,
        )
        if outcome.is_concerned:
            found.append(rule.finding(outcome, ("/kv100_mm2_s",)))
    return JudgedSheet(jug, oils, tuple(found))


def _folded_verdict(oils: Sequence[PossibleOil]) -> Verdict:
    """Refused whatever it holds and in every case, refused in none, or neither; open where a rule cannot judge it."""
    verdicts = {item.verdict for item in oils}
    if verdicts == {"does-not-fit"}:
        return "does-not-fit"
    is_open = any(item.effect(rule) == "no-data" for item in oils for rule in range(len(RULES)))
    if is_open or not verdicts or not verdicts <= {"fits", "fits-with-care"}:
        return "depends"
    return "fits" if verdicts == {"fits"} else "fits-with-care"


def _folded(rule: int, oils: Sequence[PossibleOil]) -> Finding:
    """What a rule finds of several oils: the worst is shown, with the oils that it is about."""
    if len(oils) == 1:
        return oils[0].finding(rule)
    findings = [item.finding(rule) for item in oils]
    first = findings[0]
    if all(finding == first for finding in findings):
        return first
    effect = min((finding.effect for finding in findings), key=EFFECTS_FROM_WORST.index)
    told = [index for index, finding in enumerate(findings) if finding.effect == effect]
    shown = min(told, key=lambda index: _how_bad(findings[index]))
    worst = findings[shown]
    reasons = {index: _reason(findings[index], oils[index].oil) for index in told}
    alike = [index for index in told if reasons[index] == reasons[shown]]
    margins = [finding.margin for finding in findings if finding.margin is not None]
    return replace(
        worst,
        figures=tuple(spanned_figures(findings)),
        margin=min(margins, default=None),
        only_if=worst.only_if if len(alike) == len(findings) else _only_if(alike, told, findings, oils),
        share_of_worlds=sum(findings[index].share_of_worlds for index in told) / len(findings),
    )


def _reason(finding: Finding, oil: Lubricant) -> str:
    """What it says whatever its figures are and whichever oil it names."""
    text = finding.text.removeprefix("At worst: ").replace(oil.family.label, "")
    return re.sub(r"\d+(\.\d+)?", "0", text).lower()


def _how_bad(finding: Finding) -> tuple[int, float]:
    return SEVERITIES_FROM_WORST.index(finding.severity), float("inf") if finding.margin is None else finding.margin


def spanned_figures(findings: Iterable[Finding]) -> Iterator[Figure]:
    """The figures of findings about several oils, each spanning all of them."""
    by_name: dict[str, list[Figure]] = {}
    for finding in findings:
        for figure in finding.figures:
            by_name.setdefault(figure.name, []).append(figure)
    for figures in by_name.values():
        yield replace(
            figures[0],
            min=min(figure.min for figure in figures),
            max=max(figure.max for figure in figures),
            rests_on=weakest(*(figure.rests_on or figure.standing for figure in figures)),
            screening=any(figure.screening for figure in figures),
        )


def _only_if(
    alike: Sequence[int], told: Sequence[int], findings: Sequence[Finding], oils: Sequence[PossibleOil]
) -> str:
    """Which of the oils a text is about, and what is said of the others that come to the same."""
    names = _named(alike, oils)
    text = f"Only if it is {names}." if names else "Only for some of the oils that it may be."
    if also := findings[alike[0]].only_if:
        text += f" {also}"
    others: dict[str, list[int]] = {}
    for index in told:
        if index not in alike:
            others.setdefault(_reason(findings[index], oils[index].oil), []).append(index)
    named = {names: meant for meant in others.values() if (names := _named(meant, oils))}
    for names, meant in named.items():
        text += f" If it is {names}: {findings[meant[0]].in_full}"
    return text if len(named) == len(others) else f"{text} Some others that it may be come to the same."


def _named(meant: Sequence[int], oils: Sequence[PossibleOil]) -> str | None:
    """These oils as short as they can be said: whole families, or a few names; None where that is not short."""
    named = [oils[index].oil for index in meant]
    others = [item.oil for index, item in enumerate(oils) if index not in meant]
    for names, other_names in (
        ([oil.family.label for oil in named], {oil.family.label for oil in others}),
        ([oil.name for oil in named], {oil.name for oil in others}),
    ):
        different = list(dict.fromkeys(names))
        if len(different) <= NAMED_AT_MOST and other_names.isdisjoint(different):
            return listed(different, "or")
    return None


def because(sheet: JudgedSheet) -> str:
    """The weightiest of what speaks against a jug, in its first sentence."""
    if not sheet.oils:
        return "Nothing that is known here can be this jug."
    worst = min((sheet.effect(rule) for rule in range(len(RULES))), key=EFFECTS_FROM_WORST.index)
    beside = () if sheet.verdict == "does-not-fit" else sheet.beside_window
    against = [_folded(rule, sheet.oils) for rule in range(len(RULES)) if sheet.effect(rule) == worst != "supports"]
    if not (against := against or [finding for finding in beside if finding.effect != "supports"]):
        return "Nothing speaks against it."
    weightiest = min(against, key=lambda item: (-item.share_of_worlds, SEVERITIES_FROM_WORST.index(item.severity)))
    return f"{weightiest.text.partition('. ')[0].removesuffix('.')}."


def would_decide(sheet: JudgedSheet, base: KnowledgeBase) -> tuple[WouldDecide, ...]:
    """The missing lines of the data sheet that can change the verdict: those that settle the rules which made it."""
    if not sheet.oils:
        missing = (line for line in ("kv100_mm2_s", "kv40_mm2_s") if getattr(sheet.jug, line) is None)
        return tuple(_asked(line, base) for line in missing)
    if sheet.verdict == "fits":
        return ()
    lines = _lines_beneath_care(sheet) if sheet.verdict == "fits-with-care" else _lines_beneath_refusal(sheet)
    return tuple(_asked(line, base) for line in ASK if line in lines)


def _with(effects: Collection[Effect], rule: int, oils: Sequence[PossibleOil]) -> list[PossibleOil]:
    """The oils on which a rule has one of some effects."""
    return [item for item in oils if item.effect(rule) in effects]


def _lines_beneath_care(sheet: JudgedSheet) -> set[str]:
    """Where a limit that refuses runs through what the jug may be; or all lines, where they can lift every caution."""
    cautioned = {rule: told for rule in range(len(RULES)) if (told := _with({"cautions"}, rule, sheet.oils))}
    lines = {rule: _missing_line(rule, told, sheet.jug) for rule, told in cautioned.items()}
    is_beside_window = any(finding.effect == "cautions" for finding in sheet.beside_window)
    if None not in lines.values() and not is_beside_window:
        return {line for line in lines.values() if line}
    return {
        line
        for rule, told in cautioned.items()
        if (line := lines[rule]) and RULES[rule].sets_margin and any((item.margin(rule) or 1) < 1 for item in told)
    }


def _lines_beneath_refusal(sheet: JudgedSheet) -> set[str]:
    """What can lift the refusals; nothing, where a rule refuses for good whatever the missing lines say."""
    oils, jug = sheet.oils, sheet.jug
    for_good = [rule for rule in range(len(RULES)) if all(_refuses_everywhere(item, rule) for item in oils)]
    if for_good and not all(_missing_line(rule, oils, jug) for rule in for_good):
        return set()
    lines: set[str | None] = set()
    for rule in for_good or range(len(RULES)):
        if told := _with({"excludes", "no-data"}, rule, oils):
            lines.add(_missing_line(rule, told, jug))
            if len(told) < len(oils) and _families_differ(rule, oils):
                lines.add("label/family")
            if not (jug.label and jug.label.grade) and _named_differs(rule, oils):
                lines.add("label/grade")
    return {line for line in lines if line}


def _families_differ(rule: int, oils: Sequence[PossibleOil]) -> bool:
    """Whether a rule judges one family that the jug may hold otherwise than another."""
    effects: dict[str, set[str]] = {}
    for item in oils:
        effects.setdefault(item.oil.family.id, set()).add(item.effect(rule))
    return len({frozenset(found) for found in effects.values()}) > 1


def _named_differs(rule: int, oils: Sequence[PossibleOil]) -> bool:
    """Whether a rule judges what the service data names otherwise than all else that the jug may hold."""
    of_named, of_others = (
        {item.effect(rule) for item in oils if item.is_asked_for == is_named} for is_named in (True, False)
    )
    return bool(of_named) and bool(of_others) and of_named.isdisjoint(of_others)


def _refuses_everywhere(item: PossibleOil, rule: int) -> bool:
    return item.effect(rule) == "excludes" and item.share(rule) == 1


def _missing_line(rule: int, told: Sequence[PossibleOil], jug: Jug) -> str | None:
    """The line that settles a rule, where the jug lacks it; where one viscosity is known, the other one."""
    line = RULES[rule].settled_by
    if line in ("kv100_mm2_s", "kv40_mm2_s"):
        if all(item.effect(rule) == "excludes" and item.margin(rule) is None for item in told):
            return None
        if getattr(jug, line) is None or any(item.effect(rule) == "excludes" for item in told):
            return line if getattr(jug, line) is None else None
        return next((name for name in ("kv40_mm2_s", "kv100_mm2_s") if getattr(jug, name) is None), None)
    if line == "label/family":
        return line if jug.label is None or jug.label.family is None else None
    if line == "limited_slip" and jug.label and jug.label.family:
        return None
    return line if line and getattr(jug, line) is None else None


def _asked(line: str, base: KnowledgeBase) -> WouldDecide:
    return WouldDecide(pointer=f"/{line}", ask=ASK[line].format(flow_limit=grouped(base.limit("flow-limit-mpa-s"))))


def ranks(sheets: Sequence[JudgedSheet], judgement: Judgement) -> tuple[int | None, ...]:
    """The place of each jug among those that may serve, best first, as the classes are ordered."""
    order = sorted(
        (_order(sheet, judgement), index)
        for index, sheet in enumerate(sheets)
        if sheet.oils and sheet.verdict != "does-not-fit"
    )
    places = {index: place for place, (_, index) in enumerate(order, start=1)}
    return tuple(places.get(index) for index in range(len(sheets)))


def _order(sheet: JudgedSheet, judgement: Judgement) -> tuple[float, ...]:
    oils, verdict, ranking = sheet.oils, sheet.verdict, judgement.ranking
    places = [item.index for item in oils]
    share = sum(judgement.share_of_cases(place) for place in places) / len(places)
    return (
        not all(item.is_asked_for for item in oils) or verdict == "depends",
        verdict == "depends",
        bool((judgement.judged.warned_weight[places] > 0).any()),
        not ranking.is_as_thick[places].all(),
        verdict != "fits",
        -share if verdict == "depends" else 0,
        ranking.is_for_a_clutch and not judgement.judged.lubricants.suits_wet_clutch[places].all(),
        int(ranking.fitness[places].max()),
        -float(ranking.margin[places].min()),
    )
