"""Turning points and the map, held against plain fills: the question asked again with one value changed.

The plain fill itself is held against every case asked by itself (tests/knowledge/every_case.py).
"""

from math import ceil, floor
from random import Random

import pytest

from knowledge.box.question import FillQuestion
from knowledge.fill.compute import compute_fill_answer
from knowledge.fill.leader_map import leader_map
from knowledge.fill.turns import turns_of
from tests.knowledge.conftest import stated_box, usual_questions

BOXES = {
    "bronze, stated": stated_box("bronze", coldest_start_c=-20.5, sump_hot_c=112.0, duty="towing"),
    "paper, the cold open": {**stated_box("paper"), "coldest_start_c": None},
    "carbon, the heat open": {**stated_box("carbon"), "sump_hot_c": None, "duty": None},
    "what the grade means follows from the cold": {**stated_box("bronze"), "service_data": {"grade": "90"}},
    "the book names what does harm": {**stated_box("paper"), "service_data": {"family": "gl-5"}},
    "two kinds of rings": {**stated_box("bronze"), "rings": [{"facing": "bronze"}, {"facing": "carbon", "cones": 2}]},
}
RANGES_C = {"coldest_start_c": range(-50, 51), "sump_hot_c": range(20, 151)}  # what the contract lets a caller state


@pytest.fixture(scope="module")
def leads(base):
    """Who leads in the plain answer to a question given by its fields."""

    def leader(fields, **changes):
        answer = compute_fill_answer(FillQuestion.model_validate({**fields, **changes}), base)
        return answer.leader.lubricant.id if answer.leader else None

    return leader


@pytest.mark.parametrize("name", BOXES)
@pytest.mark.parametrize("field", RANGES_C)
def test_no_turn_is_missed_at_any_whole_degree(base, leads, name: str, field: str) -> None:
    asked = BOXES[name]
    found = turns_of(FillQuestion.model_validate(asked), base)
    assert found.leader == leads(asked)
    turn = next(turn for turn in found.turns if turn.pointer == f"/{field}")
    assert turn.stated == (asked[field] is not None)
    by_hand = {degree: leads(asked, **{field: float(degree)}) for degree in RANGES_C[field]}
    told = {(change.side, change.at): change.leader for change in turn.changes}
    if turn.stated:
        assert told == dict(walked(by_hand, asked[field], found.leader))
    else:
        # Whatever the start of the walk, the changes between neighbours are those of the plain fills.
        edges = {d for d in by_hand if d - 1 in by_hand and by_hand[d - 1] != by_hand[d]}
        assert {at if side == "above" else at + 1 for side, at in told} == edges
        assert all(by_hand[at] == leader for (_, at), leader in told.items())


def walked(by_hand, stated_c: float, now):
    """Each degree, outwards from what is stated, that another class leads from than from its neighbour."""
    for side, degrees in (
        ("below", range(ceil(stated_c) - 1, min(by_hand) - 1, -1)),
        ("above", range(floor(stated_c) + 1, max(by_hand) + 1)),
    ):
        last = now
        for degree in degrees:
            if by_hand[degree] != last:
                yield (side, degree), by_hand[degree]
            last = by_hand[degree]


@pytest.mark.parametrize("name", ["bronze, stated", "two kinds of rings"])
def test_each_other_value_is_told_that_another_class_leads_with_and_no_other(base, leads, name: str) -> None:
    asked = BOXES[name]
    found = turns_of(FillQuestion.model_validate(asked), base)
    turns = {turn.pointer: {change.value: change.leader for change in turn.changes} for turn in found.turns}
    for field, values in {
        "duty": [*base.duties],
        "wet_clutch": [True, False],
        "limited_slip": [True, False],
        "yellow_metal": [True, False],
        "final_drive": ["none", "helical", "hypoid"],
    }.items():
        by_hand = {value: leads(asked, **{field: value}) for value in values}
        assert turns[f"/{field}"] == {value: leader for value, leader in by_hand.items() if leader != found.leader}
    for index, ring in enumerate(asked["rings"]):
        rings = [
            (facing, [*asked["rings"][:index], {**ring, "facing": facing}, *asked["rings"][index + 1 :]])
            for facing in base.facings
        ]
        by_hand = {facing: leads(asked, rings=changed) for facing, changed in rings}
        expected = {facing: leader for facing, leader in by_hand.items() if leader != found.leader}
        assert turns[f"/rings/{index}/facing"] == expected


SIZES = {
    "/bearing/pitch_diameter_mm": (5, 1000),
    "/bearing/speed_rpm": (1, 30_000),
    "/ring_geometry/mean_radius_mm": (10, 300),
    "/ring_geometry/face_width_mm": (1, 50),
    "/ring_geometry/half_angle_deg": (3, 20),
    "/ring_geometry/detent_force_n": (1, 2000),
}


@pytest.mark.parametrize("name", ["bronze, stated", "the book names what does harm", "two kinds of rings"])
def test_no_size_of_a_bearing_or_a_ring_turns_an_answer_but_those_told(base, leads, name: str) -> None:
    """At sizes over all that may be stated, far closer to each other than the leaders change."""
    asked, found = BOXES[name], turns_of(FillQuestion.model_validate(BOXES[name]), base)
    given = {
        "bearing": {"pitch_diameter_mm": 55, "speed_rpm": 2500},
        "ring_geometry": {},
    }
    turns = {turn.pointer: turn.changes for turn in found.turns}
    told = 0
    for pointer, (low, high) in SIZES.items():
        part, size = pointer.removeprefix("/").split("/")
        changes = turns[pointer]
        told += len(changes)
        sizes = [low * (high / low) ** (step / 30) for step in range(31)]
        for value in (*sizes, *(change.at for change in changes)):
            reached = [
                change for change in changes if (value <= change.at if change.side == "below" else value >= change.at)
            ]
            expected = reached[-1].leader if reached else found.leader
            edges = [change.at for change in changes if 0.9 < value / change.at < 1.1 and value != change.at]
            if not edges:
                assert leads(asked, **{part: {**given[part], size: value}}) == expected, (pointer, value)
    assert told or asked["rings"][0]["facing"] == "paper"


def test_no_size_of_the_gears_turns_an_answer(base, leads) -> None:
    """Their film is told and refuses nothing."""
    mesh = {row.quantity: row.value for row in base.defaults.values() if row.part == "mesh"}
    for asked in BOXES.values():
        now = leads(asked)
        for size, ends in {"torque_nm": (0.1, 10_000), "speed_rpm": (1, 30_000), "face_width_mm": (1, 500)}.items():
            assert {leads(asked, mesh={**mesh, size: end}) for end in ends} == {now}


def test_words_are_in_steps_of_five_and_true_from_there_on(base) -> None:
    told = 0
    for asked in BOXES.values():
        for turn in turns_of(FillQuestion.model_validate(asked), base).turns:
            for change in turn.changes:
                if change.at is None:
                    assert change.words.startswith("If ")
                    continue
                if turn.pointer in SIZES:
                    assert f" {change.at:g}" in change.words
                    continue
                step = float(change.words.removeprefix("From ").partition(" ")[0])
                assert step <= change.at if change.side == "below" else step >= change.at
                assert step % 5 == 0 or step == change.at
                told += 1
    assert told > 5


def test_the_map_is_what_plain_fills_lead_at_its_points(base, leads) -> None:
    draw = Random(7)
    for asked in (BOXES["bronze, stated"], BOXES["the book names what does harm"], *usual_questions(base, 4), {}):
        found = leader_map(FillQuestion.model_validate(asked), base)
        assert max(len(found.coldest_c), len(found.hottest_c)) <= 40
        for _ in range(8):
            row, column = draw.randrange(len(found.coldest_c)), draw.randrange(len(found.hottest_c))
            at = {"coldest_start_c": found.coldest_c[row], "sump_hot_c": found.hottest_c[column]}
            assert found.leaders[row][column] == leads(asked, **at), (asked, at)
        assert found.here.leader == leads(asked)
