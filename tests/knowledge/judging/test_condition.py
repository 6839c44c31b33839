"""What must be so for something to hold names the values with which it can hold, and no other."""

import numpy as np
import pytest

from knowledge.box.cases import Cases
from knowledge.box.question import FillQuestion
from knowledge.judging.condition import OF_COMBINATIONS, only_if, value_words
from knowledge.judging.explain import explain
from knowledge.judging.rules import RULES
from knowledge.text import listed

pytestmark = pytest.mark.filterwarnings("ignore:Generating overly large repr")  # of the knowledge base


def test_a_condition_names_the_values_of_each_field_with_which_a_finding_bites(asked_every_way, base) -> None:
    for at, (_, judgement, cases) in enumerate(asked_every_way[:30]):
        place = at * 11 % len(base.lubricants)
        for rule in range(len(RULES)):
            whole = explain(judgement.judged, rule, place)
            if whole.only_if is None:
                continue
            parts = [(case, explain(case.judgement.judged, rule, place)) for case in cases]
            bites = [
                case.replies
                for case, part in parts
                if part.effect == whole.effect and bool(part.sources) == bool(whole.sources)
            ]
            for _, field in judgement.cases.open:
                if field.name.endswith("_c") or field.name == "rings" or field.field not in RULES[rule].fields:
                    continue
                can = [value for value in field.values if any(replies[field.pointer] == value for replies in bites)]
                words = listed((value_words(field.name, value, base) for value in can), "or")
                phrase = base.unknowns[field.name].phrase.format(values=words)
                assert (phrase in whole.only_if) == (len(can) < len(field.values))


@pytest.mark.parametrize(
    ("held", "words"),
    [
        ({-30}, "-30 °C or colder"),
        ({-30, -15}, "-15 °C or colder"),
        ({0, 10}, "0 °C or hotter"),
        ({-15, 0}, "-15 °C to 0 °C"),
        ({-30, 10}, "-30 °C or 10 °C"),
    ],
)
def test_temperatures_are_told_by_the_end_that_bounds_them(base, held, words) -> None:
    cases = Cases.of(FillQuestion(rings=()), base)
    axis, field = next(item for item in cases.open if item[1].name == "coldest_start_c")
    assert set(field.values) == {-30, -15, 0, 10}
    holds = np.array([field.values[place] in held for place in field.value_of])
    assert words in only_if({axis: holds}, {"coldest_start_c"}, cases)


def test_what_no_single_field_decides_is_said_to_depend_on_combinations(base) -> None:
    cases = Cases.of(FillQuestion(rings=()), base)
    assert only_if({}, {"duty"}, cases) == OF_COMBINATIONS
