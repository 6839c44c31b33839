"""Is this jug right, what about the fluid that is in it now, is it the fluid at all, and how thick is it?"""

from typing import Annotated

from fastapi import APIRouter, Query

from api.charts.viscosity import viscosity_chart
from api.http.handlers import of_link
from api.http.pictures import OR_A_PICTURE, AsPicture, Picture, drawn
from api.http.problems import A_BODY, documented
from api.http.strict_route import StrictRoute
from api.routes.dependencies import Base, CurrentShop, DetailAsked, DetailQuery, QuestionLane
from knowledge.drain.answer import DrainAnswer, FullDrainAnswer
from knowledge.drain.compute import compute_drain_answer
from knowledge.drain.question import DrainQuestion, FlatDrainQuestion
from knowledge.jug.answer import FullJugAnswer, JugAnswer
from knowledge.jug.compute import compute_jug_answer
from knowledge.jug.question import FlatJugQuestion, JugQuestion
from knowledge.symptom.answer import FullSymptomAnswer, SymptomAnswer
from knowledge.symptom.compute import compute_symptom_answer
from knowledge.symptom.question import FlatSymptomQuestion, SymptomQuestion
from knowledge.viscosity import ViscosityAnswer, ViscosityQuestion, viscosity_answer

router = APIRouter(prefix="/v1", route_class=StrictRoute)
REFUSALS = documented(*A_BODY)


class JugLink(FlatJugQuestion, DetailQuery):
    """A jug question as a link, and how much of its answer is asked for."""


class DrainLink(FlatDrainQuestion, DetailQuery):
    """A drain question as a link, and how much of its answer is asked for."""


class ComplaintLink(FlatSymptomQuestion, DetailQuery):
    """A symptom question as a link, and how much of its answer is asked for."""


@router.post("/jug", tags=["jug"], response_model=FullJugAnswer | JugAnswer, responses=REFUSALS)
async def jug(
    question: JugQuestion, base: Base, shop: CurrentShop, asked: DetailAsked, lane: QuestionLane
) -> JugAnswer:
    """What the label and the data sheet of a jug come to; with a fill `question`, its verdict for that box.

    Give what the label and the sheet say and leave out the rest: the answer says which missing line would decide.
    """
    is_judged = question.question is not None
    return await lane.run_if(is_judged, compute_jug_answer, question, base, shop, asked.detail)


@router.get("/jug", tags=["jug"], response_model=FullJugAnswer | JugAnswer, responses=documented())
async def jug_link(
    question: Annotated[JugLink, Query()], base: Base, shop: CurrentShop, lane: QuestionLane
) -> JugAnswer:
    """The same answer from a link: the jug, and with any field of a box its verdict for that box.

    `limited_slip` is said of the jug, `box_limited_slip` of the box.
    """
    return await jug(of_link(question), base, shop, question, lane)


@router.post("/drain", tags=["drain"], response_model=FullDrainAnswer | DrainAnswer, responses=REFUSALS)
async def drain(question: DrainQuestion, base: Base, shop: CurrentShop, asked: DetailAsked) -> DrainAnswer:
    """How much of the old fluid each drain and refill leaves, the mixture on the way, and the rounds and litres needed.

    Leave out what you do not know; what is taken as given instead stands in the answer.
    """
    return compute_drain_answer(question, base, shop, asked.detail)


@router.get("/drain", tags=["drain"], response_model=FullDrainAnswer | DrainAnswer, responses=documented())
async def drain_link(question: Annotated[DrainLink, Query()], base: Base, shop: CurrentShop) -> DrainAnswer:
    """The same answer from a link: `old_family`, `new_kv40_mm2_s` and so on, and the box."""
    return await drain(of_link(question), base, shop, question)


@router.post("/symptom", tags=["symptom"], response_model=FullSymptomAnswer | SymptomAnswer, responses=REFUSALS)
async def complaint(
    question: SymptomQuestion, base: Base, shop: CurrentShop, asked: DetailAsked, lane: QuestionLane
) -> SymptomAnswer:
    """Whether fluid can cure a complaint, the suspects in the order of the evidence, and the next checks.

    Say what was seen and leave out the rest. With a fill `question`, what is in the box is judged by figures too.
    """
    is_judged = question.question is not None
    return await lane.run_if(is_judged, compute_symptom_answer, question, base, shop, asked.detail)


@router.get("/symptom", tags=["symptom"], response_model=FullSymptomAnswer | SymptomAnswer, responses=documented())
async def complaint_link(
    question: Annotated[ComplaintLink, Query()], base: Base, shop: CurrentShop, lane: QuestionLane
) -> SymptomAnswer:
    """The same answer from a link: what was seen, `symptoms` and `fluid_state` as often as you like, and the box."""
    return await complaint(of_link(question), base, shop, question, lane)


@router.get(
    "/viscosity",
    tags=["viscosity"],
    response_model=ViscosityAnswer,
    responses={**documented(), **OR_A_PICTURE},
)
async def viscosity(
    question: Annotated[ViscosityQuestion, Query()], base: Base, as_picture: AsPicture
) -> ViscosityAnswer | Picture:
    """The ASTM D341 line of an oil, its viscosity index, and its viscosity at any number of temperatures.

    Give `temperature_c` as often as you like. Below 0 °C the figures are an indication only.
    """
    answer = viscosity_answer(question, base)
    return drawn(viscosity_chart(answer).svg()) if as_picture else answer
