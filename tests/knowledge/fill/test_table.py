"""A row of a catalogue is the question that its cells ask, and is answered as that."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from knowledge.base import KnowledgeBase
from knowledge.fill.table import COLUMNS, RESULTS, fill_row, header_faults
from knowledge.shop.shop import Shop

# Rows, and the same box asked over the wire, written by hand.
ROWS = [
    ({"facing_1": "bronze"}, {"rings": [{"facing": "bronze"}]}),
    ({"has_rings": "no", "final_drive": "helical"}, {"rings": [], "final_drive": "helical"}),
    ({"has_rings": "yes", "duty": "towing"}, {"rings": [{}], "duty": "towing"}),
    ({"capacity_l": "2.1", "notes": "a note"}, {}),
    (
        {"gears_1": "1-2", "facing_1": "Brass", "cones_1": "2", "condition_1": "worn", "facing_4": "paper",
         "body_4": "steel", "coldest_start_c": "-20", "sump_hot_c": "120", "yellow_metal": "yes", "limited_slip": "no"},
        {"rings": [{"gears": "1-2", "facing": "bronze", "cones": 2, "condition": "worn"},
                   {"facing": "paper", "body": "steel"}],
         "coldest_start_c": -20, "sump_hot_c": 120, "yellow_metal": True, "limited_slip": False},
    ),
    (
        {"facing_1": "carbon", "fluid_family_1": "mtf", "replaced_1": "no", "service_family": "GL4",
         "service_grade": "75w-90"},
        {"rings": [{"facing": "carbon", "fluid_named": {"family": "mtf"}, "replaced": False}],
         "service_data": {"family": "gl-4", "grade": "75W-90"}},
    ),
    ({"facing_1": "bronze", "final_drive": "hypoid"}, {"rings": [{"facing": "bronze"}], "final_drive": "hypoid"}),
]  # fmt: skip


@pytest.mark.parametrize(("cells", "question"), ROWS)
def test_a_row_is_answered_as_the_question_over_the_wire(base: KnowledgeBase, ask_wire, cells, question) -> None:
    told, answer = fill_row(cells, base), ask_wire(question)
    leader = answer["leader"]["lubricant"]["id"] if answer["leader"] else ""
    assert (told["leader"], told["outcome"], told["say"], told["problem"]) == (
        leader,
        answer["outcome"],
        answer["say"],
        "",
    )
    assert told["cautions"].split(" | ") == [caution["text"] for caution in answer["cautions"]]
    window = answer["window"]
    assert bool(told["window"]) == bool(window)
    for line in (
        [*window["on_the_label"], *window["on_the_data_sheet"], *window["never_on_the_label"]] if window else ()
    ):
        assert line in told["window"]


PROBLEMS = [
    ({"facing_2": "papr"}, "facing_2: 'papr' is not known; did you mean 'paper'?"),
    ({"facing_1": "none"}, "facing_1: 'none' is not known; Of a box without synchronizer rings has_rings says no."),
    ({"cones_1": "7"}, "cones_1: must be 3 or less"),
    ({"coldest_start_c": "cold"}, "coldest_start_c: must be a number"),
    ({"coldest_start_c": "-80"}, "coldest_start_c: must be -50 or more"),
    ({"duty": "stret"}, "duty: 'stret' is not known; did you mean 'street'?"),
    ({"yellow_metal": "maybe"}, "yellow_metal: must be yes or no"),
    ({"gears_3": "01. Feb"}, "gears_3: looks like a date"),
    ({"service_grade": "rubbish"}, "service_grade: 'rubbish' is no grade"),
    ({"has_rings": "no", "facing_2": "paper"}, "has_rings: says no, but the columns that end in _2 tell of rings"),
    ({"yellow_metal": "no", "body_1": "bronze"}, "yellow_metal: says no, but facing_1 or body_1 is of it"),
]


@pytest.mark.parametrize(("cells", "told"), PROBLEMS)
def test_what_is_wrong_with_a_row_is_told_by_its_column(base: KnowledgeBase, cells, told: str) -> None:
    found = fill_row({"final_drive": "none", **cells}, base)
    assert found["problem"].startswith(told)
    assert {found[name] for name in RESULTS if name != "problem"} == {""}


def test_every_problem_of_a_row_is_told_at_once(base: KnowledgeBase) -> None:
    cells = {name: cell for wrong, _ in PROBLEMS[:2] + PROBLEMS[5:6] for name, cell in wrong.items()}
    assert [name for name in cells if f"{name}: " not in fill_row(cells, base)["problem"]] == []


@settings(deadline=None, max_examples=40)
@given(st.dictionaries(st.sampled_from(COLUMNS), st.text(min_size=1, max_size=12), min_size=1, max_size=4))
def test_whatever_stands_in_a_row_is_answered_or_told(base: KnowledgeBase, cells: dict[str, str]) -> None:
    told = fill_row(cells, base)
    assert bool(told["problem"]) != bool(told["outcome"])


def test_the_region_of_a_catalogue_counts_as_that_of_a_shop(base: KnowledgeBase) -> None:
    cells = {"facing_1": "bronze", "duty": "street", "final_drive": "none", "coldest_start_c": "0"}
    assert fill_row(cells, base, Shop.of(region="hot-countries"))["window"] != fill_row(cells, base)["window"]


@pytest.mark.parametrize(
    ("names", "keys", "told"),
    [
        (["id", "facng_1"], ["id"], "column 'facng_1' is not known here; did you mean 'facing_1'?"),
        (["id", "facing_5"], ["id"], "column 'facing_5' is not known here"),
        (["id", "facing"], ["id"], "column 'facing' is not known here; did you mean 'facing_"),
        (["duty", "duty"], [], "column 'duty' stands twice"),
        (["duty"], ["part"], "column 'part' is to be copied and is not there"),
        (["id"], ["id"], "no column tells of a box"),
    ],
)
def test_a_column_that_would_not_be_read_is_told(names, keys, told: str) -> None:
    assert any(fault.startswith(told) for fault in header_faults(names, keys))
