"""A finding says the worst of every case, how often it is so, and what must be so for it to bite."""

import numpy as np
import pytest

from knowledge.judging.explain import explain, share_of
from knowledge.judging.rules import RULES
from knowledge.parts.provenance import EFFECTS_FROM_WORST
from knowledge.text import significant

pytestmark = pytest.mark.filterwarnings("ignore:Generating overly large repr")  # of the knowledge base


def one_class_each(asked_every_way, base, count):
    """Some questions, each with a class to look at."""
    return [(at * 7 % len(base.lubricants), *item) for at, item in enumerate(asked_every_way[:count])]


def test_how_often_a_rule_has_its_worst_effect_is_the_weight_of_those_cases(asked_every_way) -> None:
    for _, judgement, cases in asked_every_way:
        judged, weights = judgement.judged, np.array([case.weight for case in cases])
        effects = np.array([case.judgement.judged.worst for case in cases])
        assert (judged.worst == effects.min(axis=0)).all()
        shares = np.tensordot(weights, effects == effects.min(axis=0), 1)
        found = [[share_of(judged, rule, at) for at in range(shares.shape[1])] for rule in range(len(RULES))]
        assert np.allclose(found, shares)


def test_a_finding_is_the_worst_of_those_of_its_cases(asked_every_way, base) -> None:
    for place, _, judgement, cases in one_class_each(asked_every_way, base, 30):
        for rule in range(len(RULES)):
            whole = explain(judgement.judged, rule, place)
            parts = [explain(case.judgement.judged, rule, place) for case in cases]
            assert whole.effect == min((part.effect for part in parts), key=EFFECTS_FROM_WORST.index)
            bites = [
                part for part in parts if part.effect == whole.effect and bool(part.sources) == bool(whole.sources)
            ]
            assert whole.severity in {part.severity for part in bites}
            assert (whole.only_if is None) == (len(bites) == len(parts) or not whole.sources)
            margins = [part.margin for part in parts if part.margin is not None]
            assert whole.margin == (min(margins) if margins else None)
            # A start that nobody stated is told by the condition alone.
            texts = {part.text.partition("; the coldest start")[0].lower().removesuffix(".") for part in bites}
            said = whole.text.removeprefix("At worst: ").partition("; the coldest start")[0]
            assert said.lower().removesuffix(".") in texts


def test_a_figure_spans_those_of_its_cases(asked_every_way, base) -> None:
    for place, _, judgement, cases in one_class_each(asked_every_way, base, 30):
        parts: dict[str, list] = {}
        for case in cases:
            for figure in case.judgement.figures(place):
                parts.setdefault(figure.name, []).append(figure)
        whole = {figure.name: figure for figure in judgement.figures(place)}
        assert whole.keys() == parts.keys()
        for name, figure in whole.items():
            assert figure.min == min(one.min for one in parts[name])
            assert figure.max == max(one.max for one in parts[name])
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
