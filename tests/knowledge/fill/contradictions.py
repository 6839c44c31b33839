"""What in one answer contradicts another part of it, or is not fit to be read to a caller.

The measure is the contract of the answer and how people speak; no class of the program is read, only the wire.
"""

import re
from collections.abc import Iterator
from typing import Any

Answer = dict[str, Any]

MOST = {"cautions": 5, "others": 6, "ask_next": 3}
MOST_WORDS, MOST_REPLIES = 40, 6
SERVES = ("fits", "fits-with-care")
PROGRAM_WORDS = re.compile(r"\b(leads|serves|speaks against|so far|as such)\b", re.I)
GRADE = re.compile(r"\b\d{1,2}W\b", re.I)
WAIT = re.compile(r"do not fill|before anything goes in|clear (it|this|that)? ?up", re.I)
IS_CONDITION = re.compile(r"\b(if|unless|where|only|better|worse|other|than|without|beside)\b", re.I)
# How people call a family, without the families whose names hold it.
CALLED = {
    "atf": r"\bATF",
    "mtf": r"\bMTF\b",
    "gl-1": r"\bGL-1\b",
    "gl-3": r"\bGL-3\b",
    "gl-4": r"\bGL-4\b(?!/)",
    "gl-5": r"(?<!/)\bGL-5\b(?! limited)|\baxle oil",
    "gl-4-gl-5": r"\bGL-4/GL-5\b|\bdual\b|\baxle oil",
    "gl-5-limited-slip": r"\blimited[- ]slip\b|\baxle oil",
    "mt-1": r"\bMT-1\b",
    "engine-oil": r"\b(engine|motor) oil",
}


def contradictions(short: Answer, full: Answer) -> Iterator[str]:
    """What is wrong with an answer, from its short and its full form."""
    yield from _where_nothing_leads(short, full) if short["leader"] is None else _where_something_leads(short, full)
    yield from _out_of_shape(short)
    yield from _ill_said(short)
    yield from _jugs(short, full)


def _where_nothing_leads(short: Answer, full: Answer) -> Iterator[str]:
    if short["outcome"] not in ("conflict", "none-suitable"):
        yield f"nothing leads where it is {short['outcome']}"
    yield from (f"{name} where nothing leads" for name in ("others", "window", "safest_if_unanswered") if short[name])
    if not short["way_out"]:
        yield "no way out"
    if GRADE.search(short["summary"]):
        yield f"a grade in the headline: {short['summary']}"
    praised = [one["lubricant"]["id"] for one in full["candidates"] if one["verdict"] == "fits"]
    praised += [jug["name"] for jug in short["jugs"] if jug["verdict"] in SERVES]
    yield from (f"{name} is praised where nothing leads" for name in praised)
    if short["service_data"]["status"] == "agrees":
        yield "the book agrees where nothing leads"


def _where_something_leads(short: Answer, full: Answer) -> Iterator[str]:
    leader, outcome, service = short["leader"], short["outcome"], short["service_data"]
    lubricant, alike = leader["lubricant"], leader["alike"]
    verdicts = {one["lubricant"]["id"]: one["verdict"] for one in full["candidates"]}
    grades = {one["lubricant"]["id"]: one["lubricant"]["grade"] for one in full["candidates"]}
    families = {one["lubricant"]["id"]: one["lubricant"]["family"] for one in full["candidates"]}
    if outcome not in ("settled", "depends"):
        yield f"{lubricant['id']} leads where it is {outcome}"
    if (outcome == "depends") != (leader["verdict"] == "depends") or leader["verdict"] == "does-not-fit":
        yield f"the leader {leader['verdict']} where it is {outcome}"
    if outcome == "settled" and short["safest_if_unanswered"]:
        yield "something is safest although it is settled"
    if outcome == "settled" and GRADE.match(lubricant["grade"]) and lubricant["grade"] not in short["summary"]:
        yield f"the headline does not say {lubricant['grade']}: {short['summary']}"
    if service["status"] == "conflicts" and leader["leads_by"] == "service-data" and leader["verdict"] == "fits":
        yield "what the book names fits, and the book conflicts"
    for id in alike:
        if id == lubricant["id"] or grades[id] != lubricant["grade"] or verdicts[id] != leader["verdict"]:
            yield f"{id} is no {lubricant['id']}"
    named = [id for id in (lubricant["id"], *alike, *(other["lubricant"]["id"] for other in short["others"])) if id]
    refused = [id for refusal in short["refused"] for id in refusal["lubricants"]]
    yield from (f"{id} is named and refused" for id in {*named} & {*refused})
    if len(refused) != len({*refused}) or {*refused} != {id for id in verdicts if verdicts[id] == "does-not-fit"}:
        yield "the refused classes are not each named once"
    safest = short["safest_if_unanswered"]
    if safest and safest["lubricant"]["id"] in refused:
        yield "the safest is refused"
    fitting = [id for id in named if verdicts[id] == "fits" or id == lubricant["id"] or id in alike]
    if window := short["window"]:
        yield from (f"the window lacks the grade of {id}" for id in fitting if grades[id] not in window["grades"])
        yield from (f"the window lacks the family of {id}" for id in fitting if families[id] not in window["families"])
        for label in window["never_on_the_label"]:
            yield from (f"never {label}, but {id}" for id in fitting if re.search(CALLED[families[id]], label))
    yield from _condemned(short, {lubricant["family"], *(families[id] for id in alike)} - {None})


def _condemned(short: Answer, filled: set[str]) -> Iterator[str]:
    """Texts that speak against what the headline fills."""
    for text in _read(short):
        if WAIT.search(text):
            yield f"it is to be filled and not to be filled: {text}"
        for sentence in re.split(r"(?<=[.;:])\s", text):
            for family in filled:
                named = f"[^.,;:]*({CALLED[family]})"
                ban = rf"\b(no|never|not|don't|stay away from)\b{named}|^{named}[^.,;:]* does not fit"
                if re.search(ban, sentence, re.I) and not IS_CONDITION.search(sentence):
                    yield f"{family} is filled, and told: {sentence}"


def _out_of_shape(short: Answer) -> Iterator[str]:
    yield from (f"{len(short[name])} {name}" for name, most in MOST.items() if len(short[name]) > most)
    for item in short["ask_next"]:
        if item["pointer"] == "/sump_hot_c":
            yield "the sump is asked for"
        replies = item["answers"]
        if replies[-1]["value"] is not None or len(replies) > MOST_REPLIES + 1:
            yield f"the replies to {item['pointer']}"
    if short["service_data"]["status"] == "conflicts" and re.search(r"\bagrees?\b", short["service_data"]["text"]):
        yield "the book conflicts and agrees"


def _ill_said(short: Answer) -> Iterator[str]:
    if (count := len(short["say"].split())) > MOST_WORDS:
        yield f"{count} words to say"
    for text in _read(short):
        if found := PROGRAM_WORDS.search(text):
            yield f"{found[0]!r} in: {text}"


def _jugs(short: Answer, full: Answer) -> Iterator[str]:
    """A jug that is nothing but what the list calls fitting is not told to be thinner."""
    fitting = {one["lubricant"]["id"] for one in full["candidates"] if one["verdict"] == "fits"}
    for brief, jug in zip(short["jugs"], full["jugs"], strict=True):
        may_be = {lubricant["id"] for lubricant in jug["may_be"]}
        if may_be and may_be <= fitting and "thinner" in brief["because"]:
            yield f"a fitting jug is told: {brief['because']}"


def _read(short: Answer) -> Iterator[str]:
    """Every text that a person reads."""
    yield from (short["summary"], short["say"], short["service_data"]["text"], *short["unless"])
    if leader := short["leader"]:
        yield from (leader["because"], *leader["care"])
    if window := short["window"]:
        yield from (*window["on_the_label"], *window["on_the_data_sheet"])
    yield from (item["because"] for item in (*short["others"], *short["jugs"]))
    yield from (item["text"] for item in (*short["refused"], *short["cautions"]))
    for item in short["ask_next"]:
        yield from (item["question"], item["how_to_tell"], *(reply["words"] for reply in item["answers"]))
