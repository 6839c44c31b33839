"""Nothing lies in the tables that no answer ever shows: each entry comes to the surface somewhere."""

import json
import tomllib
from pathlib import Path

import pytest

from api.ask import ASKINGS
from api.settings import DEMO
from knowledge.base import KnowledgeBase
from knowledge.shop.shop import Shop
from knowledge.symptom.answer import SymptomAnswer
from knowledge.symptom.compute import compute_symptom_answer
from knowledge.symptom.question import SymptomQuestion
from knowledge.symptom.rows import CheckRow, SuspectRow

QUESTIONS = sorted((DEMO / "questions").glob("*.json"))
GOLDEN = Path(__file__).parents[1] / "golden"


@pytest.fixture(scope="module")
def demo_cautions(base: KnowledgeBase, demo_shop: Shop) -> set[str]:
    """The cautions that go with the questions of the demo shop."""
    found: set[str] = set()
    for path in QUESTIONS:
        item = json.loads(path.read_text(encoding="utf-8"))
        kind = ASKINGS[item["ask"]]
        question = kind.model.model_validate(item["question"])
        answer = kind.answer(question, base, *([demo_shop] if kind.reads_shop else []), detail="full")
        found |= set(getattr(answer, "every_fill", ()))
        found |= {caution.id for caution in getattr(answer, "cautions", ())}
    return found


@pytest.fixture(scope="module")
def complaints(base: KnowledgeBase) -> list[SymptomAnswer]:
    """The answers to the everyday complaints."""
    everyday = tomllib.loads((GOLDEN / "complaints.toml").read_text(encoding="utf-8"))["complaint"]
    asked = (SymptomQuestion.model_validate(item["asked"]) for item in everyday)
    return [compute_symptom_answer(question, base, detail="full") for question in asked]


def test_every_circumstance_of_a_caution_is_met_by_a_demo_question(base, demo_cautions) -> None:
    met = {name for caution in base.cautions.values() if caution.id in demo_cautions for name in caution.when}
    assert met == {name for caution in base.cautions.values() for name in caution.when}


def test_every_class_serves_a_box_whose_service_data_names_it(box, judge) -> None:
    """A light box without rings or copper in mild weather; what the class promises in frost is another matter."""
    for place, oil in enumerate(judge().lubricants):
        named = {"family": oil.family.id, "grade": oil.grade}
        assert place in judge(**box(None, coldest_start_c=10, sump_hot_c=60, service_data=named)).order, oil.id


def test_every_suspect_comes_to_lead(base, complaints) -> None:
    leading = {suspect.id for answer in complaints for suspect in answer.suspects if suspect.leads}
    assert leading == set(base.by_id(SuspectRow))


def test_every_check_is_wanted_for_some_complaint(base, complaints) -> None:
    assert {check.id for answer in complaints for check in answer.next_checks} == set(base.by_id(CheckRow))
