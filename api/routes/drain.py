"""What about the fluid that is in it now?"""

from fastapi import APIRouter

from api.http.problems import documented
from api.http.strict_route import StrictRoute
from api.routes.dependencies import Base, CurrentShop, DetailAsked
from knowledge.drain.answer import DrainAnswer, FullDrainAnswer
from knowledge.drain.compute import compute_drain_answer
from knowledge.drain.question import DrainQuestion

router = APIRouter(prefix="/v1", tags=["drain"], route_class=StrictRoute)


@router.post("/drain", response_model=FullDrainAnswer | DrainAnswer, responses=documented(400, 413, 415, 422))
async def drain(question: DrainQuestion, base: Base, shop: CurrentShop, asked: DetailAsked) -> DrainAnswer:
    """How much of the old fluid each drain and refill leaves, the mixture on the way, and the rounds and litres needed.

    Leave out what you do not know; what is taken as given instead stands in the answer.
    """
    return compute_drain_answer(question, base, shop, asked.detail)
