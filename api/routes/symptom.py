"""Fluid or hardware."""

from fastapi import APIRouter

from api.http.problems import documented
from api.http.strict_route import StrictRoute
from api.routes.dependencies import Base, CurrentShop, DetailAsked
from knowledge.symptom.answer import FullSymptomAnswer, SymptomAnswer
from knowledge.symptom.compute import compute_symptom_answer
from knowledge.symptom.question import SymptomQuestion

router = APIRouter(prefix="/v1", tags=["symptom"], route_class=StrictRoute)


@router.post("/symptom", response_model=FullSymptomAnswer | SymptomAnswer, responses=documented(400, 413, 415, 422))
def complaint(question: SymptomQuestion, base: Base, shop: CurrentShop, asked: DetailAsked) -> SymptomAnswer:
    """Whether fluid can cure a complaint, the suspects in the order of the evidence, and the next checks.

    Say what was seen and leave out the rest. With a fill `question`, what is in the box is judged by figures too.
    """
    return compute_symptom_answer(question, base, shop, asked.detail)
