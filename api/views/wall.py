"""The wall chart as it is printed, and boxes to learn from."""

from collections.abc import Iterable, Iterator, Mapping
from itertools import groupby, islice
from typing import Any, NamedTuple
from urllib.parse import parse_qsl

from api.permalink import at_the_counter
from api.views.fill import FillView, fill_view
from api.views.rows import rows_of
from knowledge.base import KnowledgeBase
from knowledge.box.question import FillQuestion, link_query
from knowledge.fill.compute import compute_fill_answer
from knowledge.fill.wall_chart import COLDEST_C, Cell, WallChart
from knowledge.loading.custom_rows import BoxKindRow
from knowledge.loading.facing_rows import NO_RINGS
from knowledge.shop.shop import NO_SHOP

ASK = "ask"
MOST_LESSONS = 10


class Words(NamedTuple):
    """A cell in words, the sign behind it, the question that it answers, and over how many starts it holds."""

    words: str
    sign: str
    link: str
    starts: int = 1


class Line(NamedTuple):
    """One use of a facing over the starts."""

    use: str
    cells: tuple[Words, ...]


class Block(NamedTuple):
    """One facing, its uses, and what never goes in."""

    facing: str
    lines: tuple[Line, ...]
    never: str


class ChartView(NamedTuple):
    """The chart in words."""

    box_kind: str
    final_drive: str
    starts_c: tuple[int, ...]
    blocks: tuple[Block, ...]
    kinds: tuple[tuple[str, str], ...]


SIGNS = {"fits-with-care": "†", "depends": "?"}


def chart_view(chart: WallChart, base: KnowledgeBase) -> ChartView:
    """The chart as it is printed; uses that read alike stand in one line."""
    kinds = {row.id: row.words for row in base.rows(BoxKindRow)}
    blocks = []
    for block in chart.blocks:
        lines = [
            Line(base.duties[duty].name, tuple(_words(cell, base) for cell in cells))
            for duty, cells in block.by_duty.items()
        ]
        name = "No synchronizers" if block.facing == NO_RINGS else base.facings[block.facing].name
        never = ", ".join(base.families[family].label for family in block.never)
        blocks.append(Block(name, tuple(_alike(lines)), never))
    return ChartView(
        box_kind=kinds.get(chart.box_kind or "", "any kind of box"),
        final_drive=chart.final_drive,
        starts_c=COLDEST_C,
        blocks=tuple(blocks),
        kinds=tuple(kinds.items()),
    )


def _alike(lines: list[Line]) -> Iterator[Line]:
    for _, same in groupby(lines, key=lambda line: [(cell.words, cell.sign) for cell in line.cells]):
        together = list(same)
        use = ", ".join(line.use for line in together) if len(together) < len(lines) else "Every use"
        yield Line(use, tuple(_joined(together[0].cells)))


def _joined(cells: tuple[Words, ...]) -> Iterator[Words]:
    """Neighbours that read alike as one cell, which asks of the coldest of its starts."""
    for _, same in groupby(cells, key=lambda cell: (cell.words, cell.sign)):
        *_, coldest = together = list(same)
        yield coldest._replace(starts=len(together))


def _words(cell: Cell, base: KnowledgeBase) -> Words:
    link = link_query(cell.question) or ""
    if not cell.classes:
        return Words(ASK, "", link)
    rows = [base.lubricant_rows[id] for id in cell.classes]
    families = " or ".join(base.families[row.family].label for row in rows)
    return Words(f"{families} {rows[0].grade}", SIGNS.get(cell.verdict or "", ""), link)


class Lesson(NamedTuple):
    """A box to try one's hand at, what is known of it, and its answer."""

    title: str
    known: tuple[tuple[str, str], ...]
    link: str
    view: FillView


def lessons(demos: Iterable[Mapping[str, Any]], base: KnowledgeBase) -> tuple[Lesson, ...]:
    """The first of the demo questions that a link can put, as lessons."""
    return tuple(islice(_lessons(demos, base), MOST_LESSONS))


def _lessons(demos: Iterable[Mapping[str, Any]], base: KnowledgeBase) -> Iterator[Lesson]:
    for demo in demos:
        question = FillQuestion.model_validate(demo["value"])
        if link := link_query(question):
            rows = rows_of("box", at_the_counter(parse_qsl(link)), base, NO_SHOP)
            known = tuple((row.title, row.chip) for row in rows if row.state == "said")
            yield Lesson(demo["summary"], known, link, fill_view(compute_fill_answer(question, base), None, base))
