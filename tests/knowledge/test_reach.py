"""Nothing lies in the tables that no answer ever shows: each entry comes to the surface somewhere."""

import json
from typing import Any

import pytest

from api.ask import ASKINGS
from api.settings import DEMO
from knowledge.base import KnowledgeBase
from knowledge.shop.shop import Shop
from knowledge.symptom.answer import SymptomAnswer
from knowledge.symptom.compute import compute_symptom_answer
from knowledge.symptom.question import SymptomQuestion
from knowledge.symptom.rows import CheckRow, EvidenceRow, SuspectRow

QUESTIONS = sorted((DEMO / "questions").glob("*.json"))
FLAGS = {"true": True, "false": False}


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
def complaints(base: KnowledgeBase) -> dict[str, SymptomAnswer]:
    """For each suspect the answer where the most that speaks for it is seen."""
    return {
        id: compute_symptom_answer(SymptomQuestion.model_validate(_worst_case(id, base)), base, detail="full")
        for id in base.by_id(SuspectRow)
    }


def _worst_case(suspect: str, base: KnowledgeBase) -> dict[str, Any]:
    """One value for each thing that can be seen: the one that speaks loudest for the suspect."""
    rows = sorted((row for row in base.rows(EvidenceRow) if row.suspect == suspect), key=lambda row: row.steps)
    seen = dict(row.seen.split("=") for row in rows if row.steps > 0 and row.only_with is None)
    asked = {name: FLAGS.get(value, value) for name, value in seen.items() if name in SymptomQuestion.model_fields}
    asked.pop("ring_gap", None)
    return asked | {name: [asked[name]] for name in ("symptoms", "fluid_state") if name in asked}


def test_every_circumstance_of_a_caution_is_met_by_a_demo_question(base, demo_cautions) -> None:
    met = {name for caution in base.cautions.values() if caution.id in demo_cautions for name in caution.when}
    assert met == {name for caution in base.cautions.values() for name in caution.when}


def test_every_class_serves_a_box_whose_service_data_names_it(box, judge) -> None:
    """A light box without rings or copper in mild weather; what the class promises in frost is another matter."""
    for place, oil in enumerate(judge().lubricants):
        named = {"family": oil.family.id, "grade": oil.grade}
        assert place in judge(**box(None, coldest_start_c=10, sump_hot_c=60, service_data=named)).order, oil.id


def test_every_suspect_comes_to_lead(base, complaints) -> None:
    leading = {suspect.id for answer in complaints.values() for suspect in answer.suspects if suspect.leads}
    assert leading == set(base.by_id(SuspectRow))


def test_every_check_is_wanted_for_some_complaint(base, complaints) -> None:
    assert {check.id for answer in complaints.values() for check in answer.next_checks} == set(base.by_id(CheckRow))
