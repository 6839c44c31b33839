"""The hard shift that goes with a box: its picture, and the same as a table."""

from dataclasses import dataclass
from urllib.parse import urlencode

from api.charts.shift import shift_chart
from knowledge.base import KnowledgeBase
from knowledge.box.duty_shift import duty_question, shift_heat
from knowledge.box.question import FillQuestion
from knowledge.parts.ring import RingGeometry
from knowledge.shift.answer import FullShiftAnswer
from knowledge.shift.compute import full_shift_answer


@dataclass(frozen=True, slots=True)
class ShiftView:
    """A shift: of which ring and duty it is, its picture and where that stands alone, and its figures."""

    ring: str
    duty: str
    link: str
    svg: str
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

    def heat(ring: Ring) -> float:
        found = shift_heat(ring.facing or "", ring.cones or 1, duty.id, sump, shape, base)
        return found.peak_c / found.limit_c

    ring = max(rings, key=heat)
    asked = duty_question(ring.facing or "", ring.cones or 1, duty.id, sump, question.ring_geometry, base)
    answer = full_shift_answer(asked, base)
    return ShiftView(
        ring=base.facings[ring.facing or ""].words,
        duty=duty.words,
        link=f"v1/shift/curve?{urlencode(asked.model_dump(exclude_none=True))}",
        svg=shift_chart(answer).svg(),
        answer=answer,
    )
