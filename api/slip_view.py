"""The slip: an answer as it is handed over the counter, and what changed since its address was written."""

from collections.abc import Iterator, Mapping
from datetime import date
from typing import NamedTuple

from api.asking_page import Asked
from api.counter_form import Group
from api.fill_view import FillView
from api.permalink import address
from api.rendering import day
from api.terminal import VERDICTS
from knowledge.answers import Candidate, Caution, FillAnswer

STAMPS = ("id", "knowledge", "first", "verdict", "given")
DIGEST_SHOWN = 19
NO_FIRST = "none"
LONG_FROM = 450


class Slip(NamedTuple):
    """What stands on the slip beside the answer itself; a long one is set smaller, so that it keeps to one page."""

    said: tuple[tuple[str, str], ...]
    provisos: tuple[str, ...]
    also: tuple[str, ...]
    cautions: tuple[Caution, ...]
    notes_left_out: int
    knowledge: str
    given: date
    link: str
    changes: tuple[str, ...]
    is_long: bool


def stamped(page: str, values: Mapping[str, str], answer: FillAnswer, today: date) -> str:
    """The address of a slip that can tell later whether its answer still stands."""
    first = _first(answer)
    return address(page, values, **dict(zip(STAMPS, (answer.answer_id, knowledge_of(answer), *first, f"{today}"))))


def slip(
    asked: Asked, view: FillView, form: tuple[Group, ...], stamps: Mapping[str, str], page: str, today: date
) -> Slip:
    """The slip of an answer; `stamps` is what its address says of the answer at the time, if it says so."""
    answer = view.answer
    grave = tuple(item for item in view.cautions if item.severity != "note")
    said, changes = tuple(_said(form)), tuple(_changes(answer, stamps))
    provisos = view.lead.provisos if view.lead else ()
    varying = (answer.service_data.text, *provisos, *changes, *(words for _, words in said))
    return Slip(
        said=said,
        provisos=provisos,
        also=tuple(fit.name for fit in view.others),
        cautions=grave,
        notes_left_out=len(view.cautions) - len(grave),
        knowledge=knowledge_of(answer),
        given=today if changes else _date(stamps.get("given"), today),
        link=stamped(page, asked.values, answer, today),
        changes=changes,
        is_long=sum(map(len, varying)) > LONG_FROM,
    )


def knowledge_of(answer: FillAnswer) -> str:
    """The edition of the knowledge that spoke, short enough to be read aloud."""
    return f"{answer.knowledge.version} {answer.knowledge.digest[:DIGEST_SHOWN].removeprefix('sha256:')}"


def _first(answer: FillAnswer) -> tuple[str, str]:
    first = next((item for item in answer.candidates if item.rank == 1), None)
    return (first.lubricant.id, first.verdict) if first else (NO_FIRST, NO_FIRST)


def _said(form: tuple[Group, ...]) -> Iterator[tuple[str, str]]:
    for group in form:
        for field in group.fields:
            words = {choice.value: choice.words for choice in field.choices}
            if field.value:
                yield field.legend, words.get(field.value, field.value)


def _date(text: str | None, otherwise: date | None) -> date | None:
    try:
        return date.fromisoformat(text or "")
    except ValueError:
        return otherwise


def _changes(answer: FillAnswer, stamps: Mapping[str, str]) -> Iterator[str]:
    """What is not as the address says it was, as far as an address can tell."""
    if stamps.get("id") in (None, answer.answer_id):
        return
    then_knowledge, then_first = stamps.get("knowledge"), stamps.get("first")
    if then_knowledge == knowledge_of(answer):
        yield "The knowledge is the same, but the question or the shop's own tables are not what they were."
    else:
        given = _date(stamps.get("given"), None)
        when = f" on {day(given)}" if given else ""
        yield f"The knowledge has changed since this slip was written{when}."
    now_first, now_verdict = _first(answer)
    names = {item.lubricant.id: item for item in answer.candidates}
    if then_first is None:
        yield "Its address does not say what came first then. Trust the answer below and not the older paper."
    elif then_first != now_first:
        yield f"First choice then: {_named(then_first, names)}. Now: {_named(now_first, names)}."
        if then_first in names:
            yield f"{_named(then_first, names)} now {_place(names[then_first])}."
    elif (then := stamps.get("verdict")) in VERDICTS and then != now_verdict:
        yield f"{_named(now_first, names)} is still first. Then: {VERDICTS[then]}. Now: {VERDICTS[now_verdict]}."
    else:
        yield f"The first choice and its verdict are the same: {_named(now_first, names)}. Figures may differ."


def _named(id: str, known: Mapping[str, Candidate]) -> str:
    if id == NO_FIRST:
        return "no general class"
    return known[id].lubricant.name if id in known else "a class that is no longer listed"


def _place(item: Candidate) -> str:
    words = VERDICTS[item.verdict]
    return f"{words} and stands at place {item.rank}" if item.rank else words
