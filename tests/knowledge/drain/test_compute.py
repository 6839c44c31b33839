"""What stays of an old fluid, the mixture on the way, and how often it must be drained."""

import itertools
import math
import re
import tomllib
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from pydantic import ValidationError
from scipy.optimize import brentq

from knowledge.base import KnowledgeBase
from knowledge.box.question import FillQuestion
from knowledge.drain.answer import DrainAnswer, FullLeftover
from knowledge.drain.compute import compute_drain_answer, leftover
from knowledge.drain.question import DrainQuestion
from knowledge.errors import UnknownIds
from knowledge.fill.compute import compute_fill_answer
from knowledge.parts.jug import Jug

TRADE = tomllib.loads((Path(__file__).parents[2] / "golden" / "drain.toml").read_text(encoding="utf-8"))
LAW = settings(max_examples=50, deadline=None, suppress_health_check=list(HealthCheck))
OLD = {"family": "gl-5-limited-slip", "kv40_mm2_s": 110, "kv100_mm2_s": 15.8}
NEW = {"family": "mtf", "kv40_mm2_s": 50, "kv100_mm2_s": 9.3}


def jug_of(text: str | None) -> dict[str, Any] | None:
    """A fluid by family, or by family and grade."""
    family, _, grade = (text or "").partition(" ")
    return {"family": family, "label": {"grade": grade or None}} if family else None


@pytest.fixture
def asked_of(box) -> Callable[[dict[str, Any]], dict[str, Any] | None]:
    """The box of a case of the panel."""

    def question(case: dict[str, Any]) -> dict[str, Any] | None:
        facing = case.get("box")
        return box(None if facing == "none" else facing, **case.get("change", {})) if facing else None

    return question


@pytest.fixture(scope="session")
def drain(base: KnowledgeBase) -> Callable[..., DrainAnswer]:
    """Asks about draining, given by its fields."""
    return lambda **fields: compute_drain_answer(DrainQuestion.model_validate(fields), base, detail="full")


def shares(answer: DrainAnswer) -> list[float]:
    """What is left after each round."""
    return [item.old_share for item in answer.rounds]


def test_each_round_leaves_the_same_part_of_what_was_left(drain) -> None:
    """Half of 8 litres drains: 1/2, 1/4, 1/8 by hand."""
    assert shares(drain(capacity_l=8, drained_l=4, rounds=3)) == [0.5, 0.25, 0.125]


@LAW
@given(capacity=st.floats(0.5, 50), part=st.floats(0.05, 1), rounds=st.integers(1, 20))
def test_the_shares_are_those_of_pouring_round_by_round(drain, capacity, part, rounds) -> None:
    drained = max(capacity * part, 0.01)
    answer = drain(capacity_l=capacity, drained_l=drained, rounds=rounds)
    old = capacity
    for item in answer.rounds:
        old -= drained * old / capacity
        assert item.old_share == pytest.approx(old / capacity, rel=1e-3, abs=1e-9)
    assert answer.rounds[-1].litres_used == pytest.approx(rounds * drained, rel=1e-3)


def by_root_finding(share: float, old: float, new: float) -> float:
    """The mixture of ASTM D7152 by natural logarithms and a root finder; Z is v + 0.7 above 2 mm²/s."""
    wanted = share * math.log(math.log(old + 0.7)) + (1 - share) * math.log(math.log(new + 0.7))
    return brentq(lambda v: math.log(math.log(v + 0.7)) - wanted, 2, 1e5, xtol=1e-12)


@LAW
@given(old=st.floats(3, 40), new=st.floats(3, 40), thinning=st.floats(3, 15), part=st.floats(0.1, 0.95))
def test_the_mixture_is_that_of_its_equation_at_each_temperature(drain, old, new, thinning, part) -> None:
    answer = drain(
        capacity_l=10,
        drained_l=10 * part,
        old={"kv40_mm2_s": old * thinning, "kv100_mm2_s": old},
        new={"kv40_mm2_s": new * 6, "kv100_mm2_s": new},
        rounds=2,
    )
    for item in answer.rounds:
        assert item.kv100_mm2_s == pytest.approx(by_root_finding(item.old_share, old, new), rel=2e-3)
        assert item.kv40_mm2_s == pytest.approx(by_root_finding(item.old_share, old * thinning, new * 6), rel=2e-3)


def test_the_mixture_halfway_is_the_worked_case(drain) -> None:
    """Half 7.3 and half 14.5 mm²/s at 100 °C come to 10.092: grade 80 (SAE J306, 2019)."""
    answer = drain(capacity_l=2, drained_l=1, rounds=1, old={"kv100_mm2_s": 7.3}, new={"kv100_mm2_s": 14.5})
    assert answer.rounds[0].kv100_mm2_s == pytest.approx(10.092, abs=0.003)
    assert answer.rounds[0].hot_grade_estimate == "80"
    assert answer.rounds[0].kv40_mm2_s is None


@LAW
@given(part=st.floats(0.01, 1), target=st.floats(0.001, 0.9))
def test_the_rounds_needed_are_the_fewest_that_do(drain, base, part, target) -> None:
    answer = drain(capacity_l=10, drained_l=10 * part, target_old_share=target)
    most = base.limit("drain-rounds-most")
    needed = answer.rounds_to_target
    if needed is None:
        assert (1 - part) ** most > target * (1 - 1e-6)
    else:
        assert (1 - part) ** needed <= target * (1 + 1e-6)
        assert needed == 1 or (1 - part) ** (needed - 1) > target
        assert answer.litres_to_target == pytest.approx(needed * 10 * part, rel=1e-3)


def test_no_finding_speaks_of_what_stays_where_all_of_it_drains(drain) -> None:
    answer = drain(capacity_l=2.0, drained_l=2.0, old={"family": "engine-oil"}, new={"family": "mt-1"})
    assert answer.rounds[0].old_share == 0
    assert not [finding.text for finding in answer.findings if re.search(r"\b0 %|must not be mixed", finding.text)]


def test_where_draining_is_not_the_way_the_answer_says_so(drain) -> None:
    answer = drain(capacity_l=8, drained_l=0.5, old={"family": "gl-5"}, new={"family": "gl-4"})
    assert answer.rounds_to_target is answer.litres_to_target is None
    assert "does not" in answer.summary
    assert "another way" in answer.summary


def test_what_is_not_known_is_taken_as_given_and_listed(drain) -> None:
    answer = drain()
    assert {item.pointer for item in answer.assumed} == {"/drained_l", "/target_old_share"}
    assert {item.standing for item in answer.assumed} == {"judgement", "common-practice"}
    assert answer.rounds_to_target is not None
    assert all(item.litres_used is None for item in answer.rounds)


def test_a_class_lends_its_middle_where_no_figure_is_given(drain) -> None:
    answer = drain(old={"family": "gl-5", "label": {"grade": "80W-90"}}, new=NEW)
    assert "/old" in {item.pointer for item in answer.assumed}
    assert 9.3 < answer.rounds[0].kv100_mm2_s < 18.5


def test_the_fluid_in_the_box_is_the_old_one_unless_another_is_named(drain, box) -> None:
    held = box("bronze", in_it_now={"label": {"family": "gl-5"}})
    assert drain(new=NEW, question=held).target_old_share == 0.05
    assert drain(old=OLD, new=NEW, question=held).target_old_share == 0.02


@pytest.mark.parametrize("case", TRADE["drain"], ids=lambda case: case["id"])
def test_a_drain_goes_as_the_trade_has_it(drain, asked_of, case) -> None:
    litres = dict(zip(("capacity_l", "drained_l"), case.get("litres", ()), strict=False))
    answer = drain(old=jug_of(case.get("old")), new=jug_of(case.get("new")), question=asked_of(case), **litres)
    least, most = case["rounds"]
    assert least <= answer.rounds_to_target <= most
    assert case["says"] in answer.say


@pytest.mark.parametrize("case", TRADE["top_up"], ids=lambda case: case["id"])
def test_a_top_up_does_the_harm_that_the_trade_says(drain, asked_of, case) -> None:
    litres = dict(zip(("top_up_l", "capacity_l"), case["litres"], strict=False))
    answer = drain(old=jug_of(case.get("in_it")), new=jug_of(case.get("added")), question=asked_of(case), **litres)
    assert ("depends" if answer.harmless is None else answer.harmless) == case["harmless"]
    assert (answer.job_card is None) == ("card" not in case)
    assert case.get("card", "") in (answer.job_card or "")


@LAW
@given(
    capacity=st.floats(0.5, 50),
    poured=st.floats(0.01, 1),
    part=st.floats(0.2, 1),
    pair=st.sampled_from([("gl-5", "gl-4"), ("gl-5-limited-slip", "mtf"), ("atf", "mtf"), ("engine-oil", "gl-4")]),
)
def test_what_is_left_of_a_top_up_is_that_of_pouring_round_by_round(drain, box, capacity, poured, part, pair) -> None:
    top_up = max(capacity * poured, 0.01)
    drained = max(capacity * part, 0.01)
    added, in_it = pair
    answer = drain(
        capacity_l=capacity,
        top_up_l=top_up,
        drained_l=drained,
        old={"family": in_it},
        new={"family": added},
        question=box("bronze"),
    )
    assert answer.added_share == pytest.approx(top_up / capacity, rel=1e-3)
    assert (answer.rounds_to_target == 0) == answer.harmless
    added_l = top_up
    for item in answer.rounds:
        added_l -= drained * added_l / capacity
        assert item.old_share == pytest.approx(added_l / capacity, rel=1e-3, abs=1e-9)


def test_more_of_a_top_up_never_does_less_harm(drain, box) -> None:
    order = [True, None, False]
    for added, in_it, facing in itertools.product(
        ("gl-5", "gl-4", "atf", None), ("gl-4", "mtf", None), ("paper", None)
    ):
        told = [
            drain(
                capacity_l=10,
                top_up_l=litres,
                old=in_it and {"family": in_it},
                new=added and {"family": added},
                question=facing and box(facing),
            ).harmless
            for litres in (0.1, 0.4, 0.9, 1.4, 1.9, 2.4, 4, 9)
        ]
        assert [order.index(one) for one in told] == sorted(order.index(one) for one in told)


def test_no_caution_speaks_against_what_the_headline_says(drain) -> None:
    warns = [
        "leftover-fluid" in {item.id for item in drain(old={"family": old}, new={"family": "mtf"}, **more).cautions}
        for old, more in (("gl-4", {}), ("mtf", {}), ("atf", {"capacity_l": 2, "top_up_l": 0.2}))
    ]
    assert warns == [True, False, False]


def test_the_fill_answer_says_what_stays_of_the_fluid_in_it(base, box) -> None:
    held = box("bronze", in_it_now={"label": {"family": "gl-5", "grade": "80W-90"}})
    answer = compute_fill_answer(FillQuestion.model_validate(held), base, detail="full")
    left = answer.leftover
    assert left.new == next(item.lubricant.id for item in answer.candidates if item.rank == 1)
    assert left.rounds_to_target == len(left.rounds)
    assert "full-ep-left-over-reaches-yellow-metal" in {item.rule for item in left.findings}
    cited = {cited.id for item in left.findings for cited in item.sources}
    assert cited <= {source.id for source in answer.sources}
    assert all(
        pointer.startswith(("/in_it_now", "/rings", "/yellow")) for item in left.findings for pointer in item.about
    )


def test_the_fill_answer_has_no_leftover_where_nothing_is_in_it(base, box) -> None:
    assert compute_fill_answer(FillQuestion.model_validate(box("bronze")), base).leftover is None


@pytest.mark.parametrize(
    ("fields", "place"),
    [
        ({"capacity_l": 2, "drained_l": 2.1}, ("drained_l",)),
        ({"capacity_l": 2, "top_up_l": 2.1}, ("top_up_l",)),
        ({"capacity_l": 0}, ("capacity_l",)),
        ({"rounds": 0}, ("rounds",)),
        ({"rounds": 1.5}, ("rounds",)),
        ({"target_old_share": 1}, ("target_old_share",)),
        ({"old": {"kv40_mm2_s": 9, "kv100_mm2_s": 9}}, ("old", "kv100_mm2_s")),
    ],
)
def test_what_cannot_be_is_refused_at_its_place(fields, place) -> None:
    with pytest.raises(ValidationError) as caught:
        DrainQuestion.model_validate(fields)
    assert [error["loc"] for error in caught.value.errors()] == [place]


@pytest.mark.parametrize(
    ("fields", "pointer"),
    [
        ({"old": {"family": "gl-46"}}, "/old/family"),
        ({"new": {"label": {"family": "gl-46"}}}, "/new/label/family"),
        ({"question": {"duty": "stret"}}, "/question/duty"),
    ],
)
def test_an_unknown_id_is_refused_at_its_place(drain, fields, pointer) -> None:
    with pytest.raises(UnknownIds) as caught:
        drain(**fields)
    assert [item.pointer for item in caught.value.items] == [pointer]


def test_a_top_up_onto_a_fluid_of_which_only_the_grade_is_known_says_what_is_open(drain) -> None:
    box = {"wet_clutch": True, "rings": [{"facing": "carbon"}]}
    poured = {"family": "atf", "label": {"grade": "85W-90"}, "limited_slip": True}
    answer = drain(capacity_l=1000, top_up_l=317, old={"label": {"grade": "85W-90"}}, new=poured, question=box)
    assert answer.harmless is None
    assert "one kind" in answer.summary


viscosity = st.none() | st.floats(0.3, 2e6) | st.sampled_from((0.3, 1.9984, 1.9999, 2.0, 2e6))


@pytest.fixture(scope="session")
def any_fluids(base: KnowledgeBase) -> st.SearchStrategy[dict[str, Any] | None]:
    """Fluids over the whole range of the fields that draining reads."""
    grade = st.none() | st.sampled_from([*sorted({oil.grade for oil in base.lubricants}), "75W-110"])
    family = st.none() | st.sampled_from(sorted(base.families))
    fluid = st.fixed_dictionaries(
        {
            "family": family,
            "label": st.none() | st.fixed_dictionaries({"family": family, "grade": grade}),
            "kv40_mm2_s": viscosity,
            "kv100_mm2_s": viscosity,
            "limited_slip": st.none() | st.booleans(),
        }
    ).filter(lambda jug: None in (jug["kv40_mm2_s"], jug["kv100_mm2_s"]) or jug["kv40_mm2_s"] > jug["kv100_mm2_s"])
    return st.none() | fluid


@settings(LAW, max_examples=120)
@given(data=st.data())
def test_any_question_about_draining_gets_an_answer(data, any_fluids, stated_questions, drain) -> None:
    capacity = data.draw(st.none() | st.floats(0.01, 1000) | st.sampled_from((0.01, 1000)))
    most = 1000 if capacity is None else capacity
    answer = drain(
        capacity_l=capacity,
        top_up_l=data.draw(st.none() | st.floats(0.01, most)),
        drained_l=data.draw(st.none() | st.floats(0.01, most) | st.sampled_from((0.01, most))),
        old=data.draw(any_fluids),
        new=data.draw(any_fluids),
        rounds=data.draw(st.none() | st.integers(1, 20)),
        target_old_share=data.draw(st.none() | st.floats(0.001, 0.9)),
        question=data.draw(st.none() | st.just({}) | stated_questions),
    )
    assert len(answer.summary) <= 140
    assert len(answer.say.split()) <= 40
    assert shares(answer) == sorted(shares(answer), reverse=True)
    cited = {cited.id for item in (*answer.findings, *answer.cautions) for cited in item.sources}
    assert cited <= {source.id for source in answer.sources}
    answer.model_dump_json()


def test_the_rounds_rest_on_what_was_assumed_for_them(drain) -> None:
    stated = {"kv40_mm2_s": 60, "kv100_mm2_s": 9.5}
    known = drain(capacity_l=2, drained_l=1.6, rounds=2, old=stated, new=stated)
    assert {item.rests_on for item in known.rounds} == {"computed"}
    usual_share = drain(rounds=2, old=stated, new=stated)
    of_a_class = drain(capacity_l=2, drained_l=1.6, old={"label": {"family": "mtf", "grade": "75W-80"}}, new=stated)
    assert {item.rests_on for item in (*usual_share.rounds, *of_a_class.rounds)} == {"judgement"}


def test_the_share_that_was_asked_for_reads_with_all_its_digits(drain) -> None:
    answer = drain(capacity_l=2.2, drained_l=1.1, target_old_share=0.125)
    assert "3 times" in answer.summary
    once = drain(capacity_l=2.2, drained_l=2.1, target_old_share=0.125)
    assert all("12.5 %" in text for text in (once.summary, once.say))


def test_in_short_what_rests_on_a_judgement_has_two_digits_and_what_is_computed_three(base) -> None:
    def in_short(**fields: Any) -> DrainAnswer:
        asked = {"rounds": 2, "old": OLD, "new": NEW, "capacity_l": 2.37, **fields}
        return compute_drain_answer(DrainQuestion.model_validate(asked), base)

    usual, stated = in_short().rounds[-1], in_short(drained_l=1.583).rounds[-1]
    for figure in (usual.old_share, usual.kv40_mm2_s, usual.kv100_mm2_s, usual.litres_used, usual.viscosity_index):
        assert figure == float(f"{figure:.2g}")
    assert (stated.old_share, stated.litres_used) == (0.11, 3.166)
    assert stated.kv100_mm2_s == float(f"{stated.kv100_mm2_s:.3g}")
    assert in_short(capacity_l=2.2, top_up_l=0.2).added_share == 0.0909  # a part in eleven
    of_a_class = in_short(drained_l=1.583, old={"label": {"family": "gl-5", "grade": "80W-90"}}).rounds[-1]
    assert of_a_class.litres_used == stated.litres_used
    assert of_a_class.kv100_mm2_s == float(f"{of_a_class.kv100_mm2_s:.2g}")


def test_common_practice_what_goes_with_every_job_is_one_line_and_no_caution_of_this_one(base) -> None:
    """Common practice, no source: a mechanic reads of the drain at hand; stands and gloves he knows."""
    for job in ({}, {"top_up_l": 0.3, "capacity_l": 2.2}):
        asked = DrainQuestion.model_validate({"old": OLD, "new": NEW, "question": {}, **job})
        for detail in ("short", "full"):
            answer = compute_drain_answer(asked, base, detail=detail)
            assert {"supporting-the-vehicle", "aftermarket-additives"} <= set(answer.every_job)
            assert {item.id for item in answer.cautions}.isdisjoint(answer.every_job)
            assert len(answer.every_job_words.split()) <= 25


def test_two_drains_read_as_twice(drain) -> None:
    """A half is left by each: a quarter after two."""
    assert "rain and refill twice," in drain(capacity_l=2, drained_l=1, target_old_share=0.25).summary


def test_a_leftover_is_short_beside_a_fill_and_has_its_rounds_in_full(base, box, oil) -> None:
    jug = Jug.model_validate({"label": {"family": "gl-5", "grade": "80W-90"}})
    asked = (jug, oil("mtf-75w-80"), 2.0, FillQuestion.model_validate(box("bronze")), base)
    short, full = leftover(*asked), leftover(*asked, "full")
    assert isinstance(full, FullLeftover)
    assert not isinstance(short, FullLeftover)
    assert len(short.model_dump_json()) < 1_000 < len(full.model_dump_json())
    assert (short.new, short.rounds_to_target) == (full.new, len(full.rounds)) == ("mtf-75w-80", 2)
    assert short.old_share_after <= short.target_old_share == 0.05
    assert {item.rule for item in short.findings} < {item.rule for item in full.findings}
