"""The slip: an answer as it is handed over the counter, and what changed since its address was written."""

from collections.abc import Iterator, Mapping
from datetime import date
from typing import NamedTuple

import segno

from api.figures import VERDICTS
from api.permalink import address, field_of
from api.rendering import celsius, day
from api.slip_code import ID_BYTES, number_of
from api.views.fill import class_names
from api.views.rows import Row
from knowledge.base import KnowledgeBase
from knowledge.box.question import PARTS_OF_RINGS
from knowledge.drain.upkeep import Upkeep
from knowledge.fill.answer import FillAnswer, FullFillAnswer
from knowledge.parts.lubricant_name import Limits
from knowledge.parts.notes import CautionNote
from knowledge.text import grouped, spanned, value_text

STAMPS = ("id", "knowledge", "first", "verdict", "given")
DIGEST_SHOWN = 19
NO_FIRST = "none"
# Of those that surely apply: a slip is read once.
MOST_CAUTIONS = 3


class Slip(NamedTuple):
    """What stands on the slip beside the answer itself."""

    number: str
    described: tuple[tuple[str, str], ...]
    knowledge: str
    given: date
    link: str
    square_code: str
    changes: tuple[str, ...]
    upkeep: tuple[str, ...]
    cautions: tuple[CautionNote, ...]


def stamped(page: str, values: Mapping[str, str], answer: FillAnswer, today: date) -> str:
    """The address of a slip that can tell later whether its answer still stands."""
    first = _first(answer)
    return address(
        page, values, **dict(zip(STAMPS, (answer.answer_id, knowledge_of(answer), *first, f"{today}"), strict=True))
    )


def slip(
    values: Mapping[str, str],
    answer: FullFillAnswer,
    form: tuple[Row, ...],
    stamps: Mapping[str, str],
    page: str,
    today: date,
    base: KnowledgeBase,
) -> Slip:
    """The slip of an answer; `form` is that of the box as understood.

    `stamps` is what its address says of the answer at the time, if it says so.
    """
    described = (*_described(answer, form), *_ring_sets(answer, form))
    changes = tuple(_changes(answer, stamps, class_names(base)))
    given = today if changes else _date(stamps.get("given"), today)
    upkeep = tuple(upkeep_lines(answer.upkeep))
    number = number_of(values, answer.answer_id, given or today)
    short_link = f"{page}?number={number.replace(' ', '')}"
    return Slip(
        number=number,
        described=described,
        knowledge=knowledge_of(answer),
        given=given or today,
        link=stamped(page, values, answer, today),
        square_code=segno.make(short_link, error="l", micro=False).svg_inline(scale=2, border=1),
        changes=changes,
        upkeep=upkeep,
        cautions=tuple(item for item in answer.cautions if not item.text.startswith("If "))[:MOST_CAUTIONS],
    )


def knowledge_of(answer: FillAnswer) -> str:
    """The edition of the knowledge, short enough to be read aloud."""
    return f"{answer.knowledge.version} {answer.knowledge.digest[:DIGEST_SHOWN].removeprefix('sha256:')}"


def _first(answer: FillAnswer) -> tuple[str, str]:
    leader = answer.leader
    if leader is None:
        return NO_FIRST, NO_FIRST
    return leader.lubricant.id or leader.lubricant.name, leader.verdict


def _described(answer: FullFillAnswer, form: tuple[Row, ...]) -> Iterator[tuple[str, str]]:
    """What was stated, and what the answer says to it where it was taken otherwise."""
    corrected = {field_of(item.pointer): item.reason for item in answer.question.assumed}
    one_by_one = ("facing", *PARTS_OF_RINGS) if len(answer.question.rings or ()) > 1 else ()
    for field in (field for row in form for field in row.fields if field.value and field.name not in one_by_one):
        legend = field.legend[0].lower() + field.legend[1:]
        is_of_maker = field.name.startswith("service_")
        value = field.chosen
        if field.name.endswith("_c"):
            legend, value = legend.partition(",")[0], celsius(field.value)
        remark = f". {corrected[field.name]}" if field.name in corrected else ""
        yield f"Service data, {legend}" if is_of_maker else legend, value + remark


def _ring_sets(answer: FullFillAnswer, form: tuple[Row, ...]) -> Iterator[tuple[str, str]]:
    """Each of several ring sets, as far as it is known, in the words of the form."""
    rings = answer.question.rings or ()
    words = {(field.name, it.value): it.words for row in form for field in row.fields for it in field.choices}
    for place, ring in enumerate(rings if len(rings) > 1 else (), start=1):
        parts = ring.model_dump(exclude={"gears"}, exclude_none=True)
        named = parts.pop("fluid_named", {})
        known = ", ".join(words.get((name, value_text(value)), value_text(value)) for name, value in parts.items())
        if named:
            known += f"; its maker names {' '.join(words.get(('ring_fluid_family', it), it) for it in named.values())}"
        yield f"Rings of gears {ring.gears}" if ring.gears else f"Ring set {place}", known or "nothing known"


def upkeep_lines(upkeep: Upkeep | None) -> Iterator[str]:
    """Running-in, first change and interval of what leads, each in a sentence."""
    if upkeep is None:
        return
    if upkeep.running_in is not None:
        yield upkeep.running_in
    if upkeep.first_change_km is not None:
        yield f"First change after new rings at {_span(upkeep.first_change_km)} km."
    spans = ((upkeep.interval_km, "km"), (upkeep.interval_years, "years"))
    often = " or ".join(f"{_span(limits)} {unit}" for limits, unit in spans if limits)
    yield f"{f'Then every {often}, whichever comes first. ' if often else ''}{upkeep.because}"


def _span(limits: Limits) -> str:
    return spanned(grouped(limits.min or 0), grouped(limits.max or 0))


def _date(text: str | None, otherwise: date | None) -> date | None:
    try:
        return date.fromisoformat(text or "")
    except ValueError:
        return otherwise


def _changes(answer: FullFillAnswer, stamps: Mapping[str, str], names: Mapping[str, str]) -> Iterator[str]:
    """What is not as the address says it was, as far as an address can tell."""
    then_id = stamps.get("id")
    if then_id is None or (len(then_id) >= 2 * ID_BYTES and answer.answer_id.startswith(then_id)):
        return
    then_knowledge, then_first = stamps.get("knowledge"), stamps.get("first")
    if answer.leader and answer.leader.lubricant.id is None:
        names = {**names, answer.leader.lubricant.name: answer.leader.lubricant.name}
    if then_knowledge is None:
        yield "Since this slip was written the knowledge or the shop's own tables have changed."
    elif then_knowledge == knowledge_of(answer):
        yield "The knowledge is the same, but the question or the shop's own tables are not what they were."
    else:
        given = _date(stamps.get("given"), None)
        yield f"The knowledge has changed since this slip was written{f' on {day(given)}' if given else ''}."
    now_first, now_verdict = _first(answer)
    if then_first is None:
        yield "It does not say what came first then. Trust the answer below and not the older paper."
    elif then_first != now_first:
        yield f"First choice then: {_named(then_first, names)}. Now: {_named(now_first, names)}."
        yield from _place(then_first, answer)
    elif (then := stamps.get("verdict")) in VERDICTS and then != now_verdict:
        yield f"{_named(now_first, names)} is still first. Then: {VERDICTS[then]}. Now: {VERDICTS[now_verdict]}."
    else:
        yield f"The first choice and its verdict are the same: {_named(now_first, names)}. Figures may differ."


def _named(id: str, names: Mapping[str, str]) -> str:
    if id == NO_FIRST:
        return "no general class"
    return names.get(id, "a fluid that is not listed here")


def _place(id: str, answer: FullFillAnswer) -> Iterator[str]:
    for item in answer.candidates:
        if item.lubricant.id == id:
            place = f" and stands at place {item.rank}" if item.rank else ""
            yield f"{item.lubricant.name} now {VERDICTS[item.verdict]}{place}."
