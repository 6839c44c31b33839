"""Many jugs beside each other: what is judged is bounded by how much of the box is open, and what is not is told."""

import pytest

from knowledge.jug.judged_sheet import BOX_TOO_OPEN, TOO_OPEN

LABELLED = [{"label": {"family": "gl-4", "grade": "75W-90"}, "density15_kg_m3": 860 + place} for place in range(30)]
BLANK = [{"density15_kg_m3": 860 + place} for place in range(20)]


@pytest.mark.parametrize(
    ("known", "told"),
    [
        ({}, BOX_TOO_OPEN),
        ({"rings": ({"facing": "bronze"},)}, BOX_TOO_OPEN),
        (None, TOO_OPEN),
    ],
)
def test_a_jug_that_is_not_judged_says_why_and_asks(ask_short, box, known, told) -> None:
    fields = box("bronze") if known is None else known
    answer = ask_short(**fields, on_hand=[*BLANK, *LABELLED])
    left_out = [jug for jug in answer.jugs if jug.because == told]
    assert len(answer.jugs) == len(BLANK) + len(LABELLED)
    assert left_out
    assert {(jug.verdict, jug.rank) for jug in left_out} == {("depends", None)}
    assert all(jug.ask_of_the_sheet for jug in left_out if jug in answer.jugs[: len(BLANK)])
    assert answer.ask_next or told == TOO_OPEN


def test_labelled_jugs_are_judged_whatever_is_known_of_the_box_and_others_the_more_is_known(ask_short, box) -> None:
    known = [{}, {"limited_slip": False}, {"rings": ({"facing": "bronze"},)}, box("bronze")]
    counts = []
    for fields in known:
        jugs = ask_short(**fields, on_hand=[*BLANK, *LABELLED]).jugs
        judged = [jug.because not in (TOO_OPEN, BOX_TOO_OPEN) for jug in jugs]
        assert all(judged[len(BLANK) :])
        counts.append(sum(judged[: len(BLANK)]))
    assert counts == sorted(counts)
    assert counts[0] < counts[-1]


def test_a_shelf_of_labelled_jugs_is_judged_whatever_is_known_of_the_box(ask_short, base) -> None:
    shelf = [{"label": {"family": row.family, "grade": row.grade}} for row in base.lubricant_rows.values()]
    jugs = ask_short(on_hand=shelf).jugs
    assert BOX_TOO_OPEN not in [jug.because for jug in jugs]
    # Axle oil where most boxes have yellow metal or a lining.
    assert {jug.verdict for jug, row in zip(jugs, shelf, strict=True) if row["label"]["family"] == "gl-5"} == {
        "does-not-fit"
    }


def test_a_jug_asked_by_itself_is_judged_in_a_box_of_which_nothing_is_known(read) -> None:
    assert read(**BLANK[0], question={}).because not in (TOO_OPEN, BOX_TOO_OPEN)
