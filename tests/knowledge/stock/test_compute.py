"""Plans against the fill answers that they are made of, each set of jugs tried one by one."""

import json
from itertools import combinations

import pytest

from api.settings import DEMO
from knowledge.box.question import FillQuestion
from knowledge.errors import UnknownIds
from knowledge.fill.compute import compute_fill_answer
from knowledge.jug.compute import compute_jug_answer
from knowledge.jug.question import JugQuestion
from knowledge.stock.compute import compute_stock_answer
from knowledge.stock.question import StockBox, StockQuestion

DEMOS = [json.loads(path.read_bytes()) for path in sorted((DEMO / "questions").glob("*.json"))]
FILLS = {demo["title"]: demo["question"] for demo in DEMOS if demo["ask"] == "fill"}
CHOICES = [(care, second) for care in (True, False) for second in (True, False)]


@pytest.fixture(scope="module")
def fills(base, demo_shop):
    """What each fill question of the demo is answered in full."""
    return {
        title: compute_fill_answer(FillQuestion.model_validate(question), base, demo_shop, detail="full")
        for title, question in FILLS.items()
    }


def asked(**given) -> StockQuestion:
    boxes = tuple(
        StockBox(name=title, asked=place, question=FillQuestion.model_validate(question))
        for place, (title, question) in enumerate(FILLS.items(), start=1)
    )
    return StockQuestion(boxes=boxes, **given)


def serving(answer, care: bool, second: bool) -> set[str]:
    """The classes that serve a box, read off its answer."""
    if answer.leader is None or answer.leader.lubricant.id is None:
        return set()
    verdicts = {"fits", "fits-with-care"} if care else {"fits"}
    found = {item.lubricant.id for item in answer.candidates if item.verdict in verdicts}
    return found if second else found & {answer.leader.lubricant.id, *answer.leader.alike}


@pytest.mark.parametrize(("care", "second"), CHOICES)
def test_the_plans_are_those_of_a_search_through_all_sets_of_jugs(base, demo_shop, fills, care, second) -> None:
    plan, *others = compute_stock_answer(asked(allow_care=care, allow_second=second), base, demo_shop).plans
    times = {title: place for place, title in enumerate(FILLS, start=1)}
    served = {title: found for title, answer in fills.items() if (found := serving(answer, care, second))}
    jugs = sorted(set().union(*served.values()))

    def left(chosen) -> set[str]:
        return {title for title, found in served.items() if found.isdisjoint(chosen)}

    least = next(size for size in range(1, len(jugs) + 1) if any(not left(some) for some in combinations(jugs, size)))
    assert len(plan.jugs) == least
    assert plan.covers == len(served)
    assert left(plan.jugs) == set()
    for other in others:
        lost = sum(times[title] for title in left(other.jugs))
        assert len(other.jugs) in (least - 1, least + 1)
        assert other.uncovered_asked - plan.uncovered_asked == lost
        cheapest = min(sum(times[title] for title in left(some)) for some in combinations(jugs, len(other.jugs)))
        assert lost == cheapest


@pytest.mark.parametrize(("care", "second"), CHOICES)
def test_a_box_gets_a_jug_that_its_own_answer_fills(base, demo_shop, fills, care, second) -> None:
    answer = compute_stock_answer(asked(allow_care=care, allow_second=second), base, demo_shop)
    for box in answer.boxes:
        verdicts = {item.lubricant.id: item.verdict for item in fills[box.name].candidates}
        assert (box.jug is None) == serving(fills[box.name], care, second).isdisjoint(answer.plans[0].jugs)
        assert box.jug is None or verdicts[box.jug] == box.verdict
        assert box.serve == {id: verdicts[id] for id in box.serve}
        assert box.serve.keys() <= serving(fills[box.name], care, second)


def test_a_box_that_no_class_surely_fits_is_left_to_its_book(base, demo_shop, fills) -> None:
    answer = compute_stock_answer(asked(), base, demo_shop)
    assert set(answer.book_only) == {title for title, fill in fills.items() if not serving(fill, True, True)}
    assert {box.name for box in answer.boxes} == FILLS.keys() - set(answer.book_only)


def test_one_jug_fewer_gives_up_the_box_that_is_asked_for_least(base) -> None:
    sets = {"rare": "bronze", "common": "paper"}
    for rare, common in (sets.values(), [*sets.values()][::-1]):
        boxes = tuple(
            StockBox(
                name=name,
                asked=times,
                question=FillQuestion.model_validate(
                    {"rings": [{"facing": facing}], "final_drive": "none", "limited_slip": False, "wet_clutch": False,
                     "coldest_start_c": -10, "sump_hot_c": 110, "duty": "street"}
                ),
            )
            for name, facing, times in (("rare", rare, 1), ("common", common, 30))
        )  # fmt: skip
        _, fewer, _ = compute_stock_answer(StockQuestion(boxes=boxes, allow_second=False), base).plans
        assert (fewer.uncovered, fewer.uncovered_asked) == (("rare",), 1)


def test_the_boxes_of_the_shop_are_planned_for_where_none_are_listed_or_both_are_wanted(base, demo_shop) -> None:
    def names(question: StockQuestion) -> set[str]:
        answer = compute_stock_answer(question, base, demo_shop)
        return {box.name for box in answer.boxes} | set(answer.book_only)

    of_shop = {box.name for box in demo_shop.boxes.values()}
    one = (StockBox(name="one", question=FillQuestion()),)
    assert names(StockQuestion()) == of_shop
    assert names(StockQuestion(boxes=one)) == {"one"}
    assert names(StockQuestion(boxes=one, use_shop=True)) == {"one"} | of_shop
    assert names(StockQuestion(use_shop=False)) == set()


def test_a_jug_is_idle_where_it_fits_none_of_the_boxes(base, demo_shop) -> None:
    boxes = {name: FillQuestion(box_ref=name) for name in ("bench-paper-5", "bench-carbon-6")}
    listed = tuple(StockBox(name=name, question=box) for name, box in boxes.items())
    answer = compute_stock_answer(StockQuestion(boxes=listed), base, demo_shop)
    by_itself = {
        id: {
            compute_jug_answer(JugQuestion(shelf_ref=id, question=box), base, demo_shop).verdict
            for box in boxes.values()
        }
        for id in demo_shop.shelf
    }
    assert set(answer.shelf.idle) == {id for id, verdicts in by_itself.items() if verdicts == {"does-not-fit"}}
    assert answer.shelf.lacks == ()
    assert compute_stock_answer(StockQuestion(boxes=listed[:1]), base, demo_shop).plans[0].jugs == ("mtf-75w-80",)


def test_what_no_jug_on_the_shelf_is_lacks(base) -> None:
    box = StockBox(name="paper", question=FillQuestion.model_validate({"rings": [{"facing": "paper"}], "duty": "street",
                   "final_drive": "none", "limited_slip": False, "wet_clutch": False}))  # fmt: skip
    answer = compute_stock_answer(StockQuestion(boxes=(box,)), base)
    assert answer.shelf.lacks == answer.plans[0].jugs != ()


def test_an_id_that_is_not_known_is_named_with_its_box(base, demo_shop) -> None:
    boxes = (StockBox(name="sound"), StockBox(name="odd", question=FillQuestion(duty="stret")))
    with pytest.raises(UnknownIds) as found:
        compute_stock_answer(StockQuestion(boxes=boxes), base, demo_shop)
    assert [item.pointer for item in found.value.items] == ["/boxes/1/question/duty"]
