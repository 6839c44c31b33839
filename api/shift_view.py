"""The hard shift that goes with a box, laid out for a page: its picture, and the same as a table."""

from typing import NamedTuple
from urllib.parse import urlencode

from api.shift_drawing import shift_drawing
from knowledge.base import KnowledgeBase
from knowledge.box.duty_shift import duty_question, shift_heat
from knowledge.box.question import FillQuestion
from knowledge.parts.ring import RingGeometry
from knowledge.shift.answer import FullShiftAnswer
from knowledge.shift.compute import full_shift_answer


class ShiftView(NamedTuple):
    """A shift: of which ring and duty it is, its picture and where that stands alone, and its figures."""

    ring: str
    duty: str
    picture: str
    drawing: str
    answer: FullShiftAnswer


def shift_view(question: FillQuestion, base: KnowledgeBase) -> ShiftView | None:
    """The shift of the ring set nearest to what its face stands, once facing and duty are known.

    With one cone unless more are stated: the hottest of what may be, as the fill answer judges it.
    """
    rings = [(ring.facing, ring.cones or 1) for ring in question.rings or () if ring.facing]
    if not rings or question.duty is None:
        return None
    duty = base.duties[question.duty]
    sump = duty.sump_high_c if question.sump_hot_c is None else question.sump_hot_c
    shape = question.ring_geometry or RingGeometry()

    def heat(ring: tuple[str, int]) -> float:
        found = shift_heat(*ring, duty.id, sump, shape, base)
        return found.peak_c / found.limit_c

    facing, cones = max(rings, key=heat)
    asked = duty_question(facing, cones, duty.id, sump, question.ring_geometry, base)
    link = f"v1/shift/curve?{urlencode(asked.model_dump(exclude_none=True))}"
    answer = full_shift_answer(asked, base)
    return ShiftView(base.facings[facing].words, duty.words, link, shift_drawing(answer), answer)
