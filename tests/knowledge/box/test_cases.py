"""What is unknown is tried in every way that it can turn out, and in no other."""

from hypothesis import given
from hypothesis import strategies as st

from tests.knowledge.every_case import every_case, open_values
from tests.knowledge.law import law


@law(20)
@given(data=st.data())
def test_the_cases_are_all_that_can_occur_and_the_values_tried_are_those_in_them(
    data, partly_stated_questions, base, judge
) -> None:
    question = data.draw(partly_stated_questions)
    cases, judgement = every_case(question, base, judge), judge(**question)
    assert judgement.count == len(cases)
    occurring = {pointer: {case.replies[pointer] for case in cases} for pointer in open_values(question, base)}
    tried = {pointer: set(values) for pointer, values in judgement.tried}
    assert tried == {pointer: values for pointer, values in occurring.items() if len(values) > 1}


def test_a_fully_stated_question_is_one_case(judge, box) -> None:
    assert (judge(**box("paper")).count, judge(**box("paper")).tried) == (1, ())


def test_yellow_metal_is_not_asked_of_a_box_with_bronze_rings(judge, box) -> None:
    assert judge(**box("bronze", yellow_metal=None)).tried == ()


def test_no_clutch_pack_is_tried_where_there_is_no_final_drive(judge, box) -> None:
    assert judge(**box("paper", limited_slip=None, final_drive="none")).count == 1
    assert judge(**box("paper", limited_slip=None, final_drive="helical")).count == 2


def test_no_bronze_ring_body_is_tried_where_the_caller_says_no_yellow_metal(judge, ask, box) -> None:
    denied = box("paper", body=None, yellow_metal=False)
    assert "bronze" not in dict(judge(**denied).tried).get("/rings/0/body", ())
    assert not [item for item in ask(**denied).question.assumed if item.pointer == "/yellow_metal"]


def test_alternatives_of_an_axis_weigh_the_same_and_any_combination_of_axes_can_occur(judge) -> None:
    cases = judge().cases
    assert {weight for axis in cases.axes for weight in axis.weights.tolist()} == {1.0}
    assert cases.weight == cases.count > 1000
