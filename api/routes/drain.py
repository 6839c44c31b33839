"""What about the fluid that is in it now?"""

from fastapi import APIRouter

from api.problems import documented
from api.routes.dependencies import Base, CurrentShop
from api.strict_route import StrictRoute
from knowledge.drain.answer import DrainAnswer
from knowledge.drain.compute import drain_answer
from knowledge.drain.question import DrainQuestion

router = APIRouter(prefix="/v1", tags=["drain"], route_class=StrictRoute)


@router.post("/drain", responses=documented(400, 413, 415, 422))
async def drain(question: DrainQuestion, base: Base, shop: CurrentShop) -> DrainAnswer:
    """How much of the old fluid each drain and refill leaves, the mixture on the way, and the rounds and litres needed.

    Leave out what you do not know; what is taken as given instead stands in the answer.
    """
    return drain_answer(question, base, shop)
