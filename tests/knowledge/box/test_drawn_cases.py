"""A box in many draws at once has in each draw what it has under tables that hold the figures of that draw."""

import numpy as np
import pytest

from knowledge.base import KnowledgeBase
from knowledge.box.axes import DRAWS, weights_of
from knowledge.box.cases import Cases
from knowledge.box.drawn_cases import Drawn, DrawnCases
from knowledge.box.facts import FACTS
from knowledge.box.question import FillQuestion
from knowledge.fill.drawn import figures_for
from knowledge.judging.judgement import Judgement
from knowledge.loading.fluid_rows import LubricantRow

COUNT = 7
QUESTIONS = {
    "nothing": {},
    "no rings": {"rings": []},
    "bronze": {"rings": [{"facing": "bronze"}]},
    "two sets": {"rings": [{"facing": "paper", "condition": "worn"}, {"facing": "bronze", "cones": 2}]},
    "a part of every axis": {"yellow_metal": True, "limited_slip": True, "coldest_start_c": -20, "duty": "street"},
    "a kind of box": {"box_kind": "transfer-case", "final_drive": "none", "sump_hot_c": 115},
    "sizes of its own": {"ring_geometry": {"mean_radius_mm": 40}},
}


def with_drawn(base: KnowledgeBase, values: dict) -> KnowledgeBase:
    """The knowledge with values of drawn figures, each a number or an array."""
    changed: dict[int, tuple] = {}
    for figure, value in values.items():
        row, columns = changed.setdefault(id(figure.row), (figure.row, {}))
        if figure.entry is None:
            columns[figure.column] = value
        else:
            columns.setdefault(figure.column, dict(getattr(row, figure.column)))[figure.entry] = value
    return base.with_rows({place: row.model_copy(update=columns) for place, (row, columns) in changed.items()})


@pytest.fixture(params=QUESTIONS.values(), ids=[*QUESTIONS])
def in_draws(request, base):
    """The cases of a question in some draws, and the knowledge of each draw."""
    question = FillQuestion.model_validate(request.param)
    figures = [one for one in figures_for(Judgement.of(question, base)) if not isinstance(one.row, LubricantRow)]
    places = np.random.default_rng(3).uniform(-1, 1, (len(figures), COUNT))
    drawn = {figure: figure.at(of) for figure, of in zip(figures, places, strict=True)}
    bases = [with_drawn(base, {figure: float(of[draw]) for figure, of in drawn.items()}) for draw in range(COUNT)]
    return DrawnCases.under(Cases.of(question, base), with_drawn(base, drawn), COUNT), bases


def numbers(value, draw: int) -> list[float]:
    """The numbers in a value of a fact, in one draw; what they are of is named for people only."""
    value = value.value if isinstance(value, Drawn) else value
    parts = value if isinstance(value, tuple) else vars(value).values() if hasattr(value, "__dict__") else [value]
    return [
        float(part[draw] if isinstance(part, np.ndarray) else part)
        for part in parts
        if not isinstance(part, str | None)
    ]


def test_each_draw_is_weighed_as_by_its_own_tables(in_draws) -> None:
    cases, bases = in_draws
    for place, (axis, found) in enumerate(zip(cases.axes, cases.weights(), strict=True)):
        if place == DRAWS or axis.size == 1:
            continue
        for draw, base in enumerate(bases):
            alone = np.array(weights_of(place, axis.alternatives, cases.question, base))
            # What no kind of box agrees with is weighed as the tables have it.
            assert found[draw] == pytest.approx(alone / alone.sum() if alone.any() else axis.weights, rel=1e-12)


@pytest.mark.parametrize("name", [name for name, fact in FACTS.items() if fact.is_of_figures])
def test_each_draw_has_the_facts_of_its_own_tables(in_draws, name) -> None:
    cases, bases = in_draws
    _, values, value_of = cases.fact(name)
    for draw, base in enumerate(bases):
        _, expected, of_alone = Cases.of(cases.question, base).fact(name)
        for found, wanted in zip(value_of, of_alone, strict=True):
            assert numbers(values[found], draw) == pytest.approx(numbers(expected[wanted], 0), rel=1e-12)
