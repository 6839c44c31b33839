"""What to stock, for programs and as a page; both speak of what the shop has."""

from typing import Annotated

from fastapi import APIRouter, Query, Response

from api.http.problems import A_BODY, documented
from api.http.strict_route import StrictRoute
from api.http.tagged_route import TaggedRoute
from api.routes.dependencies import Base, CurrentShop, LongLane, PageLane
from api.views.page import MORE_OF_THE_SHOP, page
from knowledge.parts.query_model import QueryModel
from knowledge.parts.request_model import as_in
from knowledge.stock.answer import StockAnswer
from knowledge.stock.compute import compute_stock_answer
from knowledge.stock.question import StockQuestion

router = APIRouter(prefix="/v1", tags=["shop"], route_class=StrictRoute)
pages_router = APIRouter(include_in_schema=False, route_class=TaggedRoute)


class StockLink(QueryModel):
    """What a shop that asks about all its boxes may choose."""

    allow_care: bool = as_in(StockQuestion, "allow_care", True)
    allow_second: bool = as_in(StockQuestion, "allow_second", True)


@router.post("/stock", responses=documented(*A_BODY))
async def stock(question: StockQuestion, base: Base, shop: CurrentShop, lane: LongLane) -> StockAnswer:
    """The fewest classes of jug that serve these boxes, which box needs which, and what one jug fewer or more is worth.

    Exact, by an integer program. `{}` asks it of the shop's own boxes; a list of `boxes` says how often each is asked.
    """
    return await lane.run(compute_stock_answer, question, base, shop)


@pages_router.get("/stock")
async def stock_page(asked: Annotated[StockLink, Query()], base: Base, shop: CurrentShop, lane: PageLane) -> Response:
    """The plan for the shop's own boxes as a table, boxes by jugs."""
    question = StockQuestion(use_shop=True, **asked.model_dump())
    answer = await lane.run(compute_stock_answer, question, base, shop)
    return page("stock.html", here="stock", more=MORE_OF_THE_SHOP, view=answer, asked=asked, base=base, shop=shop)
