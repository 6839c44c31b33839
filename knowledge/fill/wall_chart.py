"""The wall chart: for one kind of box the class over facing, use and coldest start, each a fill answer by itself."""

from collections.abc import Mapping
from functools import lru_cache
from typing import NamedTuple

from knowledge.base import KnowledgeBase
from knowledge.box.question import FillQuestion
from knowledge.fill.classes import verdict_told
from knowledge.fill.over_temperatures import leading_id
from knowledge.judging.judgement import Judgement
from knowledge.loading.custom_rows import BoxKindRow
from knowledge.loading.facing_rows import NO_RINGS
from knowledge.parts.lubricant_name import Verdict
from knowledge.parts.ring import Ring

COLDEST_C = (0, -10, -20, -30, -40)
CHARTS_KEPT = 32
# Of these the chart does not speak: whatever shares the oil with them is asked about by itself.
NOT_SPOKEN_FOR = "hypoid"


class Cell(NamedTuple):
    """A stated box, and the classes that serve it alike; none where nothing leads or stands on the shelf."""

    question: FillQuestion
    classes: tuple[str, ...]
    verdict: Verdict | None


class FacingBlock(NamedTuple):
    """One facing: its cells by use and coldest start, and the families that fit in none of them."""

    facing: str
    by_duty: Mapping[str, tuple[Cell, ...]]
    never: tuple[str, ...]


class WallChart(NamedTuple):
    """The chart of a kind of box, or of every kind."""

    box_kind: str | None
    final_drive: str
    blocks: tuple[FacingBlock, ...]


@lru_cache(maxsize=CHARTS_KEPT)
def wall_chart(
    box_kind: str | None, base: KnowledgeBase, stocked: frozenset[str] | None = None, region: str | None = None
) -> WallChart:
    """The chart of a kind of box that the knowledge has; where `stocked` is given, of these classes alone."""
    kinds = [row for row in base.rows(BoxKindRow) if box_kind in (None, row.id, row.layout)]
    met = {facing for row in kinds for facing, percent in row.facing_percent.items() if percent}
    drives: dict[str, float] = {}
    for row in kinds if box_kind else ():
        for drive, percent in row.final_drive_percent.items():
            drives[drive] = drives.get(drive, 0.0) + percent * (row.callers_percent or 0)
    drives.pop(NOT_SPOKEN_FOR, None)
    drive = max(drives, key=drives.__getitem__, default="none")
    facings = [facing for facing in (*base.facings, NO_RINGS) if facing in met]
    return WallChart(
        box_kind, drive, tuple(_block(facing, box_kind, drive, base, stocked, region) for facing in facings)
    )


def _block(
    facing: str,
    box_kind: str | None,
    drive: str,
    base: KnowledgeBase,
    stocked: frozenset[str] | None,
    region: str | None,
) -> FacingBlock:
    by_duty: dict[str, tuple[Cell, ...]] = {}
    never = set(base.families)
    for duty in base.duties:
        cells = []
        for coldest_c in COLDEST_C:
            question = FillQuestion(
                box_kind=box_kind,
                rings=() if facing == NO_RINGS else (Ring(facing=facing),),
                final_drive=drive,
                limited_slip=False,
                wet_clutch=False,
                coldest_start_c=coldest_c,
                duty=duty,
            )
            judgement = Judgement.of(question, base, region=region)
            never -= {judgement.lubricants[index].family.id for index in judgement.order}
            cells.append(_cell(question, judgement, stocked))
        by_duty[duty] = tuple(cells)
    return FacingBlock(facing, by_duty, tuple(family for family in base.families if family in never))


def _cell(question: FillQuestion, judgement: Judgement, stocked: frozenset[str] | None) -> Cell:
    """The leader and its like; from a shelf the first in order that stands there and surely fits."""
    oils, leader = judgement.lubricants, judgement.leader
    if leader is None or leading_id(judgement) is None:
        return Cell(question, (), None)
    together = [leader, *judgement.alike]
    if stocked is not None:
        at_hand = [index for index in together if oils[index].id in stocked]
        behind = (
            index
            for index in judgement.order
            if oils[index].id in stocked and verdict_told(judgement, index) in ("fits", "fits-with-care")
        )
        together = at_hand or [index for index in [next(behind, None)] if index is not None]
    if not together:
        return Cell(question, (), None)
    return Cell(question, tuple(oils[index].id for index in together), verdict_told(judgement, together[0]))
