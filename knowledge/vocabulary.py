"""Whether a question speaks in ids that the knowledge has."""

from collections.abc import Collection, Iterable, Iterator

from knowledge.base import KnowledgeBase
from knowledge.errors import UnknownId, UnknownIds
from knowledge.questions import FillQuestion, Jug
from knowledge.spelling import nearest


def check_ids(question: FillQuestion, base: KnowledgeBase, boxes: Collection[str] = ()) -> None:
    """Raise UnknownIds with every id of the question that neither the knowledge nor the shop's boxes have."""
    items = tuple(
        UnknownId(pointer, value, tuple(known), nearest(value, known))
        for pointer, value, known in _ids(question, base, boxes)
        if value is not None and value not in known
    )
    if items:
        raise UnknownIds(items)


def _ids(
    question: FillQuestion, base: KnowledgeBase, boxes: Collection[str]
) -> Iterator[tuple[str, str | None, Iterable[str]]]:
    for index, ring in enumerate(question.rings or ()):
        yield f"/rings/{index}/facing", ring.facing, base.facings
        yield f"/rings/{index}/body", ring.body, base.bodies
    yield "/duty", question.duty, base.duties
    yield "/box_ref", question.box_ref, boxes
    if question.service_data:
        yield "/service_data/family", question.service_data.family, base.families
    if question.in_it_now:
        yield from _jug_ids("/in_it_now", question.in_it_now, base)
    for index, jug in enumerate(question.on_hand):
        yield from _jug_ids(f"/on_hand/{index}", jug, base)


def _jug_ids(pointer: str, jug: Jug, base: KnowledgeBase) -> Iterator[tuple[str, str | None, Iterable[str]]]:
    if jug.label:
        yield f"{pointer}/label/family", jug.label.family, base.families
    if jug.copper_strip:
        yield f"{pointer}/copper_strip/rating", jug.copper_strip.rating, base.copper_strip
