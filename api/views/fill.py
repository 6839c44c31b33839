"""A fill answer laid out for the page, the slip and the terminal: names for its ids, and what stands in sight."""

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import NamedTuple
from urllib.parse import parse_qsl

from api.figures import VERDICTS, figure_lines
from api.permalink import address, at_the_counter
from knowledge.base import KnowledgeBase
from knowledge.citing import words_used
from knowledge.fill.answer import AskNext, FillAnswer, FirstShifts, Reply
from knowledge.jug.answer import JudgedJug
from knowledge.loading.fluid_rows import FamilyRow
from knowledge.loading.schema import WordRow
from knowledge.shop.models import FromBox
from knowledge.text import listed, plain, within_a_sentence

LIKELY = "Likely "
SENTENCES = re.compile(r"(?<=[.!?]) (?=[A-Z])")


class ReplyLink(NamedTuple):
    """A reply, what would lead then, and the address of the page that gives it; None where no address holds it."""

    words: str
    then: str
    href: str | None
    value: str


class Question(NamedTuple):
    """A question to the caller with its replies, and the address that says that nobody can answer it."""

    text: str
    how_to_tell: str
    replies: tuple[ReplyLink, ...]
    cant_say: str | None


class Refused(NamedTuple):
    """Classes refused for the same gravest reason: in a few words, and one by one."""

    names: str
    text: str
    rule: str
    classes: tuple[tuple[str, str], ...]


class FillView(NamedTuple):
    """Everything of an answer that is shown, beside the answer itself."""

    answer: FillAnswer
    from_box: FromBox | None
    headline: str
    say: str
    unless: str
    other_grades: tuple[str, ...]
    caution: str
    shelf: str | None
    asked: Question | None
    is_open: bool
    verdict: str
    alike: str
    first_shifts: str | None
    figures: tuple[tuple[str, str], ...]
    questions: tuple[Question, ...]
    refused: tuple[Refused, ...]
    jugs: tuple[JudgedJug, ...]
    families: tuple[FamilyRow, ...]
    words: tuple[WordRow, ...]


def fill_view(
    answer: FillAnswer, from_box: FromBox | None, base: KnowledgeBase, *, has_shelf: bool = False, page: str = "./"
) -> FillView:
    """The answer as it is shown, its replies leading to a page; `from_box` is the box of the shop that filled in."""
    leader, window = answer.leader, answer.window
    names = class_names(base)
    figures = figure_lines(leader.figures) if leader else ()
    in_sight = (*_in_sight(answer), *(words for words, _ in figures))
    short = {oil.id: oil.short_name for oil in base.lubricants}
    questions = tuple(_question(item, short, page) for item in answer.ask_next)
    jugs = tuple(sorted(answer.jugs, key=lambda jug: (jug.rank is None, jug.rank or 0)))
    return FillView(
        answer=answer,
        from_box=from_box,
        headline=headline(answer, base),
        say=_without_class(answer, short, base),
        unless=f"Unless {answer.unless[0].removesuffix('.')}." if answer.unless else "",
        other_grades=tuple(grade for grade in window.grades if leader and grade != leader.lubricant.grade)
        if window
        else (),
        caution=first_sentence(answer.cautions[0].text) if answer.cautions else "",
        shelf=_on_the_shelf(jugs) if has_shelf and answer.outcome == "settled" else None,
        asked=questions[0] if questions and answer.outcome != "settled" else None,
        is_open=answer.outcome in ("depends", "conflict") and bool(answer.ask_next),
        verdict=VERDICTS[leader.verdict] if leader else "",
        alike=named_together(leader.alike, base) if leader else "",
        first_shifts=_first_shifts(leader.first_shifts) if leader else None,
        figures=figures,
        questions=questions,
        refused=tuple(
            Refused(
                named_together(ids := item.lubricants, base), item.text, item.rule, tuple((id, names[id]) for id in ids)
            )
            for item in answer.refused
        ),
        jugs=jugs,
        families=tuple(base.families[id] for id in window.families) if window else (),
        words=tuple(words_used(in_sight, base)),
    )


def headline(answer: FillAnswer, base: KnowledgeBase) -> str:
    """The class in the largest letters, families that serve alike together; where nothing leads none is named."""
    if answer.outcome == "conflict":
        return "Do not fill yet"
    if answer.leader is None:
        return "Only what the book names"
    first = answer.leader.lubricant
    rows = [base.lubricant_rows[id] for id in (first.id, *answer.leader.alike) if id]
    kinds = dict.fromkeys(base.families[row.family].label for row in rows)
    words = f"{listed(kinds, 'or')}, {first.grade}" if rows else first.name
    return f"{LIKELY}{words}" if answer.outcome == "depends" else words


def _without_class(answer: FillAnswer, short: Mapping[str, str], base: KnowledgeBase) -> str:
    """What is read aloud, without the class and the question that stand beside it in large letters."""
    told = SENTENCES.split(answer.say)
    if answer.leader:
        own = short.get(answer.leader.lubricant.id or "", answer.leader.lubricant.name)
        for name in (headline(answer, base).removeprefix(LIKELY), within_a_sentence(own)):
            told = [one.replace(f", {name} does", ", it does").replace(f", {name} is", ", this is") for one in told]
    if answer.leader and told[0].startswith(("Fill ", "Ask ")):
        told = told[1:]
    return " ".join(told[1:] if told and told[0].endswith(" as good.") else told)


def first_sentence(text: str) -> str:
    """The first sentence of a text."""
    return SENTENCES.split(text, maxsplit=1)[0]


def _on_the_shelf(jugs: Sequence[JudgedJug]) -> str:
    """The jug of ours to take, in few words."""
    good = [jug for jug in jugs if jug.verdict in ("fits", "fits-with-care")]
    if not good:
        return "nothing that fits"
    more = f", and {len(good) - 1} more" if len(good) > 1 else ""
    return f"{good[0].name}: {VERDICTS[good[0].verdict]}{more}"


def class_names(base: KnowledgeBase) -> dict[str, str]:
    """What each class is called, by its id."""
    return {oil.id: oil.name for oil in base.lubricants}


def named_together(ids: Iterable[str], base: KnowledgeBase) -> str:
    """Several classes in few words: a family alone where all of it is meant, else with its grades."""
    rows, every = base.lubricant_rows, [row.family for row in base.lubricant_rows.values()]
    grades: dict[str, list[str]] = {}
    for id in ids:
        grades.setdefault(rows[id].family, []).append(rows[id].grade)
    return "; ".join(
        base.families[family].label
        if len(several) == every.count(family) > 1
        else f"{base.families[family].label} {', '.join(several)}"
        for family, several in grades.items()
    )


def _first_shifts(shifts: FirstShifts | None) -> str | None:
    if shifts is None or shifts.step == "free":
        return None
    be = "are" if shifts.sure else "may be"
    return f"First shifts at {plain(shifts.at_c)} °C {be} {shifts.step}."


def _question(item: AskNext, names: Mapping[str, str], page: str) -> Question:
    def link(reply: Reply) -> ReplyLink:
        href = None if reply.query is None else address(page, at_the_counter(parse_qsl(reply.query)))
        return ReplyLink(reply.words, then(reply, names), href, str(reply.value))

    replies = tuple(link(reply) for reply in item.answers if reply.value is not None)
    cant_say = next((link(reply).href for reply in item.answers if reply.value is None), None)
    return Question(item.question, item.how_to_tell, replies, cant_say)


def then(reply: Reply, names: Mapping[str, str]) -> str:
    """What a reply leads to; nothing where the caller can't say."""
    if reply.value is None:
        return ""
    return names[reply.then] if reply.then else "only what the book names"


def _in_sight(answer: FillAnswer) -> Iterator[str]:
    """The texts that a reader of the first choice meets."""
    if answer.window:
        yield from (*answer.window.on_the_label, *answer.window.on_the_data_sheet)
    if answer.leader:
        yield from answer.leader.care
    yield from (caution.text for caution in answer.cautions)
    for jug in answer.jugs:
        yield from jug.ask_of_the_sheet
