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
HARM = re.compile(
    r"\b(eats?|burns?|glazes?|attacks?|slips?|grinds?|chatters?|too (thick|thin|mild)|does not (fit|go))\b"
)
BY_THE_BOOK = re.compile(r"(unless|if|where) the book names", re.I)
NAMED = ("service-data", "ring-maker")
FROM_BEST = (*SERVES, "depends", "does-not-fit")
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
    yield from _asked_though_told(full)
    yield from _ill_said(short)
    yield from _jugs(short, full)
    yield from _not_as_in_full(short, full)


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
    yield from _not_of_one_voice(short)
    yield from _told_otherwise(short, {one["lubricant"]["id"]: one for one in full["candidates"]}, {*fitting})
    yield from _found_otherwise(full)


def _condemned(short: Answer, filled: set[str]) -> Iterator[str]:
    """Texts that speak against what the headline fills; where nobody names it, the word of a book excuses none."""
    is_named = short["leader"]["leads_by"] in NAMED
    told = {jug["because"] for jug in short["jugs"]}  # speaks of the jug's own label
    cautions = {item["text"] for item in short["cautions"]}
    on_the_label = short["window"]["families"] if short["window"] else ()
    for text in _read(short):
        if text in told:
            continue
        if WAIT.search(text):
            yield f"it is to be filled and not to be filled: {text}"
        for sentence in re.split(r"(?<=[.;:])\s", text):
            is_excused = IS_CONDITION.search(sentence) and (is_named or not BY_THE_BOOK.search(sentence))
            for family in {*filled, *(on_the_label if text in cautions else ())}:
                named = f"[^.,;:]*({CALLED[family]})"
                ban = rf"\b(no|never|not|don't|stay away from)\b{named}|^{named}[^.,;:]* does not fit"
                if re.search(ban, sentence, re.I) and not is_excused:
                    yield f"{family} is filled, and told: {sentence}"


def _not_of_one_voice(short: Answer) -> Iterator[str]:
    """The leader praised and blamed at once, and the book that agrees with what it does not name."""
    leader, status = short["leader"], short["service_data"]["status"]
    if (leader["verdict"] == "fits-with-care") != bool(leader["care"]):
        yield f"the leader {leader['verdict']}, and its care is {leader['care']}"
    if leader["verdict"] == "fits" and HARM.search(leader["because"]) and not leader["because"].startswith("The usual"):
        yield f"the leader fits, and told: {leader['because']}"
    if status == "agrees" and leader["leads_by"] not in NAMED:
        yield f"the book agrees, and {leader['leads_by']} leads"
    if status == "agrees" and leader["verdict"] == "fits" and HARM.search(short["service_data"]["text"]):
        yield f"the book agrees, and told: {short['service_data']['text']}"
    for other in short["others"]:
        if other["verdict"] == "fits" and HARM.search(other["because"]):
            yield f"{other['lubricant']['id']} fits, and told: {other['because']}"


def _told_otherwise(short: Answer, candidates: dict[str, Any], fitting: set[str]) -> Iterator[str]:
    """What is said aloud, printed on a jug or told as rare, of a class that the rest of the answer tells otherwise."""
    leader, verdicts = short["leader"], {id: one["verdict"] for id, one in candidates.items()}
    alike = {leader["lubricant"]["id"], *leader["alike"]}
    for sentence in re.split(r"(?<=[.])\s", short["say"]):
        of = {id for id in candidates if _names(sentence, candidates[id]["lubricant"])}
        if re.search("is as good", sentence) and not of & alike:
            yield f"no twin: {sentence}"
        if re.search("will do", sentence) and not of & fitting:
            yield f"it is not told as fitting: {sentence}"
        if sentence.startswith("No "):
            of = {id for id in candidates if re.search(CALLED[candidates[id]["lubricant"]["family"]], sentence, re.I)}
            yield from (f"{verdicts[id]} {id}: {sentence}" for id in of if verdicts[id] != "does-not-fit")
    for line in short["unless"]:
        then = line.partition(": then ")[2]
        yield from (f"{id} anyway, {line}" for id in alike if id and _names(then, candidates[id]["lubricant"]))
    if window := short["window"]:
        kinds, grades, *others = window["on_the_label"]
        for line in (f"{kinds} {grades}", *others):
            told = {id for id in candidates if _names(line, candidates[id]["lubricant"])} - fitting - alike
            yield from (f"{verdicts[id]} {id} on the label: {line}" for id in told if verdicts[id] != "fits")
    for safest in filter(None, [short["safest_if_unanswered"]]):
        if verdicts[safest["lubricant"]["id"]] == "does-not-fit":
            yield f"{safest['lubricant']['id']} is safest and does not fit"


def _names(text: str, lubricant: dict[str, Any]) -> bool:
    """Whether a text names a class, by how people call its family and by its grade."""
    grade = rf"(?<![\w-]){re.escape(lubricant['grade'])}(?![\w-])"
    return bool(re.search(CALLED[lubricant["family"]], text, re.I) and re.search(grade, text, re.I))


def _found_otherwise(full: Answer) -> Iterator[str]:
    """A class that fits with something found against it for sure, or is refused for nothing."""
    for one in full["candidates"]:
        found = [full["findings"][at] for at in one["findings_at"]]
        surely = {finding["effect"] for finding in found if finding["only_if"] is None}
        if one["verdict"] == "fits" and surely & {"excludes", "cautions"}:
            yield f"{one['lubricant']['id']} fits, and it is found: {[finding['text'] for finding in found]}"
        if one["verdict"] == "does-not-fit" and "excludes" not in {finding["effect"] for finding in found}:
            yield f"{one['lubricant']['id']} is refused for nothing"
    told = {other["lubricant"]["id"]: other["verdict"] for other in full["others"]}
    alike = {full["leader"]["lubricant"]["id"], *full["leader"]["alike"]}
    for one in full["candidates"]:
        id = one["lubricant"]["id"]
        if id in told.keys() - alike and told[id] != one["verdict"]:
            yield f"{id} {told[id]} in short, and {one['verdict']} in full"


def _not_as_in_full(short: Answer, full: Answer) -> Iterator[str]:
    same = ("outcome", "summary", "say", "service_data", "leader", "others", "refused", "window", "unless", "way_out")
    yield from (f"{name} differs in full" for name in same if short[name] != full[name])


def _asked_though_told(full: Answer) -> Iterator[str]:
    """What is asked though the question states it, or though nobody can answer it."""
    for item in full["ask_next"]:
        at: Any = full["question"]
        for part in item["pointer"].split("/")[1:]:
            at = at and (at[int(part)] if isinstance(at, list) else at[part])
        is_finer = item["pointer"] in ("/box_kind", "/rings")
        if (at is not None and not is_finer) or item["pointer"] in (full["question"]["unanswerable"] or ()):
            yield f"{item['pointer']} is asked though it is {at}"


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
    """A jug without a sheet is judged as the classes that it may be, and the better one stands first."""
    of = {
        verdict: {one["lubricant"]["id"] for one in full["candidates"] if one["verdict"] == verdict}
        for verdict in FROM_BEST
    }
    told = full["question"]["on_hand"]
    grades = {one["lubricant"]["id"]: one["lubricant"]["grade"] for one in full["candidates"]}
    for brief, jug, stated in zip(short["jugs"], full["jugs"], told, strict=False):  # jugs of the shelf follow
        is_a_class = _is_label_alone(stated) and all(one["grade"] == grades[one["id"]] for one in jug["may_be"])
        may_be, verdict = {lubricant["id"] for lubricant in jug["may_be"]}, brief["verdict"]
        if may_be and may_be <= of["fits"] and "thinner" in brief["because"]:
            yield f"a fitting jug is told: {brief['because']}"
        if verdict == "fits" and HARM.search(brief["because"]):
            yield f"a jug fits, and told: {brief['because']}"
        if is_a_class and may_be and may_be <= of["does-not-fit"] and verdict in SERVES:
            yield f"a jug of {sorted(may_be)}, which are refused, {verdict}"
        if is_a_class and short["leader"] and may_be and may_be <= of["fits"] and verdict == "does-not-fit":
            yield f"a jug of {sorted(may_be)}, which fit, {verdict}: {brief['because']}"
    ranks = sorted(jug["rank"] for jug in short["jugs"] if jug["rank"])
    if ranks and ranks != [*range(ranks[0], ranks[0] + len(ranks))]:
        yield f"the jugs are ranked {ranks}"


def _is_label_alone(jug: dict[str, Any]) -> bool:
    """Whether nothing is known of a jug but one category and its grade."""
    return bool(jug["label"]) and not jug["label"]["also"] and {*filter(jug.get, jug)} <= {"label", "name"}


def _read(short: Answer) -> Iterator[str]:
    """Every text that a person reads."""
    yield from (short["summary"], short["say"], short["service_data"]["text"], *short["unless"])
    yield from (short["every_fill_words"], *(short["way_out"] or ()))
    if safest := short["safest_if_unanswered"]:
        yield from (safest["because"], *safest["unless"])
    if leader := short["leader"]:
        yield from (leader["because"], *leader["care"])
    if window := short["window"]:
        yield from (*window["on_the_label"], *window["on_the_data_sheet"])
    yield from (item["because"] for item in (*short["others"], *short["jugs"]))
    yield from (item["text"] for item in (*short["refused"], *short["cautions"]))
    for item in short["ask_next"]:
        yield from (item["question"], item["how_to_tell"], *(reply["words"] for reply in item["answers"]))
