"""Is this jug right?"""

from fastapi import APIRouter

from api.http.problems import documented
from api.http.strict_route import StrictRoute
from api.routes.dependencies import Base, CurrentShop, DetailAsked
from knowledge.jug.answer import FullJugAnswer, JugAnswer
from knowledge.jug.compute import compute_jug_answer
from knowledge.jug.question import JugQuestion

router = APIRouter(prefix="/v1", tags=["jug"], route_class=StrictRoute)


@router.post("/jug", response_model=FullJugAnswer | JugAnswer, responses=documented(400, 413, 415, 422))
def jug(question: JugQuestion, base: Base, shop: CurrentShop, asked: DetailAsked) -> JugAnswer:
    """What the label and the data sheet of a jug come to; with a fill `question`, its verdict for that box.

    Give what the label and the sheet say and leave out the rest: the answer says which missing line would decide.
    """
    return compute_jug_answer(question, base, shop, asked.detail)
