"""The map of leaders as a drawing: coldest start across, hottest oil upwards, a letter in each region, this box a dot.

Across it is in percent and down at its real size, as the working window is. Regions are told apart by their borders and
letters; the page adds colour.
"""

import string
from collections.abc import Iterator, Sequence
from typing import NamedTuple

from api.rendering import celsius, rendered
from knowledge.fill.leader_map import LeaderMap, Region
from knowledge.text import listed, percent, plain

HEIGHT, TOP = 320, 22
LETTERS = string.ascii_uppercase + string.ascii_lowercase
COLD_TICKS_C, HOT_TICKS_C = 10, 20
NOTHING = "no class leads"

Cells = Sequence[Sequence[str | None]]


class Block(NamedTuple):
    """A run of alike points of one row, as a rectangle: across in percent, down in pixels; which region it is of."""

    x: float
    y: float
    width: float
    height: float
    region: int


class Line(NamedTuple):
    """A piece of a border."""

    x1: float
    y1: float
    x2: float
    y2: float


class Letter(NamedTuple):
    """Where the letter of a region stands."""

    x: float
    y: float
    text: str


def leader_map_svg(found: LeaderMap) -> str:
    """The drawing as an SVG document."""
    # A row of the drawing is one hottest oil, the hottest on top.
    cells = [list(row) for row in zip(*found.leaders, strict=True)][::-1]
    order = [region.lubricant.id if region.lubricant else None for region in found.regions]
    here = found.here
    return rendered(
        "leader_map.svg",
        top=TOP,
        height=HEIGHT,
        blocks=[Block(*place, order.index(leader)) for place, leader in _runs(cells)],
        borders=list(_borders(cells)),
        letters=[Letter(*_middle(cells, id), LETTERS[place]) for place, id in enumerate(order)],
        legend=[(LETTERS[place], _name(region), percent(region.share)) for place, region in enumerate(found.regions)],
        here=(_across(here.coldest_start_c, found), _down(here.hottest_c, found)),
        colds=[(_across(tick, found), plain(tick)) for tick in found.coldest_c if tick % COLD_TICKS_C == 0],
        hots=[(_down(tick, found), celsius(tick)) for tick in found.hottest_c if tick % HOT_TICKS_C == 0],
        about=_about(found),
    )


def _name(region: Region) -> str:
    return region.lubricant.name if region.lubricant else NOTHING


def _across(cold_c: float, found: LeaderMap) -> float:
    return _share(cold_c, found.coldest_c, 100.0)


def _down(hot_c: float, found: LeaderMap) -> float:
    return round(TOP + HEIGHT - _share(hot_c, found.hottest_c, float(HEIGHT)), 1)


def _share(value: float, points: Sequence[float], whole: float) -> float:
    """Where a value stands among points, each the middle of its cell; what lies beyond an end is drawn at the end."""
    step = points[1] - points[0]
    share = (value - points[0] + step / 2) / (step * len(points))
    return round(whole * min(max(share, 0.0), 1.0), 2)


def _x(column: int, cells: Cells) -> float:
    return round(100 * column / len(cells[0]), 2)


def _y(row: int, cells: Cells) -> float:
    return round(TOP + HEIGHT * row / len(cells), 1)


def _runs(cells: Cells) -> Iterator[tuple[tuple[float, float, float, float], str | None]]:
    for row, line in enumerate(cells):
        start = 0
        for column in range(1, len(line) + 1):
            if column == len(line) or line[column] != line[start]:
                x, y = _x(start, cells), _y(row, cells)
                yield (x, y, round(_x(column, cells) - x, 2), round(_y(row + 1, cells) - y, 1)), line[start]
                start = column


def _borders(cells: Cells) -> Iterator[Line]:
    """A piece of line wherever two neighbours differ, pieces in one row or column joined."""
    for row in range(1, len(cells)):
        for start, end in _stretches([a != b for a, b in zip(cells[row - 1], cells[row], strict=True)]):
            yield Line(_x(start, cells), _y(row, cells), _x(end, cells), _y(row, cells))
    for column in range(1, len(cells[0])):
        for start, end in _stretches([line[column - 1] != line[column] for line in cells]):
            yield Line(_x(column, cells), _y(start, cells), _x(column, cells), _y(end, cells))


def _stretches(flags: Sequence[bool]) -> Iterator[tuple[int, int]]:
    start = None
    for place, flag in enumerate([*flags, False]):
        if flag and start is None:
            start = place
        elif not flag and start is not None:
            yield start, place
            start = None


def _middle(cells: Cells, id: str | None) -> tuple[float, float]:
    """The point of a region that lies farthest from any other."""

    def room(row: int, column: int) -> int:
        size = 0
        while all(
            0 <= at_row < len(cells) and 0 <= at < len(cells[0]) and cells[at_row][at] == id
            for at_row in (row - size, row + size)
            for at in (column - size, column + size)
        ):
            size += 1
        return size

    points = [(row, column) for row, line in enumerate(cells) for column, leader in enumerate(line) if leader == id]
    row, column = max(points, key=lambda point: room(*point))
    x, y = _x(column, cells) + _x(1, cells) / 2, (_y(row, cells) + _y(row + 1, cells)) / 2
    return round(x, 2), round(y + 5, 1)


def _about(found: LeaderMap) -> str:
    """The drawing in words, for whoever cannot see it."""
    parts = (f"{_name(region)} on {percent(region.share)} of it" for region in found.regions)
    colds, hots, here = found.coldest_c, found.hottest_c, found.here
    return (
        f"Coldest start from {plain(colds[0])} to {plain(colds[-1])} °C and hottest oil from {plain(hots[0])} to "
        f"{plain(hots[-1])} °C: {listed(parts, 'and')}. This box stands at {plain(here.coldest_start_c)} and "
        f"{plain(here.hottest_c)} °C."
    )
