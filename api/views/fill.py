"""A fill answer laid out for the page, the slip and the terminal: names for its ids, and what stands in sight."""

from collections.abc import Iterable, Iterator, Mapping
from typing import NamedTuple

from api.figures import VERDICTS, figure_lines
from api.permalink import field_of
from knowledge.base import KnowledgeBase
from knowledge.citing import words_used
from knowledge.fill.answer import AskNext, FillAnswer, FirstShifts, Reply
from knowledge.jug.answer import JudgedJug
from knowledge.loading.schema import FamilyRow, WordRow
from knowledge.shop.models import FromBox
from knowledge.text import plain


class ReplyLink(NamedTuple):
    """A reply, what would lead then, and the address of the page that gives it; None where no address holds it."""

    words: str
    then: str
    href: str | None
    value: str


class Question(NamedTuple):
    """A question to the caller with its replies."""

    text: str
    how_to_tell: str
    field: str
    replies: tuple[ReplyLink, ...]


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


def fill_view(answer: FillAnswer, from_box: FromBox | None, base: KnowledgeBase) -> FillView:
    """The answer as it is shown; `from_box` is the box of the shop that filled in its question."""
    leader, window = answer.leader, answer.window
    names = class_names(base)
    figures = figure_lines(leader.figures) if leader else ()
    in_sight = (*_in_sight(answer), *(words for words, _ in figures))
    return FillView(
        answer=answer,
        from_box=from_box,
        is_open=answer.outcome in ("depends", "conflict") and bool(answer.ask_next),
        verdict=VERDICTS[leader.verdict] if leader else "",
        alike=named_together(leader.alike, base) if leader else "",
        first_shifts=_first_shifts(leader.first_shifts) if leader else None,
        figures=figures,
        questions=tuple(_question(item, names) for item in answer.ask_next),
        refused=tuple(
            Refused(
                named_together(ids := item.lubricants, base), item.text, item.rule, tuple((id, names[id]) for id in ids)
            )
            for item in answer.refused
        ),
        jugs=tuple(sorted(answer.jugs, key=lambda jug: (jug.rank is None, jug.rank or 0))),
        families=tuple(base.families[id] for id in window.families) if window else (),
        words=tuple(words_used(in_sight, base)),
    )


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


def _question(item: AskNext, names: Mapping[str, str]) -> Question:
    def link(reply: Reply) -> ReplyLink:
        href = None if reply.query is None else f"./?{reply.query}".removesuffix("?")
        return ReplyLink(reply.words, then(reply, names), href, str(reply.value))

    return Question(item.question, item.how_to_tell, field_of(item.pointer), tuple(map(link, item.answers)))


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
