"""The questions to ask next: what each reply changes in the question, and what it leads to."""

from collections.abc import Iterable
from typing import Any, cast

from knowledge.base import KnowledgeBase
from knowledge.box.question import FillQuestion, link_query
from knowledge.fill.answer import AskNext, FillPatch, Reply
from knowledge.judging.condition import value_words
from knowledge.judging.judgement import Judgement
from knowledge.judging.questions import OpenQuestion
from knowledge.parts.ring import Ring


def ask_next(questions: Iterable[OpenQuestion], asked: FillQuestion, judgement: Judgement) -> tuple[AskNext, ...]:
    """The questions with their replies as changes of what the caller asked."""
    base, lubricants = judgement.base, judgement.lubricants
    composed = []
    for one in questions:
        row = base.unknowns[one.name]
        replies = []
        for value, leader, served in one.replies:
            patch = _patch(one.pointer, value, judgement.question.rings, base)
            replies.append(
                Reply(
                    value=value,
                    patch=patch,
                    query=link_query(asked, patch),
                    words=value_words(one.name, value, base),
                    then=None if leader is None else lubricants[leader].id,
                    served=served,
                )
            )
        composed.append(
            AskNext(
                pointer=one.pointer,
                question=row.question,
                how_to_tell=row.how_to_tell,
                settles=one.settles,
                answers=tuple(replies),
            )
        )
    return tuple(composed)


def _patch(pointer: str, value: Any, rings: tuple[Ring, ...] | None, base: KnowledgeBase) -> FillPatch:
    """What a reply changes; rings as they stand after it, all that lack the field alike."""
    if pointer == "/rings":
        return FillPatch(rings=[] if value == "none" else [{"facing": value}])
    _, first, *deeper = pointer.split("/")
    if not deeper:
        return cast(FillPatch, {first: value})  # the pointers of unknowns.toml are its keys
    return FillPatch(rings=[_ring_after(ring, deeper[-1], value, base) for ring in rings or ()])


def _ring_after(ring: Ring, name: str, value: Any, base: KnowledgeBase) -> dict[str, Any]:
    given = ring.model_dump(exclude_none=True)
    is_made_of_its_facing = name == "body" and ring.facing is not None and base.facings[ring.facing].body is not None
    return given if name in given or is_made_of_its_facing else {**given, name: value}
