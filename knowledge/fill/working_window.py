"""The working window: between which oil temperatures each grade that an answer tells of works in a box."""

from collections.abc import Iterable
from typing import Annotated

from pydantic import Field

from knowledge.base import KnowledgeBase
from knowledge.box.question import FillQuestion
from knowledge.fill.classes import told_of
from knowledge.fill.compute import LEADS, judged_box
from knowledge.fill.reasons import behind, leads_by
from knowledge.fill.words import outcome_of
from knowledge.judging.judgement import Judgement, WorstCase
from knowledge.judging.rules.hot import least_bearing_ratio
from knowledge.lubricant import Lubricant
from knowledge.parts.lubricant_name import Limits, LubricantName
from knowledge.parts.provenance import KnowledgeStamp, sent
from knowledge.physics.viscosity import temperature_c
from knowledge.shop.shop import NO_SHOP, Shop
from knowledge.text import in_steps, listed, plain

MOST_BARS = 5


class Spread(Limits):
    """An interval and the best estimate within it."""

    middle: Annotated[float | None, Field(description="The best estimate; null where there is none.")] = None


@sent
class Bar:
    """One grade over oil temperature: it flows, it shifts freely, it is still thick enough."""

    lubricant: LubricantName
    kinds: Annotated[str, Field(description="The kinds of fluid that serve at this grade, the best first.")]
    flows_from_c: Annotated[float | None, Field(description="Down to where it is made to flow, °C; null: not known.")]
    free_from_c: Annotated[
        Spread,
        Field(description="From where on first shifts come freely, °C, for the likeliest ring. Null: no ring to wipe."),
    ]
    thick_to_c: Annotated[
        Limits, Field(description="Up to where it is thick enough and lasts, °C: for long, for short spells.")
    ]
    covers: Annotated[bool, Field(description="It flows at the coldest start and bears the hottest oil for long.")]
    words: Annotated[str, Field(description="How its reach compares with what this box needs.")]
    because: Annotated[str, Field(description="Why it stands where it does in the order.")]


@sent
class WorkingWindow:
    """The bars of an answer in its order, and what the box needs; no bars where nothing leads."""

    knowledge: KnowledgeStamp
    answer_id: str
    coldest_start_c: Annotated[float, Field(description="The coldest start, °C; where it is open, the coldest tried.")]
    hottest_c: Annotated[float, Field(description="The hottest oil, °C; where it is open, the hottest tried.")]
    bars: Annotated[tuple[Bar, ...], Field(description="A bar for each grade that is told, in its order.")]


def working_window(asked: FillQuestion, base: KnowledgeBase, shop: Shop = NO_SHOP) -> WorkingWindow:
    """The working window of a fill question.

    Errors: UnknownIds, when the question names an id that the knowledge or the shop does not have.
    """
    box = judged_box(asked, base, shop)
    judgement, worst = box.judgement, box.judgement.worst_case
    leads = outcome_of(judgement) in LEADS and judgement.named.is_listed
    return WorkingWindow(
        knowledge=base.stamp,
        answer_id=box.answer_id,
        coldest_start_c=worst.coldest_start_c,
        hottest_c=worst.sump_hot_c,
        bars=tuple(_bar(indices, judgement) for indices in _grades(told_of(judgement), judgement)) if leads else (),
    )


def _grades(told: Iterable[int], judgement: Judgement) -> list[list[int]]:
    """The lubricants of one grade together, in the order of the answer."""
    grades: dict[str, list[int]] = {}
    for index in told:
        grades.setdefault(judgement.lubricants[index].grade, []).append(index)
    return list(grades.values())[:MOST_BARS]


def _bar(indices: list[int], judgement: Judgement) -> Bar:
    index = indices[0]
    oil, worst = judgement.lubricants[index], judgement.worst_case
    free_c = _free_from_c(index, judgement)
    thick_to_c = _thick_to_c(oil, judgement)
    flows = oil.cold_limit_c is None or oil.cold_limit_c <= worst.coldest_start_c
    return Bar(
        lubricant=oil.lubricant_name,
        kinds=listed(dict.fromkeys(judgement.lubricants[at].family.label for at in indices), "or"),
        flows_from_c=oil.cold_limit_c,
        free_from_c=free_c,
        thick_to_c=thick_to_c,
        covers=flows and thick_to_c.min is not None and worst.sump_hot_c <= thick_to_c.min,
        words=_reach(oil, free_c, thick_to_c, worst),
        because=leads_by(judgement)[1] if index == judgement.leader else behind(judgement, index),
    )


def _free_from_c(index: int, judgement: Judgement) -> Spread:
    x, land = judgement.judged.x, judgement.cases.likeliest("wiping_land")
    if land is None:
        return Spread()
    at_best, middle, surely = (float(part[x.wiping_lands.index(land), index]) for part in x.free_from_c)
    return Spread(min=at_best, middle=middle, max=surely)


def _thick_to_c(oil: Lubricant, judgement: Judgement) -> Limits:
    """Where the thin edge of a grade is too thin for the bearings or lasts no longer; and where it surely is."""
    base = judgement.base
    needed_mm2_s = least_bearing_ratio(oil, base) * judgement.worst_case.bearing_reference_mm2_s
    lines = {corner.line for corner in oil.corners}
    thinned = [temperature_c(line=line, kinematic_viscosity_mm2_s=needed_mm2_s) for line in lines]
    most_c = min(max(thinned), base.lubricant_rows[oil.id].peak_sump_c)
    return Limits(min=min(*thinned, oil.long_sump_c), max=most_c)


def _reach(oil: Lubricant, free_c: Spread, thick_to_c: Limits, worst: WorstCase) -> str:
    """Where a bar falls short of the box, in the cold and in the heat."""
    coldest, hottest, limit = worst.coldest_start_c, worst.sump_hot_c, oil.cold_limit_c
    short = []
    if limit is not None and limit > coldest:
        short.append(f"no flow below {plain(limit)} °C")
    elif free_c.middle is not None and coldest < free_c.middle:
        short.append(f"slow first shifts below {in_steps(free_c.middle)} °C")
    if thick_to_c.max is not None and hottest > thick_to_c.max:
        short.append(f"too thin over {in_steps(thick_to_c.max)} °C")
    elif thick_to_c.min is not None and hottest > thick_to_c.min:
        short.append(f"short spells over {in_steps(thick_to_c.min)} °C")
    return ", ".join(short) or "covers your range"
