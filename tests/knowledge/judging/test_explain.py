"""A finding says the worst of every case, how often it is so, and what must be so for it to bite."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from knowledge.judging.explain import explain, share_of
from knowledge.judging.rules import RULES
from knowledge.parts.provenance import EFFECTS_FROM_WORST
from knowledge.text import significant
from tests.knowledge.every_case import SERVES, every_case, folded
from tests.knowledge.law import law

pytestmark = pytest.mark.filterwarnings("ignore:Generating overly large repr")  # of the knowledge base


@law(25)
@given(data=st.data())
def test_a_partly_stated_question_is_the_exact_sum_of_its_cases(data, partly_stated_questions, base, judge) -> None:
    question = data.draw(partly_stated_questions)
    cases, judgement = every_case(question, base, judge), judge(**question)
    effects = np.array([case.judgement.judged.worst for case in cases])
    assert (judgement.judged.worst == effects.min(axis=0)).all()
    for place in range(len(base.lubricants)):
        verdicts = [case.judgement.verdict(place) for case in cases]
        assert judgement.verdict(place) == folded(verdicts)
        served = sum(verdict in SERVES for verdict in verdicts)
        assert judgement.share_of_cases(place) == pytest.approx(served / len(cases))
        for rule in range(len(RULES)):
            share = (effects[:, rule, place] == effects[:, rule, place].min()).mean()
            assert share_of(judgement.judged, rule, place) == pytest.approx(share)


@law(25)
@given(data=st.data())
def test_a_finding_is_the_worst_of_those_of_its_cases(data, partly_stated_questions, base, judge) -> None:
    question = data.draw(partly_stated_questions)
    place = data.draw(st.sampled_from(range(len(base.lubricants))))
    cases, judgement = every_case(question, base, judge), judge(**question)
    for rule in range(len(RULES)):
        whole = explain(judgement.judged, rule, place)
        parts = [explain(case.judgement.judged, rule, place) for case in cases]
        assert whole.effect == min((part.effect for part in parts), key=EFFECTS_FROM_WORST.index)
        bites = [part for part in parts if part.effect == whole.effect and bool(part.sources) == bool(whole.sources)]
        assert whole.severity in {part.severity for part in bites}
        assert (whole.only_if is None) == (len(bites) == len(parts) or not whole.sources)
        margins = [part.margin for part in parts if part.margin is not None]
        assert whole.margin == (min(margins) if margins else None)
        texts = {part.text for part in bites}
        assert any(whole.text.removeprefix("At worst: ").lower() == text.lower() for text in texts)


@law(25)
@given(data=st.data())
def test_a_figure_spans_those_of_its_cases(data, partly_stated_questions, base, judge) -> None:
    question = data.draw(partly_stated_questions)
    place = data.draw(st.sampled_from(range(len(base.lubricants))))
    parts: dict[str, list] = {}
    for case in every_case(question, base, judge):
        for figure in case.judgement.figures(place):
            parts.setdefault(figure.name, []).append(figure)
    whole = {figure.name: figure for figure in judge(**question).figures(place)}
    assert whole.keys() == parts.keys()
    for name, figure in whole.items():
        assert (figure.min, figure.max) == (min(one.min for one in parts[name]), max(one.max for one in parts[name]))
        assert figure.screening == any(one.screening for one in parts[name])
        assert figure.min == significant(figure.min) <= figure.max


def test_a_finding_says_for_which_rings_it_bites(box, finds) -> None:
    finding = finds(box("paper", facing=None), "gl-4-75w-90", "lined-rings-burn-under-thick-gear-oil")
    assert finding.effect == "excludes"
    assert "paper" in finding.only_if
    assert "carbon" in finding.only_if
    assert "bronze" not in finding.only_if


def test_a_finding_that_bites_with_any_ring_says_so_in_a_few_words(box, finds) -> None:
    unknown = box("paper", rings=None, yellow_metal=True)
    finding = finds(unknown, "gl-4-80w-90", "cold-first-shifts-need-the-film-wiped")
    assert finding.severity == "note"
    assert len(finding.only_if) <= 60


@pytest.mark.parametrize(
    ("facings", "id", "rule", "about"),
    [
        (("molybdenum", "paper"), "gl-4-75w-90", "lined-rings-burn-under-thick-gear-oil",
         {"/rings/0/facing", "/rings/1/facing", "/service_data"}),
        (("paper",), "gl-4-85w-90", "cold-start-needs-oil-that-flows", {"/coldest_start_c"}),
        (("paper",), "mtf-75w-80", "hard-shifts-must-not-overheat-the-facing",
         {"/rings/0/facing", "/rings/0/cones", "/duty", "/sump_hot_c", "/ring_geometry"}),
        (("bronze",), "gl-5-75w-90", "full-ep-additives-attack-yellow-metal",
         {"/rings/0/facing", "/rings/0/body", "/yellow_metal", "/sump_hot_c", "/final_drive"}),
    ],
)  # fmt: skip
def test_a_finding_points_at_the_parts_of_the_question_it_reads(box, finds, facings, id, rule, about) -> None:
    rings = [ring for facing in facings for ring in box(facing)["rings"]]
    assert set(finds(box("bronze", rings=rings), id, rule).about) == about
