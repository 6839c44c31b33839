"""The slip: an answer as it is handed over the counter, and what changed since its address was written."""

from collections.abc import Iterator, Mapping
from datetime import date
from typing import NamedTuple

from api.asking_page import RequestModel
from api.counter_form import Group
from api.fill_view import FillView
from api.permalink import FIELDS, address, field_of
from api.rendering import day
from api.slip_code import ID_BYTES, number_of
from api.terminal import VERDICTS
from knowledge.box.question import FillQuestion
from knowledge.fill.answer import Candidate, FillAnswer
from knowledge.text import value_text
from knowledge.parts.provenance import Caution

STAMPS = ("id", "knowledge", "first", "verdict", "given")
DIGEST_SHOWN = 19
NO_FIRST = "none"
LONG_FROM = 2_800


class Slip(NamedTuple):
    """What stands on the slip beside the answer itself; a long one is set smaller, so that it keeps to one page."""

    number: str
    said: tuple[tuple[str, str], ...]
    provisos: tuple[str, ...]
    also: tuple[str, ...]
    shelf: tuple[tuple[str, str], ...]
    sure: tuple[Caution, ...]
    possible: tuple[Caution, ...]
    knowledge: str
    given: date
    link: str
    short_link: str
    changes: tuple[str, ...]
    is_long: bool


def stamped(page: str, values: Mapping[str, str], answer: FillAnswer, today: date) -> str:
    """The address of a slip that can tell later whether its answer still stands."""
    first = _first(answer)
    return address(page, values, **dict(zip(STAMPS, (answer.answer_id, knowledge_of(answer), *first, f"{today}"))))


def understood(question: FillQuestion) -> dict[str, str]:
    """The box as it was understood, in flat fields: what was stated and what the shop's own table filled in.

    Several ring sets have no flat fields; they are described one by one.
    """
    said = {name: value for name in FIELDS if (value := getattr(question, name, None)) is not None}
    if question.rings == ():
        said["facing"] = "none"
    elif question.rings and len(question.rings) == 1:
        said |= question.rings[0].model_dump(exclude={"gears"}, exclude_none=True)
    if question.service_data is not None:
        said |= {f"service_{name}": value for name, value in question.service_data if value is not None}
    return {name: value_text(value) for name, value in said.items()}


def slip(
    asked: RequestModel, view: FillView, form: tuple[Group, ...], stamps: Mapping[str, str], page: str, today: date
) -> Slip:
    """The slip of an answer; `form` is that of the box as understood.

    `stamps` is what its address says of the answer at the time, if it says so.
    """
    answer = view.answer
    said, changes = (*_said(answer, form), *_ring_sets(answer, form)), tuple(_changes(answer, stamps))
    provisos = view.lead.provisos if view.lead else ()
    shelf = tuple((jug.name, words) for jug, words, _ in view.jugs)
    sure = tuple(item for item in view.cautions if not item.only_if)
    possible = tuple(item for item in view.cautions if item.only_if)
    given = today if changes else _date(stamps.get("given"), today)
    printed = (*provisos, *changes, *(item.text for item in (*sure, *possible)), *(name for name, _ in shelf))
    # Without a class to name it repeats what was said instead.
    instead = () if view.lead else (answer.summary, *(line.value for line in view.jug_lines))
    varying = (answer.service_data.text, *printed, *(words for _, words in said), *instead)
    number = number_of(asked.values, answer.answer_id, given)
    return Slip(
        number=number,
        said=said,
        provisos=provisos,
        also=tuple(fit.name for fit in view.others) if view.lead or view.is_open else (),
        shelf=shelf,
        sure=sure,
        possible=possible,
        knowledge=knowledge_of(answer),
        given=given,
        link=stamped(page, asked.values, answer, today),
        short_link=f"{page}?number={number.replace(' ', '')}",
        changes=changes,
        is_long=sum(map(len, varying)) > LONG_FROM,
    )


def knowledge_of(answer: FillAnswer) -> str:
    """The edition of the knowledge that spoke, short enough to be read aloud."""
    return f"{answer.knowledge.version} {answer.knowledge.digest[:DIGEST_SHOWN].removeprefix('sha256:')}"


def _first(answer: FillAnswer) -> tuple[str, str]:
    first = next((item for item in answer.candidates if item.rank == 1), None)
    return (first.lubricant.id, first.verdict) if first else (NO_FIRST, NO_FIRST)


def _said(answer: FillAnswer, form: tuple[Group, ...]) -> Iterator[tuple[str, str]]:
    """What was said, and what the answer says to it where it was taken otherwise."""
    corrected = {field_of(item.pointer): item.reason for item in answer.question.assumed}
    for group in form:
        for field in group.fields:
            words = {choice.value: choice.words for choice in field.choices}
            if field.value:
                legend = field.legend[0].lower() + field.legend[1:]
                is_of_maker = field.name.startswith("service_")
                value = words.get(field.value, field.value)
                remark = f". {corrected[field.name]}" if field.name in corrected else ""
                yield f"Service data, {legend}" if is_of_maker else field.legend, value + remark


def _ring_sets(answer: FillAnswer, form: tuple[Group, ...]) -> Iterator[tuple[str, str]]:
    """Each of several ring sets, as far as it is known, in the words of the form."""
    rings = answer.question.rings or ()
    words = {(field.name, it.value): it.words for group in form for field in group.fields for it in field.choices}
    for place, ring in enumerate(rings if len(rings) > 1 else (), start=1):
        parts = ring.model_dump(exclude={"gears"}, exclude_none=True)
        known = ", ".join(words.get((name, f"{value}"), f"{value}") for name, value in parts.items())
        yield f"Rings of gears {ring.gears}" if ring.gears else f"Ring set {place}", known or "nothing known"


def _date(text: str | None, otherwise: date | None) -> date | None:
    try:
        return date.fromisoformat(text or "")
    except ValueError:
        return otherwise


def _changes(answer: FillAnswer, stamps: Mapping[str, str]) -> Iterator[str]:
    """What is not as the address says it was, as far as an address can tell."""
    then_id = stamps.get("id")
    if then_id is None or (len(then_id) >= 2 * ID_BYTES and answer.answer_id.startswith(then_id)):
        return
    then_knowledge, then_first = stamps.get("knowledge"), stamps.get("first")
    if then_knowledge is None:
        yield "Since this slip was written the knowledge or the shop's own tables have changed."
    elif then_knowledge == knowledge_of(answer):
        yield "The knowledge is the same, but the question or the shop's own tables are not what they were."
    else:
        given = _date(stamps.get("given"), None)
        when = f" on {day(given)}" if given else ""
        yield f"The knowledge has changed since this slip was written{when}."
    now_first, now_verdict = _first(answer)
    names = {item.lubricant.id: item for item in answer.candidates}
    if then_first is None:
        yield "It does not say what came first then. Trust the answer below and not the older paper."
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
