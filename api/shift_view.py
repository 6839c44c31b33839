"""The hard shift that goes with a box, laid out for a page: its picture, and the same as a table."""

from typing import NamedTuple
from urllib.parse import urlencode

from knowledge.box.duty_shift import duty_question, shift_heat

from api.shift_drawing import shift_drawing
from knowledge.base import KnowledgeBase
from knowledge.box.question import FillQuestion
from knowledge.parts.ring import Ring, RingGeometry
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
    rings = [ring for ring in question.rings or () if ring.facing]
    if not rings or question.duty is None:
        return None
    duty = base.duties[question.duty]
    sump = duty.sump_high_c if question.sump_hot_c is None else question.sump_hot_c
    shape = question.ring_geometry or RingGeometry()

    def heat(ring: Ring) -> float:
        found = shift_heat(ring.facing, ring.cones or 1, duty.id, sump, shape, base)
        return found.peak_c / found.limit_c

    ring = max(rings, key=heat)
    asked = duty_question(ring.facing, ring.cones or 1, duty.id, sump, question.ring_geometry, base)
    said = urlencode(asked.model_dump(exclude_none=True))
    answer = shift_answer(asked, base)
    link, drawing = f"v1/shift/curve?{said}", shift_drawing(answer)
    return ShiftView(base.facings[ring.facing].words, duty.words, link, drawing, answer)
