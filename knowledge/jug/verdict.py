"""One jug, several oils it may hold: their verdicts and findings folded into one."""

import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from typing import NamedTuple

from knowledge.base import KnowledgeBase
from knowledge.box.worlds import Worlds
from knowledge.judging.judged import Judged
from knowledge.judging.rank import facings_in, is_for_a_clutch
from knowledge.judging.rules import RULES
from knowledge.jug.judged_jug import WouldDecide
from knowledge.jug.rules.label import WINDOW_RULES
from knowledge.lubricant import Lubricant
from knowledge.parts.jug import Jug
from knowledge.parts.lubricant_name import Limits, Verdict
from knowledge.parts.provenance import EFFECTS_FROM_WORST, SEVERITIES_FROM_WORST, Figure, Finding, weakest
from knowledge.rule import Rule
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


class Heard(NamedTuple):
    """A jug under every rule: its verdict, and what each rule says of it."""

    judged: tuple[Judged, ...]
    verdict: Verdict
    findings: tuple[Finding, ...]


def hear(jug: Jug, judged: tuple[Judged, ...], asked_for: Limits, worlds: Worlds) -> Heard:
    """The oils that a jug may hold as one jug; what lies beside what is asked for fits with care at best."""
    verdict, findings = _folded_verdict(judged, worlds), _folded_findings(judged)
    for rule in WINDOW_RULES:
        said = rule.judge(
            kv100_mm2_s=jug.kv100_mm2_s,
            kv100_sheared_mm2_s=jug.kv100_sheared_mm2_s,
            least_kv100_mm2_s=asked_for.min,
            most_kv100_mm2_s=asked_for.max,
        )
        if said.is_concerned and verdict != "does-not-fit":
            findings += (rule.finding(said, ("/kv100_mm2_s",)),)
            verdict = "fits-with-care" if verdict == "fits" and said.effect == "cautions" else verdict
    return Heard(judged, verdict, findings)


def because(heard: Heard) -> str:
    """The weightiest of what speaks against a jug, in its first sentence."""
    if not heard.judged:
        return "Nothing that is known here can be this jug."
    against = [finding for finding in heard.findings if finding.effect != "supports"]
    if not against:
        return "Nothing speaks against it."
    worst = min(
        against,
        key=lambda item: (
            EFFECTS_FROM_WORST.index(item.effect),
            -item.share_of_worlds,
            SEVERITIES_FROM_WORST.index(item.severity),
        ),
    )
    return f"{worst.text.partition('. ')[0].removesuffix('.')}."


def _folded_verdict(judged: Sequence[Judged], worlds: Worlds) -> Verdict:
    """Refused whatever it holds and in every world, refused in none, or neither; open where a rule cannot judge it."""
    verdicts = {item.verdict(worlds.every) for item in judged}
    if verdicts == {"does-not-fit"}:
        return "does-not-fit"
    is_open = any(finding.effect == "no-data" for item in judged for finding in item.findings)
    if is_open or not verdicts or not verdicts <= {"fits", "fits-with-care"}:
        return "depends"
    return "fits" if verdicts == {"fits"} else "fits-with-care"


def _folded_findings(judged: Sequence[Judged]) -> tuple[Finding, ...]:
    """What each rule says of the oils it may hold, the worst shown; figures span all of them."""
    return tuple(_folded(findings, judged) for findings in zip(*(item.findings for item in judged), strict=True))


def _folded(findings: Sequence[Finding], judged: Sequence[Judged]) -> Finding:
    first = findings[0]
    if all(finding is first for finding in findings):
        return first
    effect = min((finding.effect for finding in findings), key=EFFECTS_FROM_WORST.index)
    told = [index for index, finding in enumerate(findings) if finding.effect == effect]
    shown = min(told, key=lambda index: _how_bad(findings[index]))
    worst = findings[shown]
    reasons = {index: _reason(findings[index], judged[index].oil) for index in told}
    alike = [index for index in told if reasons[index] == reasons[shown]]
    margins = [finding.margin for finding in findings if finding.margin is not None]
    return replace(
        worst,
        figures=tuple(spanned_figures(findings)),
        margin=min(margins, default=None),
        only_if=worst.only_if if len(alike) == len(findings) else _only_if(alike, told, findings, judged),
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


def _only_if(alike: Sequence[int], told: Sequence[int], findings: Sequence[Finding], judged: Sequence[Judged]) -> str:
    """Which of the oils a text is about, and what is said of the others that come to the same."""
    names = _named(alike, judged)
    text = f"Only if it is {names}." if names else "Only for some of the oils that it may be."
    if also := findings[alike[0]].only_if:
        text += f" {also}"
    others: dict[str, list[int]] = {}
    for index in told:
        if index not in alike:
            others.setdefault(_reason(findings[index], judged[index].oil), []).append(index)
    named = {names: meant for meant in others.values() if (names := _named(meant, judged))}
    for names, meant in named.items():
        text += f" If it is {names}: {findings[meant[0]].in_full}"
    return text if len(named) == len(others) else f"{text} Some others that it may be come to the same."


def _named(meant: Sequence[int], judged: Sequence[Judged]) -> str | None:
    """These oils as short as they can be said: whole families, or a few names; None where that is not short."""
    oils = [judged[index].oil for index in meant]
    others = [item.oil for index, item in enumerate(judged) if index not in meant]
    for names, other_names in (
        ([oil.family.label for oil in oils], {oil.family.label for oil in others}),
        ([oil.name for oil in oils], {oil.name for oil in others}),
    ):
        different = list(dict.fromkeys(names))
        if len(different) <= NAMED_AT_MOST and other_names.isdisjoint(different):
            return listed(different, "or")
    return None


def would_decide(jug: Jug, heard: Heard, base: KnowledgeBase) -> tuple[WouldDecide, ...]:
    """The missing lines of the data sheet that can change the verdict: those that settle the rules which made it."""
    judged, verdict = heard.judged, heard.verdict
    if not judged:
        return tuple(_asked(line, base) for line in ("kv100_mm2_s", "kv40_mm2_s") if getattr(jug, line) is None)
    by_rule = tuple(zip(RULES, zip(*(item.findings for item in judged), strict=True), strict=True))
    if verdict == "fits":
        lines = set()
    elif verdict == "fits-with-care":
        is_beside_window = any(finding.effect == "cautions" for finding in heard.findings[len(RULES) :])
        lines = _lines_beneath_care(by_rule, jug, is_beside_window=is_beside_window)
    else:
        lines = _lines_beneath_refusal(by_rule, judged, jug)
    return tuple(_asked(line, base) for line in ASK if line in lines)


ByRule = Sequence[tuple[Rule, Sequence[Finding]]]


def _lines_beneath_care(by_rule: ByRule, jug: Jug, *, is_beside_window: bool) -> set[str]:
    """Where a limit that refuses runs through what the jug may be; or all lines, where they can lift every caution."""
    cautioned = [
        (rule, told)
        for rule, findings in by_rule
        if (told := [finding for finding in findings if finding.effect == "cautions"])
    ]
    lines = {rule: _missing_line(rule, told, jug) for rule, told in cautioned}
    if None not in lines.values() and not is_beside_window:
        return set(lines.values())
    return {
        lines[rule]
        for rule, told in cautioned
        if lines[rule] and rule.sets_margin and any((finding.margin or 1) < 1 for finding in told)
    }


def _lines_beneath_refusal(by_rule: ByRule, judged: Sequence[Judged], jug: Jug) -> set[str]:
    """What can lift the refusals; nothing, where a rule refuses for good whatever the missing lines say."""
    for_good = [(rule, findings) for rule, findings in by_rule if all(map(_refuses_everywhere, findings))]
    if for_good and not all(_missing_line(rule, findings, jug) for rule, findings in for_good):
        return set()
    lines = set()
    for rule, findings in for_good or by_rule:
        if told := [finding for finding in findings if finding.effect in ("excludes", "no-data")]:
            lines.add(_missing_line(rule, told, jug))
            if len(told) < len(findings) and _families_differ(findings, judged):
                lines.add("label/family")
            if not (jug.label and jug.label.grade) and _named_differs(findings, judged):
                lines.add("label/grade")
    return lines - {None}


def _families_differ(findings: Sequence[Finding], judged: Sequence[Judged]) -> bool:
    """Whether a rule speaks otherwise of one family that the jug may hold than of another."""
    effects: dict[str, set[str]] = {}
    for finding, item in zip(findings, judged, strict=True):
        effects.setdefault(item.oil.family.id, set()).add(finding.effect)
    return len({frozenset(found) for found in effects.values()}) > 1


def _named_differs(findings: Sequence[Finding], judged: Sequence[Judged]) -> bool:
    """Whether a rule speaks otherwise of what the service data names than of all else that the jug may hold."""
    of_named, of_others = (
        {finding.effect for finding, item in zip(findings, judged, strict=True) if item.is_asked_for == is_named}
        for is_named in (True, False)
    )
    return bool(of_named) and bool(of_others) and of_named.isdisjoint(of_others)


def _refuses_everywhere(finding: Finding) -> bool:
    return finding.effect == "excludes" and finding.share_of_worlds == 1


def _missing_line(rule: Rule, told: Sequence[Finding], jug: Jug) -> str | None:
    """The line that settles a rule, where the jug lacks it; where one viscosity is known, the other one."""
    line = rule.settled_by
    if line in ("kv100_mm2_s", "kv40_mm2_s"):
        if all(finding.effect == "excludes" and finding.margin is None for finding in told):
            return None
        if getattr(jug, line) is None or any(finding.effect == "excludes" for finding in told):
            return line if getattr(jug, line) is None else None
        return next((name for name in ("kv40_mm2_s", "kv100_mm2_s") if getattr(jug, name) is None), None)
    if line == "label/family":
        return line if jug.label is None or jug.label.family is None else None
    if line == "limited_slip" and jug.label and jug.label.family:
        return None
    return line if line and getattr(jug, line) is None else None


def _asked(line: str, base: KnowledgeBase) -> WouldDecide:
    return WouldDecide(pointer=f"/{line}", ask=ASK[line].format(flow_limit=grouped(base.limit("flow-limit-mpa-s"))))


def ranks(of_jugs: Sequence[Heard], worlds: Worlds) -> tuple[int | None, ...]:
    """The place of each jug among those that may serve, best first, as the classes are ordered."""
    order = sorted(
        (_order(heard.judged, heard.verdict, worlds), index)
        for index, heard in enumerate(of_jugs)
        if heard.judged and heard.verdict != "does-not-fit"
    )
    places = {index: place for place, (_, index) in enumerate(order, start=1)}
    return tuple(places.get(index) for index in range(len(of_jugs)))


def _order(judged: Sequence[Judged], verdict: Verdict, worlds: Worlds) -> tuple:
    base = worlds.base
    facings = facings_in(worlds.every, worlds)
    return (
        not all(item.is_asked_for for item in judged) or verdict == "depends",
        verdict == "depends",
        any(item.warned for item in judged),
        not all(item.is_as_thick_as_asked_for for item in judged),
        verdict != "fits",
        -sum(item.serves.bit_count() for item in judged) / len(judged) if verdict == "depends" else 0,
        is_for_a_clutch(worlds.every, worlds) and not all(item.oil.family.suits_wet_clutch for item in judged),
        max(base.fitness[facing, item.oil.family.id] for facing in facings for item in judged),
        -min(item.margin(worlds.every) for item in judged),
    )
