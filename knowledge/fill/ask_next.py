"""The questions to ask next: what each reply changes in the question, and what it leads to."""

from collections.abc import Iterable, Iterator
from typing import Any, cast

from knowledge.base import KnowledgeBase
from knowledge.box.question import MOST_UNANSWERABLE, FillQuestion, ServiceData, link_query
from knowledge.fill.answer import AskNext, FillPatch, Outcome, Reply
from knowledge.judging.condition import value_words
from knowledge.judging.judgement import Judgement
from knowledge.judging.questions import SERVICE_DATA, OpenQuestion, replies_by_kind
from knowledge.parts.ring import Ring
from knowledge.text import significant

CANNOT_SAY = "can't say"
REPLACED = "replaced"


def questions_of(outcome: Outcome, judgement: Judgement) -> tuple[OpenQuestion, ...]:
    """What to ask next; in a conflict with the book only whether the rings are those that it speaks of."""
    if outcome == "depends":
        return judgement.questions()
    if outcome != "conflict" or judgement.named.by != "service-data":
        return ()
    return tuple(_were_they_changed(judgement))


def _were_they_changed(judgement: Judgement) -> Iterator[OpenQuestion]:
    question, base = judgement.question, judgement.base
    pointer = base.unknowns[REPLACED].pointer
    if not question.rings or pointer in question.unanswerable or question.rings[0].replaced is not None:
        return
    rings = question.rings

    def leader_after(value: bool) -> int | None:
        update = {"rings": tuple(ring.model_copy(update={REPLACED: value}) for ring in rings)}
        after = Judgement.of(question.model_copy(update=update), base)
        return after.leader if after.named.is_listed else None

    yield OpenQuestion(REPLACED, pointer, 1.0, (True, False), lambda values: [*map(leader_after, values)])


def ask_next(questions: Iterable[OpenQuestion], asked: FillQuestion, judgement: Judgement) -> tuple[AskNext, ...]:
    """The questions with their replies as changes of what the caller asked, and "can't say" behind them."""
    base, lubricants = judgement.base, judgement.lubricants
    composed = []
    for one in questions:
        row = base.unknowns[one.name]
        replies = []
        for value, leader in replies_by_kind(one, judgement.leads_if):
            patch = _patch(one, value, asked, judgement)
            then = None if leader is None else lubricants[leader].id
            words = value_words(one.name, value, base)
            replies.append(Reply(value=value, patch=patch, query=link_query(asked, patch), words=words, then=then))
        unanswerable = tuple(dict.fromkeys((*asked.unanswerable, one.pointer)))[-MOST_UNANSWERABLE:]
        cannot = FillPatch(unanswerable=list(unanswerable))
        query = link_query(asked, {"unanswerable": unanswerable})
        replies.append(Reply(value=None, patch=cannot, query=query, words=CANNOT_SAY, then=None))
        composed.append(
            AskNext(
                pointer=one.pointer,
                question=row.question,
                how_to_tell=row.how_to_tell,
                settles=significant(one.settles, 2),
                answers=tuple(replies),
            )
        )
    return tuple(composed)


def _patch(one: OpenQuestion, value: Any, asked: FillQuestion, judgement: Judgement) -> FillPatch:
    """What a reply changes; rings as they stand after it, all that lack the field alike."""
    if one.pointer == "/rings":
        return FillPatch(rings=[] if value == "none" else [{"facing": value}])
    if one.name == SERVICE_DATA:
        book = asked.service_data or ServiceData()
        return FillPatch(service_data={**book.model_dump(exclude_none=True), "family": value})
    _, first, *deeper = one.pointer.split("/")
    if not deeper:
        return cast(FillPatch, {first: value})  # the pointers of unknowns.toml are its keys
    rings = judgement.question.rings or ()
    return FillPatch(rings=[_ring_after(ring, deeper[-1], value, judgement.base) for ring in rings])


def _ring_after(ring: Ring, name: str, value: Any, base: KnowledgeBase) -> dict[str, Any]:
    given = ring.model_dump(exclude_none=True)
    is_made_of_its_facing = name == "body" and ring.facing is not None and base.facings[ring.facing].body is not None
    return given if name in given or is_made_of_its_facing else {**given, name: value}
