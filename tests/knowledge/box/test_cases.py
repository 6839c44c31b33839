"""What is unknown is tried in every way that the trade meets, each weighed, and in no other."""

import numpy as np
import pytest

from tests.knowledge.every_case import open_values


def test_the_cases_are_all_that_are_met_and_the_values_tried_are_those_in_them(asked_every_way, base) -> None:
    for question, judgement, cases in asked_every_way:
        assert judgement.count == len(cases)
        occurring = {pointer: {case.replies[pointer] for case in cases} for pointer in open_values(question, base)}
        tried = {pointer: set(values) for pointer, values in judgement.tried}
        assert tried == {pointer: values for pointer, values in occurring.items() if len(values) > 1}


def test_what_is_open_weighs_what_the_tables_say_of_it(asked_every_way) -> None:
    for question, judgement, cases in asked_every_way:
        for axis, field in judgement.cases.open:
            weights = np.bincount(field.value_of, judgement.cases.axes[axis].weights)
            for value, weight in zip(field.values, weights, strict=True):
                met = sum(case.weight for case in cases if case.replies[field.pointer] == value)
                assert weight == pytest.approx(met), (question, field.pointer, value)


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
