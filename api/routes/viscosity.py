"""How thick an oil is, cold and hot."""

from typing import Annotated

from fastapi import APIRouter, Query

from api.charts.viscosity import viscosity_chart
from api.http.problems import documented
from api.http.strict_route import StrictRoute
from api.pictures import OR_A_PICTURE, AsWanted, Picture
from api.routes.dependencies import Base
from knowledge.viscosity import ViscosityAnswer, ViscosityQuestion, viscosity_answer

router = APIRouter(prefix="/v1", tags=["viscosity"], route_class=StrictRoute)


@router.get("/viscosity", response_model=ViscosityAnswer, responses={**documented(422), **OR_A_PICTURE})
async def viscosity(
    question: Annotated[ViscosityQuestion, Query()], base: Base, wanted: AsWanted
) -> ViscosityAnswer | Picture:
    """The ASTM D341 line of an oil, its viscosity index, and its viscosity at any number of temperatures.

    Give `temperature_c` as often as you like. Below 0 °C the figures are an indication only.
    """
    return wanted.form(viscosity_answer(question, base), viscosity_chart)
