"""The table of outcomes and the rules agree: every outcome has its words, and no word stands idle."""

from string import Formatter

import numpy as np
import pytest

from knowledge.judging.column_rule import first_of
from knowledge.judging.outcomes import Outcomes
from knowledge.judging.rules import RULES

BY_ANY_RULE = {"label", "limit"}


@pytest.fixture(scope="module")
def rows(base):
    """The outcomes of each rule."""
    return {rule.id: [row for row in base.outcomes if row.rule == rule.id] for rule in RULES}


@pytest.mark.parametrize("spelt", ["axle-grades-drag-on-the-rings,drag", "axle-grades-drag,drags"])
def test_a_row_of_no_outcome_and_an_outcome_without_a_row_are_told(spoilt, spelt: str) -> None:
    faults = spoilt("outcomes.csv", "axle-grades-drag-on-the-rings,drags,", f"{spelt},")
    assert {fault.file for fault in faults} == {"outcomes.csv"}
    assert {fault.message for fault in faults} == {
        "no row for axle-grades-drag-on-the-rings / drags",
        f"a row for {spelt.replace(',', ' / ')} is of no use here",
    }


def test_every_row_belongs_to_a_rule_that_there_is(base) -> None:
    assert {row.rule for row in base.outcomes} == {rule.id for rule in RULES}


@pytest.mark.parametrize("place", range(len(RULES)), ids=[rule.id for rule in RULES])
def test_a_rule_decides_between_the_outcomes_that_the_table_has(judge, rows, place) -> None:
    decision = judge().judged.decision(place)
    named = [*(name for _, name in decision.choices), decision.otherwise]
    assert sorted(named) == sorted(row.outcome for row in rows[RULES[place].id])


@pytest.mark.parametrize("rule", RULES, ids=[rule.id for rule in RULES])
def test_a_rule_fills_every_place_in_its_texts_and_no_other(rule, rows) -> None:
    told = ((row.text, row.unless, row.when_named, row.sheet_line) for row in rows[rule.id])
    texts = " ".join(text for texts in told for text in texts if text)
    places = {name.partition("[")[0] for _, name, _, _ in Formatter().parse(texts) if name}
    assert places - BY_ANY_RULE == set(rule.words)


def test_the_first_condition_that_holds_names_the_outcome(rows) -> None:
    known = Outcomes.of(rows["wet-clutch-needs-its-own-fluid"])
    names = [row.outcome for row in known.rows]
    over_cases, over_oils = np.array([[True], [False]]), np.array([[True, False]])
    made = first_of((over_cases, names[3]), (over_oils, names[1]), (np.False_, names[4]), otherwise=names[2])
    assert known.resolve(made).tolist() == [[3, 3], [1, 2]]
    sure = first_of((over_oils, names[1]), (np.True_, names[0]), (over_cases, names[3]), otherwise=names[2])
    assert known.resolve(sure).tolist() == [[1, 0]]


def test_an_outcome_that_the_table_lacks_is_an_error(rows) -> None:
    with pytest.raises(KeyError):
        Outcomes.of(rows["wet-clutch-needs-its-own-fluid"]).resolve(first_of(otherwise="no-such-outcome"))
