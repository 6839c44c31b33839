"""What hangs on the wall and what is learned from: the chart of a kind of box, and ten boxes with their answers."""

from typing import Annotated

from fastapi import APIRouter, Query, Request, Response

from api.http.moment import today
from api.http.problems import Refused
from api.http.tagged_route import TaggedRoute
from api.openapi import question_examples
from api.routes.dependencies import Base, CurrentShop, LongLane, PageLane
from api.shop import DEMO
from api.views.page import page
from api.views.wall import chart_view, lessons
from knowledge.fill.wall_chart import wall_chart
from knowledge.fluids.possible_lubricants import classes_at_hand
from knowledge.ids import with_ids
from knowledge.parts.query_model import QueryModel
from knowledge.parts.references import Refers
from knowledge.parts.request_model import Identifier

router = APIRouter(include_in_schema=False, route_class=TaggedRoute)
NO_SHELF = "There is no jug on the shelf of this service. Leave it out."
NOTHING_STOCKED = Refused.parameter("stocked", "no_shelf", NO_SHELF)


class ChartLink(QueryModel):
    """Which kind of box the chart is for, and whether it keeps to what is on the shelf."""

    box_kind: Annotated[Identifier | None, Refers("box_kinds")] = None
    stocked: bool = False


@router.get("/chart")
async def chart(
    request: Request, asked: Annotated[ChartLink, Query()], base: Base, shop: CurrentShop, lane: LongLane
) -> Response:
    """One page for the wall: facing by use by coldest start, and what never goes in."""
    asked = with_ids(asked, base)
    if asked.stocked and not shop.shelf:
        raise NOTHING_STOCKED
    stocked = classes_at_hand(shop.shelf.values(), base) if asked.stocked else None
    found = await lane.run(wall_chart, asked.box_kind, base, stocked, shop.region)
    view = chart_view(found, base)
    return page("chart.html", here="chart", view=view, asked=asked, shop=shop, base=base, day_printed=today(request))


@router.get("/learn")
async def learn(base: Base, lane: PageLane) -> Response:
    """Ten invented boxes; each answer is hidden until it is asked for, with its reasons and what would turn it."""
    boxes = await lane.run(lessons, question_examples(DEMO, "fill", public=True).values(), base)
    return page("learn.html", here="learn", boxes=boxes, base=base)
