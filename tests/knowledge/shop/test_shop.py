"""What a box of the shop fills in, and what an answer takes from the shop."""

import shutil
from pathlib import Path

import pytest

from api.settings import DEMO
from knowledge.assemble import read_shop
from knowledge.base import KnowledgeBase
from knowledge.box.question import FillQuestion, FlatFillQuestion, ServiceData
from knowledge.errors import UnknownIds
from knowledge.fill.answer import FullFillAnswer
from knowledge.fill.compute import compute_fill_answer
from knowledge.shop.shop import BOX_FIELDS, NO_SHOP, Shop, filled_in


def test_a_box_fills_in_what_the_question_leaves_out(demo_shop: Shop) -> None:
    question, note = filled_in(FillQuestion(box_ref="bench-paper-5", coldest_start_c=-15.0), demo_shop)
    box = demo_shop.boxes["bench-paper-5"]
    assert {name: getattr(question, name) for name in BOX_FIELDS} == {name: getattr(box, name) for name in BOX_FIELDS}
    assert question.coldest_start_c == -15
    assert (note.id, note.name, note.stated_otherwise) == (box.id, box.name, ())
    assert "/rings" in note.filled_in
    assert "/duty" not in note.filled_in


def test_what_the_caller_states_wins_over_the_box(demo_shop: Shop) -> None:
    stated = {"yellow_metal": True, "duty": "towing", "service_data": {"family": "gl-4"}, "rings": []}
    question, note = filled_in(FillQuestion(box_ref="bench-carbon-6", **stated), demo_shop)
    assert (question.yellow_metal, question.duty, question.rings) == (True, "towing", ())
    assert question.service_data == ServiceData(family="gl-4")
    assert note.stated_otherwise == ("/rings", "/duty", "/service_data")
    assert note.filled_in == ("/box_kind", "/final_drive", "/limited_slip", "/wet_clutch")


@pytest.mark.parametrize(
    ("stated", "conditions"),
    [
        ([{"condition": "worn"}], ["worn", "worn"]),
        ([{"gears": "3-4-5", "condition": "worn"}], ["new", "worn"]),
        ([{"condition": "worn"}, {"gears": "1-2", "condition": "new"}], ["new", "worn"]),
        ([{"gears": "reverse", "condition": "worn"}], ["worn"]),
        ([{"facing": "paper", "condition": "worn"}], ["worn"]),
        ([{"condition": "worn"}, {"condition": "new"}, {}], ["worn", "new", None]),
    ],
)
def test_ring_sets_without_a_facing_say_more_about_the_sets_of_the_box(demo_shop: Shop, stated, conditions) -> None:
    question, _ = filled_in(FillQuestion(box_ref="bench-paper-5", rings=stated), demo_shop)
    assert [ring.condition for ring in question.rings] == conditions


def test_a_ring_that_is_said_to_be_worn_is_stated_otherwise_and_its_facing_taken_from_the_box(demo_shop: Shop) -> None:
    asked = FillQuestion(box_ref="bench-paper-5", rings=[{"gears": "3-4-5", "condition": "worn"}])
    _, note = filled_in(asked, demo_shop)
    assert "/rings" in note.filled_in
    assert note.stated_otherwise == ("/rings/1/condition",)


def test_an_answer_for_a_box_is_the_answer_to_what_it_fills_in(base: KnowledgeBase, demo_shop: Shop) -> None:
    for id, box in demo_shop.boxes.items():
        by_name = compute_fill_answer(FillQuestion(box_ref=id), base, demo_shop, detail="full")
        spelled_out = compute_fill_answer(
            FillQuestion(**{name: getattr(box, name) for name in BOX_FIELDS}), base, detail="full"
        )
        assert by_name.candidates == spelled_out.candidates
        assert by_name.service_data == spelled_out.service_data
        assert by_name.question.from_box.id == id
        assert spelled_out.question.from_box is None


def test_a_box_nobody_knows_is_told_with_the_nearest(base: KnowledgeBase, demo_shop: Shop) -> None:
    for shop, near, known in ((demo_shop, "bench-paper-5", tuple(demo_shop.boxes)), (NO_SHOP, None, ())):
        with pytest.raises(UnknownIds) as caught:
            compute_fill_answer(FillQuestion(box_ref="bench-papr-5"), base, shop)
        (item,) = caught.value.items
        assert (item.pointer, item.did_you_mean, item.known) == ("/box_ref", near, known)


def test_the_answer_id_covers_what_the_answer_takes_from_the_shop(base: KnowledgeBase, tmp_path: Path) -> None:
    def ids(table: str = "boxes.csv", old: str = "", new: str = "") -> list[str]:
        for name in ("boxes.csv", "rings.csv", "shelf.csv"):
            shutil.copy(DEMO / name, tmp_path)
        text = (tmp_path / table).read_text(encoding="utf-8")
        assert old in text
        (tmp_path / table).write_text(text.replace(old, new), encoding="utf-8")
        shop = read_shop(tmp_path, base)
        asked = ({"rings": []}, {"box_ref": "bench-paper-5", "rings": []}, {"rings": [], "use_shelf": True})
        return [compute_fill_answer(FillQuestion(**fields), base, shop).answer_id for fields in asked]

    before = ids()
    assert before[0] == compute_fill_answer(FillQuestion(rings=()), base).answer_id
    assert len(set(before)) == 3
    changes = {
        ("boxes.csv", "double cones", "two cones"): [False, True, False],
        ("boxes.csv", "The sheet is lost", "No sheet"): [False, False, False],
        ("rings.csv", "bench-paper-5,1-2,paper,sintered-iron,2,new", "bench-paper-5,1-2,paper,steel,2,new"): [
            False, True, False,
        ],
        ("shelf.csv", "9.1,8.9", "9.2,8.9"): [False, False, True],
    }  # fmt: skip
    for edit, changed in changes.items():
        assert [old != new for old, new in zip(before, ids(*edit), strict=True)] == changed


@pytest.mark.parametrize("facing", ["bronze", "paper", "none"])
def test_a_region_moves_the_order_alone(base: KnowledgeBase, facing: str) -> None:
    asked = FlatFillQuestion(facing=facing, duty="street", final_drive="none", coldest_start_c=-20).question()
    everywhere, *regional = (
        compute_fill_answer(asked, base, Shop.of(region=region), "full") for region in (None, *base.regions)
    )

    def held(answer: FullFillAnswer) -> dict[str, tuple[str, list[str]]]:
        return {
            item.lubricant.id: (item.verdict, [answer.findings[place].text for place in item.findings_at])
            for item in answer.candidates
        }

    for answer in regional:
        assert held(answer) == held(everywhere)
    assert len({answer.answer_id for answer in (everywhere, *regional)}) == 1 + len(base.regions)


@pytest.mark.parametrize("region", ["north-america", "asia", "hot-countries"])
def test_what_has_to_be_ordered_in_a_region_stands_behind_what_is_on_its_shelves(base: KnowledgeBase, region) -> None:
    """Common practice, no source: GL-4 75W-80 has to be ordered there, MTF 75W-80 as everywhere not."""
    asked = FlatFillQuestion(facing="bronze", duty="street", final_drive="none", coldest_start_c=0).question()
    for shop, first in ((NO_SHOP, "gl-4-75w-80"), (Shop.of(region=region), "mtf-75w-80")):
        order = [item.lubricant.id for item in compute_fill_answer(asked, base, shop, "full").candidates]
        assert next(id for id in order if id in ("gl-4-75w-80", "mtf-75w-80")) == first
