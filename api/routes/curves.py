"""Viscosity over temperature of the classes that lead an answer."""

from typing import Annotated

from fastapi import APIRouter, Query

from api.http.problems import documented
from api.http.strict_route import StrictRoute
from api.routes.dependencies import Base, CurrentShop
from knowledge.box.question import FlatFillQuestion
from knowledge.fill.curves import fill_curves
from knowledge.fill.curves_answer import FillCurves

router = APIRouter(prefix="/v1", tags=["fill"], route_class=StrictRoute)


@router.get("/fill/curves", responses=documented(422))
async def fill_curves_link(question: Annotated[FlatFillQuestion, Query()], base: Base, shop: CurrentShop) -> FillCurves:
    """The leading classes of `GET /v1/fill` as curves over temperature, beside the window of the box.

    No bands while the first class still depends on what is not known.
    """
    return fill_curves(question.question(), base, shop)
