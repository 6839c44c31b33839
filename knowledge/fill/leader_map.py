"""The map of an answer: who leads over coldest start and hottest oil, all else as it was asked."""

from collections import Counter
from typing import Annotated

from pydantic import Field

from knowledge.base import KnowledgeBase
from knowledge.box.question import FillQuestion
from knowledge.fill.compute import judged_box
from knowledge.fill.over_temperatures import leaders_over, leading_id
from knowledge.parts.lubricant_name import LubricantName
from knowledge.parts.provenance import KnowledgeStamp, sent
from knowledge.parts.ranges import COLDEST_START_C, HOTTEST_SUMP_C
from knowledge.shop.shop import NO_SHOP, Shop

POINTS, STEP_C = 40, 2.0
COLDS_C = tuple(COLDEST_START_C + STEP_C * place for place in range(POINTS))
HOTS_C = tuple(HOTTEST_SUMP_C - STEP_C * place for place in reversed(range(POINTS)))


@sent
class Here:
    """Where this box stands on the map."""

    coldest_start_c: Annotated[float, Field(description="The coldest start, °C; where it is open, the likeliest.")]
    hottest_c: Annotated[float, Field(description="The hottest oil, °C; where it is open, the likeliest.")]
    leader: Annotated[str | None, Field(description="The id of the class that the answer has as its leader.")]


@sent
class Region:
    """A class and how much of the map it leads."""

    lubricant: Annotated[LubricantName | None, Field(description="The class; null: where none leads.")]
    share: Annotated[float, Field(description="The share of the points of the map, 0 to 1.")]


@sent
class LeaderMap:
    """Who leads over coldest start and hottest oil."""

    knowledge: KnowledgeStamp
    answer_id: str
    coldest_c: Annotated[tuple[float, ...], Field(description="The coldest starts, one for each row, °C.")]
    hottest_c: Annotated[tuple[float, ...], Field(description="The hottest oil, one for each column, °C.")]
    leaders: Annotated[
        tuple[tuple[str | None, ...], ...],
        Field(description="The id of the class that leads, by rows of coldest starts; null where none does."),
    ]
    regions: Annotated[tuple[Region, ...], Field(description="What leads somewhere, the largest part first.")]
    here: Annotated[Here, Field(description="Where this box stands on it.")]


def leader_map(asked: FillQuestion, base: KnowledgeBase, shop: Shop = NO_SHOP) -> LeaderMap:
    """The map of a fill question.

    Errors: UnknownIds, when the question names an id that the knowledge or the shop does not have.
    """
    box = judged_box(asked, base, shop)
    judgement = box.judgement
    leaders = leaders_over(judgement, COLDS_C, HOTS_C)
    points = Counter(leader for row in leaders for leader in row)
    names = {oil.id: oil.lubricant_name for oil in base.lubricants}
    return LeaderMap(
        knowledge=base.stamp,
        answer_id=box.answer_id,
        coldest_c=COLDS_C,
        hottest_c=HOTS_C,
        leaders=tuple(map(tuple, leaders)),
        regions=tuple(
            Region(lubricant=names[id] if id else None, share=count / POINTS**2) for id, count in points.most_common()
        ),
        here=Here(
            coldest_start_c=judgement.cases.likeliest("coldest_start_c"),
            hottest_c=judgement.cases.likeliest("sump_hot_c"),
            leader=leading_id(judgement),
        ),
    )
