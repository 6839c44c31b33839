"""What every answer carries beside its own matter."""

import pytest

from knowledge.base import KnowledgeBase
from knowledge.box.circumstances import CIRCUMSTANCES
from knowledge.box.question import FillQuestion
from knowledge.drain.compute import compute_drain_answer
from knowledge.drain.question import DrainQuestion
from knowledge.judging.judgement import Judgement
from knowledge.jug.compute import compute_jug_answer
from knowledge.jug.question import JugQuestion

pytestmark = pytest.mark.filterwarnings("ignore:Generating overly large repr")  # of the knowledge base
BOX = FillQuestion(final_drive="none", limited_slip=False)
ANSWERS = {
    "fill": lambda box, base: Judgement.of(box, base).cautions(),
    "jug": lambda box, base: (
        compute_jug_answer(JugQuestion(kv100_mm2_s=15.0, question=box), base, detail="full").cautions
    ),
    "drain": lambda box, base: compute_drain_answer(DrainQuestion(question=box), base, detail="full").cautions,
}


@pytest.mark.parametrize("answer", ANSWERS.values(), ids=ANSWERS)
def test_a_caution_that_may_not_apply_says_on_what_it_depends(answer, base: KnowledgeBase) -> None:
    cautions = {caution.id: caution for caution in answer(BOX, base)}
    assert cautions["yellow-metal"].only_if == "Only if there is yellow metal in the oil."
    assert "wet clutch" in cautions["wet-clutch"].only_if
    assert not {"limited-slip-clutch", "final-drive-shares-oil"} & set(cautions)


@pytest.mark.parametrize("answer", ANSWERS.values(), ids=ANSWERS)
def test_cautions_stand_worst_first_and_what_is_sure_before_what_may_be(answer, base: KnowledgeBase) -> None:
    cautions = answer(FillQuestion(), base)
    order = [(("danger", "warning", "note").index(item.severity), item.only_if is not None) for item in cautions]
    assert order == sorted(order)
    assert len(set(order)) > 2


def test_the_cautions_are_those_of_every_case_and_sure_where_each_has_them(asked_every_way, base) -> None:
    for _, judgement, cases in asked_every_way:
        parts = [{one.id for one in case.judgement.cautions()} for case in cases]
        found = {one.id: one.only_if for one in judgement.cautions()}
        assert found.keys() == set.union(*parts)
        for id, condition in found.items():
            of_question = all(CIRCUMSTANCES[name].fact is None for name in base.cautions[id].when)
            assert condition is not None or of_question or all(id in part for part in parts)
            # Several circumstances may bring it about between them, of which each alone only may be.
            assert condition is None or not all(id in part for part in parts) or len(base.cautions[id].when) > 1
