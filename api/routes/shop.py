"""The shop's own boxes and jugs; each route tells which state of the tables speaks."""

from typing import Annotated

from fastapi import APIRouter

from api.http.problems import documented, known_id
from api.http.strict_route import StrictRoute
from api.routes.dependencies import Base, ShopNow, named
from knowledge.shop.models import BoxEntry, ShelfEntry, ShopBoxes, ShopShelf

router = APIRouter(prefix="/v1/shop", tags=["shop"], route_class=StrictRoute, responses=documented())
UNKNOWN = documented(404)


@router.get("/boxes")
async def shop_boxes(base: Base, now: ShopNow) -> ShopBoxes:
    """The boxes the shop knows; `box_ref` in a question names one of them."""
    return ShopBoxes(knowledge=base.stamp, shop=now.state, boxes=tuple(now.shop.boxes.values()))


@router.get("/boxes/{id}", responses=UNKNOWN)
async def shop_box(id: Annotated[str, named("/v1/shop/boxes", "bench-paper-5")], base: Base, now: ShopNow) -> BoxEntry:
    """One box of the shop."""
    return BoxEntry(knowledge=base.stamp, shop=now.state, entry=now.shop.boxes[known_id(id, now.shop.boxes)])


@router.get("/shelf")
async def shop_shelf(base: Base, now: ShopNow) -> ShopShelf:
    """The jugs on the shelf; `use_shelf` in a question judges each of them."""
    return ShopShelf(knowledge=base.stamp, shop=now.state, shelf=tuple(now.shop.shelf.values()))


@router.get("/shelf/{id}", responses=UNKNOWN)
async def shelf_jug(id: Annotated[str, named("/v1/shop/shelf", "jug-a")], base: Base, now: ShopNow) -> ShelfEntry:
    """One kind of jug on the shelf."""
    return ShelfEntry(knowledge=base.stamp, shop=now.state, entry=now.shop.shelf[known_id(id, now.shop.shelf)])
