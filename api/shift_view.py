"""The hard shift that goes with a box, laid out for a page: its picture, and the same as a table."""

from typing import NamedTuple
from urllib.parse import urlencode

from api.shift_drawing import shift_drawing
from knowledge.base import KnowledgeBase
from knowledge.box.question import FillQuestion
from knowledge.box.ring_loads import hardest_shift
from knowledge.shift.answer import ShiftAnswer
from knowledge.shift.compute import shift_answer


class ShiftView(NamedTuple):
    """A shift: of which ring and duty it is, its picture and where that stands alone, and its figures."""

    ring: str
    duty: str
    picture: str
    drawing: str
    answer: ShiftAnswer


def shift_view(question: FillQuestion, base: KnowledgeBase) -> ShiftView | None:
    """The shift of the ring set nearest to what its face stands, once facing and duty are known.

    With one cone unless more are stated: the hottest of what may be, as the fill answer judges it.
    """
    asked = hardest_shift(question, base)
    if asked is None or asked.facing is None or question.duty is None:
        return None
    said = urlencode(asked.model_dump(exclude_none=True))
    answer = shift_answer(asked, base)
    link, drawing = f"v1/shift/curve?{said}", shift_drawing(answer)
    return ShiftView(base.facings[asked.facing].words, base.duties[question.duty].words, link, drawing, answer)
