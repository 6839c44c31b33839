"""Charts: panels of lines over one axis across, placed on paper; `chart.svg` prints them.

Made by a template and not by a plotting library: a millisecond instead of a tenth of a second, the same bytes each
time, and no style attribute that a strict content security policy would block. A chart stands alone in black on white;
set into a page, whose style sheet knows its classes, it takes the colours of that page. Lines differ by their dashes
and carry their names, so that a print in black and white can be read.
"""

from collections.abc import Callable, Iterator, Sequence
from math import floor, log10
from typing import NamedTuple

from api.rendering import rendered
from knowledge.text import digits

WIDTH, LEFT, RIGHT, TOP, BOTTOM = 760, 88, 160, 58, 56
PANEL_HEIGHT, GAP = 150, 34
TALL_PANEL_HEIGHT = 380
LINE_OF_TEXT = 15
CLOSEST_ACROSS, CLOSEST_UPRIGHT = 46, 17
LONGEST_NAME = 16
FEWEST_TICKS = 3
SOLID, DASHED, DOTTED, DASH_DOTTED = "", "9 4", "2 4", "9 4 2 4"

Point = tuple[float, float]


class Axis(NamedTuple):
    """A scale and where its ticks stand; `scale` makes it straight."""

    title: str
    low: float
    high: float
    ticks: tuple[tuple[float, str], ...]
    scale: Callable[[float], float] = float

    def share(self, value: float) -> float:
        """Where a value stands on the axis, from 0 to 1; what lies beyond an end is drawn at the end."""
        low, high = self.scale(self.low), self.scale(self.high)
        return (self.scale(min(max(value, self.low), self.high)) - low) / (high - low)


class Line(NamedTuple):
    """A line with its name, which stands beside its right end, and the points of it that are marked."""

    name: str
    points: tuple[Point, ...]
    dashes: str = SOLID
    marks: tuple[tuple[float, float, str], ...] = ()


class Panel(NamedTuple):
    """One drawing area with its own upright axis; `note` stands where there is nothing to draw."""

    upright: Axis
    lines: tuple[Line, ...] = ()
    note: str = ""


class Name(NamedTuple):
    """A name beside the right end of what it names."""

    words: tuple[str, ...]
    dashes: str
    end_y: float
    y: float


class Placed(NamedTuple):
    """A panel at its place on the paper, `top` and `height` in units of the drawing."""

    panel: Panel
    across: Axis
    top: float
    height: float

    def x(self, value: float) -> float:
        """Where a value of the axis across stands."""
        return round(LEFT + self.across.share(value) * (WIDTH - LEFT - RIGHT), 1)

    def y(self, value: float) -> float:
        """Where a value of the upright axis stands."""
        return round(self.top + (1 - self.panel.upright.share(value)) * self.height, 1)

    def path(self, points: Sequence[Point]) -> str:
        """Points as SVG writes them."""
        return " ".join(f"{self.x(x)},{self.y(y)}" for x, y in points)

    @property
    def ticks(self) -> Iterator[tuple[float, str]]:
        """Height and text of each tick of the upright axis that has room."""
        return _spaced(((self.y(value), text) for value, text in self.panel.upright.ticks), CLOSEST_UPRIGHT)

    @property
    def ticks_across(self) -> Iterator[tuple[float, str]]:
        """The same for the axis across."""
        return _spaced(((self.x(value), text) for value, text in self.across.ticks), CLOSEST_ACROSS)

    @property
    def names(self) -> Iterator[Name]:
        """The names of lines from the top, moved apart where they would cover each other."""
        ends = [(self.y(line.points[-1][1]), line) for line in self.panel.lines if line.name]
        free = float("-inf")
        for end_y, line in sorted(ends, key=lambda end: end[0]):
            y = max(end_y, free)
            words = tuple(_in_lines(line.name))
            free = y + LINE_OF_TEXT * len(words)
            yield Name(words, line.dashes, round(end_y, 1), round(y, 1))


class Chart(NamedTuple):
    """A chart; `about` says in words what it shows, for whoever cannot see it, and `id` is its own on a page."""

    id: str
    title: str
    about: str
    across: Axis
    panels: tuple[Panel, ...]

    def placed(self) -> tuple[Placed, ...]:
        """The panels, one above the other."""
        height = TALL_PANEL_HEIGHT if len(self.panels) == 1 else PANEL_HEIGHT
        return tuple(
            Placed(panel, self.across, TOP + place * (height + GAP), height) for place, panel in enumerate(self.panels)
        )

    def svg(self) -> str:
        """The drawing as an SVG document."""
        panels = self.placed()
        bottom = panels[-1].top + panels[-1].height
        paper = {"width": WIDTH, "height": bottom + BOTTOM, "left": LEFT, "right": WIDTH - RIGHT, "bottom": bottom}
        return rendered("chart.svg", chart=self, panels=panels, paper=paper, line_of_text=LINE_OF_TEXT)


def linear(title: str, values: Sequence[float], *, from_zero: bool = False, unit: str = "") -> Axis:
    """An axis with round ticks that holds all of these values; the unit follows each tick where it is given."""
    low, high = min(values), max(values)
    low = min(low, 0.0) if from_zero else low
    if high - low <= 1e-9 * max(abs(high), abs(low), 1e-9):
        room = 0.05 * abs(high) or 1.0
        low, high = low - (0.0 if from_zero and low >= 0 else room), high + room
    step = _round_step((high - low) / FEWEST_TICKS)
    first, last = floor(low / step + 1e-9), -floor(-high / step + 1e-9)
    ticks = tuple((count * step, f"{digits(count * step, 6)}{unit}") for count in range(first, last + 1))
    return Axis(title, ticks[0][0], ticks[-1][0], ticks)


def _round_step(at_most: float) -> float:
    """The largest 1, 2 or 5 times a power of ten that is not above this."""
    power = 10.0 ** floor(log10(at_most))
    return max(step * power for step in (1, 2, 5) if step * power <= at_most * (1 + 1e-9))


def _spaced(ticks: Iterator[tuple[float, str]], closest: float) -> Iterator[tuple[float, str]]:
    before = float("inf")
    for at, text in ticks:
        if abs(at - before) >= closest:
            before = at
            yield at, text


def _in_lines(text: str) -> Iterator[str]:
    line = ""
    for word in text.split(" "):
        if line and len(line) + len(word) > LONGEST_NAME:
            yield line
            line = ""
        line = f"{line} {word}".strip()
    yield line
