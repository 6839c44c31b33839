"""What one synchronized shift asks of the ring."""

from typing import Annotated

from fastapi import APIRouter, Query

from api.charts.shift import shift_chart
from api.pictures import A_PICTURE, OR_A_PICTURE, AsWanted, Picture
from api.problems import documented
from api.routes.dependencies import Base
from api.strict_route import StrictRoute
from knowledge.rings.shift_question import FlatShiftQuestion, ShiftQuestion
from knowledge.shift.answer import ShiftAnswer
from knowledge.shift.compute import shift_answer

router = APIRouter(prefix="/v1", tags=["shift"], route_class=StrictRoute)


@router.post("/shift", response_model=ShiftAnswer, responses={**documented(400, 413, 415, 422), **OR_A_PICTURE})
async def shift(question: ShiftQuestion, base: Base, wanted: AsWanted) -> ShiftAnswer | Picture:
    """What the shift does to the ring, whether it blocks, comes free and stays cool, and which facing stands it.

    Say what has to be turned and the speed difference; what else is left out is assumed, and listed as assumed.
    """
    return wanted.form(shift_answer(question, base), shift_chart)


@router.get("/shift/curve", response_class=Picture, responses={**documented(422), **A_PICTURE})
async def shift_curve(question: Annotated[FlatShiftQuestion, Query()], base: Base) -> Picture:
    """Speed difference, torque and temperature of the face over one shift, as a drawing from a link.

    Several cones of different radii: give `mean_radius_mm` once for each.
    """
    return Picture(shift_chart(shift_answer(question.question(), base)).svg())
