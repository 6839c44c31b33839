"""The missing lines of a data sheet that can change the verdict on a jug."""

from collections.abc import Collection, Mapping
from functools import lru_cache

from knowledge.base import KnowledgeBase
from knowledge.judging.column_rule import CAUTIONS, EXCLUDES, NO_DATA
from knowledge.judging.rules import RULES
from knowledge.jug.answer import WouldDecide
from knowledge.jug.judged_sheet import EVERY_RULE, JudgedSheet
from knowledge.text import grouped

ASK: Mapping[str, str] = {
    "label/family": "The API category or the kind of fluid.",
    "label/grade": "The grade, as the service data gives one.",
    "kv100_mm2_s": "Kinematic viscosity at 100 °C (KV100), in mm²/s.",
    "kv40_mm2_s": "Kinematic viscosity at 40 °C (KV40), in mm²/s.",
    "t150_c": "Cold viscosity (ASTM D2983): the temperature at which it reaches {flow_limit} mPa·s.",
    "copper_strip": "Copper strip (ASTM D130): rating, temperature and hours.",
    "limited_slip": "Whether it holds a limited-slip friction modifier.",
}


def would_decide(sheet: JudgedSheet) -> tuple[WouldDecide, ...]:
    """The missing lines that settle the rules which made the verdict."""
    jug, base = sheet.sheet.jug, sheet.sheet.base
    if sheet.is_left_out:
        label = jug.label
        known = {"label/family": label and label.family, "label/grade": label and label.grade}
        lines = {line for line, value in known.items() if not value}
    elif not sheet.places:
        lines = {line for line in ("kv100_mm2_s", "kv40_mm2_s") if getattr(jug, line) is None}
    elif sheet.verdict == "fits":
        lines = set()
    else:
        lines = _lines_beneath_care(sheet) if sheet.verdict == "fits-with-care" else _lines_beneath_refusal(sheet)
    return tuple([_line(line, base) for line in ASK if line in lines])


@lru_cache(maxsize=64)
def _line(line: str, base: KnowledgeBase) -> WouldDecide:
    flow_limit = grouped(base.limit("flow-limit-mpa-s"))
    return WouldDecide(pointer=f"/{line}", ask=ASK[line].format(flow_limit=flow_limit))


def _with(effects: Collection[int], rule: int, sheet: JudgedSheet) -> list[int]:
    """The places of the lubricants on which a rule has one of some effects, all of them less than its support."""
    if sheet.worst(rule) > max(effects):
        return []
    return [place for place, effect in sheet.effects(rule).items() if effect in effects]


def _lines_beneath_care(sheet: JudgedSheet) -> set[str]:
    """Where a limit that refuses runs through what the jug may be; or all lines, where they can lift every caution."""
    cautioned = {rule: places for rule in EVERY_RULE if (places := _with({CAUTIONS}, rule, sheet))}
    lines = {rule: _missing_line(rule, places, sheet) for rule, places in cautioned.items()}
    if None not in lines.values() and not sheet.contradiction:
        return {line for line in lines.values() if line}
    return {
        line
        for rule, places in cautioned.items()
        if (line := lines[rule])
        and not (line == "kv40_mm2_s" and sheet.sheet.kv100_mm2_s is not None)
        and any(_may_refuse(rule, at, sheet) and (_margin(rule, at, sheet) or 1) < 1 for at in places)
    }


def _may_refuse(rule: int, place: int, sheet: JudgedSheet) -> bool:
    """Whether a rule can refuse a lubricant: some only warn, and some only warn of what the service data names."""
    judged = sheet.judgement.judged
    return EXCLUDES in judged.outcomes.of_rules[rule].effects and not judged.is_softened(rule, place)


def _lines_beneath_refusal(sheet: JudgedSheet) -> set[str]:
    """What can lift the refusals; nothing, where each lubricant is refused whatever the missing lines say."""
    if not any(_can_serve(place, sheet) for place in sheet.places):
        return set()
    label = sheet.sheet.jug.label
    of_first, *of_others = sheet.refusing.values()
    for_good = [rule for rule in of_first if all(rule in rules for rules in of_others)]
    if for_good and not all(_missing_line(rule, sheet.places, sheet) for rule in for_good):
        return set()
    lines: set[str | None] = set()
    for rule in for_good or EVERY_RULE:
        if places := _with({EXCLUDES, NO_DATA}, rule, sheet):
            lines.add(_missing_line(rule, places, sheet))
            if len(places) < len(sheet.places) and _families_differ(rule, sheet):
                lines.add("label/family")
            if not (label and label.grade) and _named_differs(rule, sheet):
                lines.add("label/grade")
    return {line for line in lines if line}


def _families_differ(rule: int, sheet: JudgedSheet) -> bool:
    """Whether a rule judges one family that the jug may hold otherwise than another."""
    effects: dict[str, set[int]] = {}
    for place, effect in sheet.effects(rule).items():
        effects.setdefault(sheet.judgement.lubricants[place].family.id, set()).add(effect)
    return len({frozenset(found) for found in effects.values()}) > 1


def _named_differs(rule: int, sheet: JudgedSheet) -> bool:
    """Whether what the service data names can serve, and a rule judges it otherwise than all else in question."""
    if not any(_can_serve(place, sheet) for place in sheet.places if sheet.judgement.is_asked_for(place)):
        return False
    found: dict[bool, set[int]] = {True: set(), False: set()}
    for place, effect in sheet.effects(rule).items():
        found[sheet.judgement.is_asked_for(place)].add(effect)
    return bool(found[True] and found[False]) and found[True].isdisjoint(found[False])


def _can_serve(place: int, sheet: JudgedSheet) -> bool:
    """Whether nothing refuses a lubricant in every case but what a missing line may lift."""
    return all(_missing_line(rule, (place,), sheet) for rule in sheet.refusing[place])


def _missing_line(rule: int, places: Collection[int], sheet: JudgedSheet) -> str | None:
    """The line that settles a rule, where the jug lacks it; where one viscosity is known, the other one."""
    line, jug = RULES[rule].settled_by, sheet.sheet.jug
    family = jug.label.family if jug.label else None
    if line == "label/family":
        return None if family else line
    if line is None or (line == "limited_slip" and family):
        return None
    is_missing = getattr(jug, line) is None
    if line == "copper_strip":
        return line if is_missing or sheet.sheet.copper_strip_is_open else None
    if line not in ("kv100_mm2_s", "kv40_mm2_s"):
        return line if is_missing else None
    refused = _with({EXCLUDES}, rule, sheet)
    is_of_grade = is_missing and sheet.sheet.grade is not None and sheet.sheet.grade.summer is not None
    if all(place in refused and (is_of_grade or _margin(rule, place, sheet) is None) for place in places):
        return None
    if is_missing or any(place in refused for place in places):
        return line if is_missing else None
    return next((name for name in ("kv40_mm2_s", "kv100_mm2_s") if getattr(jug, name) is None), None)


def _margin(rule: int, place: int, sheet: JudgedSheet) -> float | None:
    return sheet.judgement.judged.margin(rule, place)
