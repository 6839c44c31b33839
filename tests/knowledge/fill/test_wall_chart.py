"""The wall chart against the fill answers that it stands for, cell by cell."""

import pytest

from knowledge.fill.compute import compute_fill_answer
from knowledge.fill.wall_chart import COLDEST_C, wall_chart

KIND = "rear-drive-1970-1990"


@pytest.fixture(scope="module")
def chart(base):
    return wall_chart(KIND, base)


@pytest.fixture(scope="module")
def answers(base, chart):
    """The fill answer of each cell, in full."""
    return {
        (block.facing, duty, cell.question.coldest_start_c): (
            cell,
            compute_fill_answer(cell.question, base, detail="full"),
        )
        for block in chart.blocks
        for duty, cells in block.by_duty.items()
        for cell in cells
    }


def test_a_cell_is_the_answer_to_its_question(answers) -> None:
    for (facing, duty, coldest_c), (cell, answer) in answers.items():
        assert cell.question.duty == duty
        assert [ring.facing for ring in cell.question.rings or ()] == ([] if facing == "none" else [facing])
        assert cell.question.box_kind == KIND
        assert coldest_c in COLDEST_C
        assert cell.classes == (answer.leader.lubricant.id, *answer.leader.alike)
        assert cell.verdict == answer.leader.verdict


def test_what_never_goes_in_is_refused_in_every_answer(base, chart, answers) -> None:
    for block in chart.blocks:
        served = {
            item.lubricant.family
            for (facing, _, _), (_, answer) in answers.items()
            if facing == block.facing
            for item in answer.candidates
            if item.verdict != "does-not-fit"
        }
        assert set(block.never) == base.families.keys() - served


def test_the_facings_are_those_that_such_boxes_are_met_with(base) -> None:
    assert [block.facing for block in wall_chart("heavy-truck", base).blocks] == ["none"]
    assert [block.facing for block in wall_chart(None, base).blocks] == [*base.facings, "none"]


def test_a_chart_of_the_shelf_names_nothing_else_and_only_what_fits(base) -> None:
    shelf = frozenset({"gl-4-75w-90", "atf-standard"})
    chart = wall_chart(KIND, base, shelf)
    shown = [cell for block in chart.blocks for cells in block.by_duty.values() for cell in cells]
    assert {id for cell in shown for id in cell.classes} <= shelf
    for cell in shown[:: len(COLDEST_C)]:
        found = compute_fill_answer(cell.question, base, detail="full").candidates
        fits = {item.lubricant.id for item in found if item.verdict in ("fits", "fits-with-care")} & shelf
        assert set(cell.classes) <= fits if cell.verdict != "depends" else cell.classes
        assert bool(cell.classes) == bool(fits) or cell.verdict == "depends"
