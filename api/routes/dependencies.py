"""What a route gets from the app: the knowledge it was started with, and the current state of the shop."""

from typing import Annotated, Any

from fastapi import Depends, Path, Query, Request
from fastapi.params import Path as PathParameter
from pydantic import Field

from api.http.lanes import AskedLane
from api.http.moment import shop_now
from api.shop import Snapshot
from knowledge.base import KnowledgeBase
from knowledge.parts.query_model import QueryModel
from knowledge.parts.request_model import ANY_CASE, Detail
from knowledge.shop.shop import Shop


async def base_of_app(request: Request) -> KnowledgeBase:
    """The knowledge base that `create_app` was given."""
    base: KnowledgeBase = request.app.state.base
    return base


Base = Annotated[KnowledgeBase, Depends(base_of_app)]


async def shop_of_app(request: Request) -> Snapshot:
    """The shop at this moment; one request reads it once, so that an edit cannot come between."""
    return shop_now(request)


async def current_shop(now: Annotated[Snapshot, Depends(shop_of_app)]) -> Shop:
    """The last sound state of the shop's tables."""
    return now.shop


ShopNow = Annotated[Snapshot, Depends(shop_of_app)]
CurrentShop = Annotated[Shop, Depends(current_shop)]


def lane(name: str) -> Any:
    """The lane of this name, for a route that takes long."""

    async def lane_of_request(request: Request) -> AskedLane:
        return AskedLane(request.scope["lanes"][name], request.receive)

    return Depends(lane_of_request)


QuestionLane = Annotated[AskedLane, lane("questions")]
LongLane = Annotated[AskedLane, lane("long")]
PageLane = Annotated[AskedLane, lane("pages")]
DocumentLane = Annotated[AskedLane, lane("document")]


class DetailQuery(QueryModel):
    """How much of an answer is asked for."""

    detail: Annotated[Detail, ANY_CASE] = Field(
        "short", description="`full` adds what the answer was made from.", examples=["short", "full"]
    )


DetailAsked = Annotated[DetailQuery, Query()]


def named(listing: str, example: str) -> PathParameter:
    """An id in a path: where the known ones are listed, and one of them."""
    parameter: PathParameter = Path(description=f"An id of {listing}.", examples=[example])
    return parameter
