"""What one synchronized shift asks of the ring."""

from typing import Annotated

from fastapi import APIRouter, Query

from api.charts.shift import shift_chart
from api.http.handlers import of_link
from api.http.pictures import A_PICTURE, OR_A_PICTURE, AsPicture, Picture, drawn
from api.http.problems import A_BODY, documented
from api.http.strict_route import StrictRoute
from api.routes.dependencies import Base, DetailAsked, DetailQuery, QuestionLane
from knowledge.rings.shift_question import FlatShiftQuestion, ShiftQuestion
from knowledge.shift.answer import FullShiftAnswer, ShiftAnswer
from knowledge.shift.compute import compute_shift_answer, full_shift_answer

router = APIRouter(prefix="/v1", tags=["shift"], route_class=StrictRoute)


class ShiftLink(FlatShiftQuestion, DetailQuery):
    """A shift question as a link, and how much of its answer is asked for."""


@router.post(
    "/shift",
    response_model=ShiftAnswer | FullShiftAnswer,
    responses={**documented(*A_BODY), **OR_A_PICTURE},
)
async def shift(
    question: ShiftQuestion, base: Base, as_picture: AsPicture, asked: DetailAsked, lane: QuestionLane
) -> ShiftAnswer | FullShiftAnswer | Picture:
    """What the shift does to the ring, whether it blocks, comes free and stays cool, and which facing stands it.

    Say what has to be turned and the speed difference; what else is left out is assumed, and listed as assumed.
    """
    if as_picture:
        return drawn(shift_chart(await lane.run(full_shift_answer, question, base)).svg())
    return await lane.run(compute_shift_answer, question, base, asked.detail)


@router.get(
    "/shift",
    response_model=ShiftAnswer | FullShiftAnswer,
    responses={**documented(), **OR_A_PICTURE},
)
async def shift_by_link(
    question: Annotated[ShiftLink, Query()], base: Base, as_picture: AsPicture, lane: QuestionLane
) -> ShiftAnswer | FullShiftAnswer | Picture:
    """The same from a link; several cones of different radii: give `mean_radius_mm` once for each."""
    return await shift(of_link(question), base, as_picture, question, lane)


@router.get("/shift/curve", response_class=Picture, responses={**documented(), **A_PICTURE})
async def shift_curve(question: Annotated[FlatShiftQuestion, Query()], base: Base, lane: QuestionLane) -> Picture:
    """Speed difference, torque and temperature of the face over one shift, as a drawing from a link.

    Several cones of different radii: give `mean_radius_mm` once for each.
    """
    return Picture(shift_chart(await lane.run(full_shift_answer, of_link(question), base)).svg())
