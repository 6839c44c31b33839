"""What to fill a box with."""

from typing import Annotated

from fastapi import APIRouter, Query

from api.problems import documented
from api.routes.dependencies import Base, CurrentShop
from api.strict_route import StrictRoute
from knowledge.answers import FillAnswer
from knowledge.fill import fill_answer
from knowledge.questions import FillQuestion, FlatFillQuestion

router = APIRouter(prefix="/v1", tags=["fill"], route_class=StrictRoute)


@router.post("/fill", responses=documented(400, 413, 415, 422))
async def fill(question: FillQuestion, base: Base, shop: CurrentShop) -> FillAnswer:
    """Which lubricant classes fit this box, in order, why the others do not, and what to ask next.

    Leave out what you do not know: every plausible value is tried, and the answer says what depends on it.
    `{}` is a question too.
    """
    return fill_answer(question, base, shop)


@router.get("/fill", responses=documented(422))
async def fill_link(question: Annotated[FlatFillQuestion, Query()], base: Base, shop: CurrentShop) -> FillAnswer:
    """The same answer from a link: one set of rings and the plain facts of the box as parameters.

    `facing=none` says that the box has no synchronizer rings. A parameter left out is not known.
    """
    return fill_answer(question.question(), base, shop)
