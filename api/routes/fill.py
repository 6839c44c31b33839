"""What to fill a box with."""

from typing import Annotated

from fastapi import APIRouter, Query
from fastapi.concurrency import run_in_threadpool

from api.problems import documented
from api.routes.dependencies import Base, CurrentShop
from api.strict_route import StrictRoute
from knowledge.base import KnowledgeBase
from knowledge.box.question import FillQuestion, FlatFillQuestion
from knowledge.fill.answer import FillAnswer
from knowledge.fill.compute import fill_answer
from knowledge.shop.shop import Shop

router = APIRouter(prefix="/v1", tags=["fill"], route_class=StrictRoute)


@router.post("/fill", responses=documented(400, 413, 415, 422))
async def fill(question: FillQuestion, base: Base, shop: CurrentShop) -> FillAnswer:
    """Which lubricant classes fit this box, in order, why the others do not, and what to ask next.

    Leave out what you do not know: every plausible value is tried, and the answer says what depends on it.
    `{}` is a question too.
    """
    return await _answered(question, base, shop)


@router.get("/fill", responses=documented(422))
async def fill_link(question: Annotated[FlatFillQuestion, Query()], base: Base, shop: CurrentShop) -> FillAnswer:
    """The same answer from a link: one set of rings and the plain facts of the box as parameters.

    `facing=none` says that the box has no synchronizer rings. A parameter left out is not known.
    """
    return await _answered(question.question(), base, shop)


async def _answered(question: FillQuestion, base: KnowledgeBase, shop: Shop) -> FillAnswer:
    """Many jugs that may be anything, in a box of which nothing is known, take seconds: others are served meanwhile."""
    if question.on_hand or question.use_shelf:
        return await run_in_threadpool(fill_answer, question, base, shop)
    return fill_answer(question, base, shop)
