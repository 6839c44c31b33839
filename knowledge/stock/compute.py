"""What to stock: each box judged as it is filled, then the fewest jugs by an integer program."""

from collections.abc import Iterator, Mapping, Sequence
from typing import NamedTuple

from knowledge.base import KnowledgeBase
from knowledge.box.question import FillQuestion
from knowledge.fill.classes import verdict_told
from knowledge.fill.words import outcome_of
from knowledge.fluids.data_sheet import Sheet
from knowledge.fluids.possible_lubricants import classes_at_hand
from knowledge.ids import with_ids
from knowledge.judging.judgement import Judgement
from knowledge.jug.shelf import judged_sheets
from knowledge.parts.lubricant_name import Verdict
from knowledge.shop.shop import NO_SHOP, Shop, filled_in
from knowledge.stock.answer import Plan, Shelf, StockAnswer, StockedBox
from knowledge.stock.cover import Need, best_cover, fewest
from knowledge.stock.question import StockBox, StockQuestion

LEADS = ("settled", "depends")


class Served(NamedTuple):
    """What serves a box: verdicts by class, best first; which are its first choice; whether that is still open."""

    verdicts: Mapping[str, Verdict]
    first: frozenset[str]
    is_open: bool = False

    def need(self, asked: StockQuestion) -> Need:
        """What may serve it, as the caller chooses."""
        fits = frozenset(id for id, verdict in self.verdicts.items() if verdict == "fits")
        allowed = frozenset(self.verdicts) if asked.allow_care else fits
        serving = allowed if asked.allow_second else allowed & self.first
        return Need(serving, serving & self.first, serving & fits)


def compute_stock_answer(question: StockQuestion, base: KnowledgeBase, shop: Shop = NO_SHOP) -> StockAnswer:
    """The plans for these boxes, and the shelf beside the first of them.

    Errors: UnknownIds, when a question names an id that the knowledge or the shop does not have.
    """
    asked = with_ids(question, base, shop.ids)
    boxes = _boxes(asked, shop)
    questions = [filled_in(box.question, shop)[0] for box in boxes]
    different = {one.model_dump_json(): one for one in questions}
    judged = {key: _served(Judgement.of(one, base, region=shop.region)) for key, one in different.items()}
    served = [judged[one.model_dump_json()] for one in questions]
    needs = {
        place: (one.need(asked), box.asked)
        for place, (box, one) in enumerate(zip(boxes, served, strict=True))
        if one.verdicts
    }
    on_shelf = classes_at_hand(shop.shelf.values(), base)
    closed = [one for key, one in different.items() if not judged[key].is_open]
    plans = tuple(_plan(jugs, boxes, needs) for jugs in _plans(tuple(needs.values()), on_shelf))
    in_plans = {jug for plan in plans for jug in plan.jugs}
    first = plans[0].jugs if plans else ()
    return StockAnswer(
        knowledge=base.stamp,
        plans=plans,
        boxes=tuple(_stocked(boxes[place], served[place], need, first, in_plans) for place, (need, _) in needs.items()),
        book_only=tuple(box.name for place, box in enumerate(boxes) if place not in needs),
        shelf=Shelf(
            lacks=tuple(jug for jug in first if jug not in on_shelf),
            idle=_idle(shop, closed, base, allow_care=asked.allow_care),
        ),
    )


def _boxes(asked: StockQuestion, shop: Shop) -> tuple[StockBox, ...]:
    if asked.use_shop is False or (asked.use_shop is None and asked.boxes):
        return asked.boxes
    of_shop = (StockBox(name=box.name, question=FillQuestion(box_ref=box.id)) for box in shop.boxes.values())
    return (*asked.boxes, *of_shop)


def _served(judgement: Judgement) -> Served:
    """The classes that fit as the fill answer tells it; none where nothing leads, or what is named is no class."""
    leader, outcome = judgement.leader, outcome_of(judgement)
    if leader is None or outcome not in LEADS or not judgement.named.is_listed:
        return Served({}, frozenset())
    oils = judgement.lubricants
    told = ((oils[index].id, verdict_told(judgement, index)) for index in judgement.order)
    verdicts = {id: verdict for id, verdict in told if verdict in ("fits", "fits-with-care")}
    return Served(
        verdicts,
        frozenset(oils[index].id for index in (leader, *judgement.alike)) & verdicts.keys(),
        outcome == "depends",
    )


def _plans(needs: Sequence[tuple[Need, int]], on_shelf: frozenset[str]) -> Iterator[tuple[str, ...]]:
    """The fewest jugs, one fewer and one more, as far as there are such plans."""
    least = fewest(need.serving for need, _ in needs)
    most = len({id for need, _ in needs for id in need.serving})
    for size in (least, least - 1, least + 1):
        if 0 < size <= most:
            yield best_cover(needs, size, on_shelf)


def _plan(jugs: tuple[str, ...], boxes: Sequence[StockBox], needs: Mapping[int, tuple[Need, int]]) -> Plan:
    left = [place for place, (need, _) in needs.items() if need.serving.isdisjoint(jugs)]
    behind = (place for place, (need, _) in needs.items() if place not in left and need.first.isdisjoint(jugs))
    return Plan(
        jugs=jugs,
        covers=len(needs) - len(left),
        of=len(needs),
        uncovered=tuple(boxes[place].name for place in left),
        uncovered_asked=sum(boxes[place].asked for place in left),
        second_choice=tuple(boxes[place].name for place in behind),
    )


def _stocked(box: StockBox, served: Served, need: Need, jugs: tuple[str, ...], in_plans: set[str]) -> StockedBox:
    """A box with the best of these jugs that may serve it."""
    jug = next((id for id in served.verdicts if id in need.serving and id in jugs), None)
    return StockedBox(
        name=box.name,
        asked=box.asked,
        jug=jug,
        verdict=served.verdicts[jug] if jug else None,
        serve={id: verdict for id, verdict in served.verdicts.items() if id in need.serving & in_plans},
    )


def _idle(shop: Shop, questions: Sequence[FillQuestion], base: KnowledgeBase, *, allow_care: bool) -> tuple[str, ...]:
    """The jugs on the shelf that surely serve none of these boxes; where there is no box, none."""
    refused = ("does-not-fit",) if allow_care else ("does-not-fit", "fits-with-care")
    idle = tuple(shop.shelf.values())
    for box in questions:
        if not idle:
            break
        sheets = judged_sheets([Sheet(jug, base, box.is_without_rings) for jug in idle], Judgement.of(box, base))
        idle = tuple(jug for jug, sheet in zip(idle, sheets, strict=True) if sheet.verdict in refused)
    return tuple(jug.id for jug in idle) if questions else ()
