"""The hard shift that goes with a box: its picture, and the same as a table."""

from typing import NamedTuple
from urllib.parse import urlencode

from api.charts.shift import shift_chart
from knowledge.base import KnowledgeBase
from knowledge.box.question import FillQuestion
from knowledge.box.ring_loads import hardest_shift
from knowledge.shift.answer import FullShiftAnswer
from knowledge.shift.compute import full_shift_answer


class ShiftView(NamedTuple):
    """A shift: of which ring and duty it is, its picture and where that stands alone, and its figures."""

    ring: str
    duty: str
    link: str
    svg: str
    answer: FullShiftAnswer


def shift_view(question: FillQuestion, base: KnowledgeBase) -> ShiftView | None:
    """The hard shift of the ring that is hardest put to it; None until facing and duty are known."""
    asked = hardest_shift(question, base)
    if asked is None or asked.facing is None or question.duty is None:
        return None
    answer = full_shift_answer(asked, base)
    return ShiftView(
        ring=base.facings[asked.facing].words,
        duty=base.duties[question.duty].words,
        link=f"v1/shift/curve?{urlencode(asked.model_dump(exclude_none=True))}",
        svg=shift_chart(answer).svg(),
        answer=answer,
    )
