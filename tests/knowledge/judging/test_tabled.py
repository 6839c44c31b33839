"""What is looked up is what the rules decide, whatever is stated of a box and whatever is open."""

import numpy as np
import pytest
from hypothesis import given

from knowledge.box.cases import Cases
from knowledge.box.question import FillQuestion
from knowledge.judging.box_columns import BoxColumns
from knowledge.judging.grid import Grid
from knowledge.judging.judge import Judged
from knowledge.judging.outcomes import SORTS
from knowledge.judging.prepared import prepared
from knowledge.judging.rules import RULES
from knowledge.judging.tabled import LookedUp, tabled
from tests.knowledge.fill.boxes import questions
from tests.knowledge.law import law


def decided(cases: Cases) -> Judged:
    """The classes in these cases, with every rule decided anew."""
    ready = prepared(cases.base)
    return Judged(BoxColumns(cases, ready.classes, ready))


@pytest.mark.parametrize("as_if_named", [False, True])
def test_what_is_looked_up_is_what_the_rules_decide(base, as_if_named) -> None:
    @law(60)
    @given(questions(base))
    def holds(question) -> None:
        cases = Cases.of(FillQuestion.model_validate(question | {"service_data": None, "on_hand": []}), base)
        if cases.named.pairs:
            return
        known, anew = LookedUp(tabled(base, are_named=as_if_named), cases), decided(cases)
        anew = anew.as_if_named if as_if_named else anew
        for rule in range(len(RULES)):
            codes = known.codes(rule)
            if codes is not None:
                assert np.equal(*np.broadcast_arrays(anew.column(rule).code, codes)).all()
                assert np.equal(anew.worst_of(rule), known.worst(rule)).all()

    holds()


def test_a_refusal_that_is_looked_up_stands_in_the_same_cases(base) -> None:
    @law(60)
    @given(questions(base))
    def holds(question) -> None:
        cases = Cases.of(FillQuestion.model_validate(question | {"service_data": None, "on_hand": []}), base)
        looked_up, anew = Judged.of(cases), decided(cases)
        for sort in SORTS:
            found, wanted = looked_up.where(sort), anew.where(sort)
            grid = Grid.of(cases.axes, [*found, *wanted])
            size = anew.lubricants.size
            assert (grid.any_of(found, size) == grid.any_of(wanted, size)).all()

    holds()


def test_every_rule_is_looked_up_for_a_box_of_which_nothing_is_known(base) -> None:
    cases = Cases.of(FillQuestion(), base)
    assert all(LookedUp(tabled(base, are_named=False), cases).codes(rule) is not None for rule in range(len(RULES)))


@pytest.mark.parametrize(
    ("stated", "rule"),
    [
        ({"sump_hot_c": 90}, "a-stated-sump-must-be-borne-for-long"),
        ({"coldest_start_c": -21.5}, "cold-start-needs-oil-that-flows"),
        ({"rings": [{"facing": "bronze"}, {"facing": "paper"}]}, "mixed-sets-follow-the-most-demanding-ring"),
        ({"bearing": {"pitch_diameter_mm": 40, "speed_rpm": 900}}, "bearings-need-viscosity-when-hot"),
        ({"ring_geometry": {"detent_force_n": 60}}, "fluid-must-leave-rings-their-blocking-reserve"),
    ],
)
def test_what_was_not_tried_is_decided_anew(base, stated, rule) -> None:
    place = next(at for at, one in enumerate(RULES) if one.id == rule)
    cases = Cases.of(FillQuestion.model_validate(stated), base)
    assert LookedUp(tabled(base, are_named=False), cases).codes(place) is None
