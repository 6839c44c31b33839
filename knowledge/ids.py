"""Whether a question names ids that the knowledge has."""

from collections.abc import Collection

from pydantic import BaseModel

from knowledge.base import KnowledgeBase
from knowledge.errors import UnknownId, UnknownIds
from knowledge.parts.references import Reference, references
from knowledge.parts.request_model import says_nothing
from knowledge.text import nearest


def check_ids(question: BaseModel, base: KnowledgeBase, boxes: Collection[str] = ()) -> None:
    """Raise UnknownIds with every id of a question that neither the knowledge nor the shop's boxes have."""
    items = []
    for found in references(question):
        known = tuple(boxes if found.refers.table == "boxes" else base.ids(found.refers.table))
        if found.value not in known:
            items.append(_unknown(found, known))
    if items:
        raise UnknownIds(tuple(items))


def _unknown(found: Reference, known: tuple[str, ...]) -> UnknownId:
    advice = found.refers.if_none if found.value.lower() == "none" else ""
    if says_nothing(found.value):
        advice = advice or "Leave it out when it is not known."
    return UnknownId(found.pointer, found.value, known, None if advice else nearest(found.value, known), advice or None)
