"""Line drawings as SVG text: panels one above the other over one axis across.

Written out by hand and not by a plotting library: nothing to install, a millisecond to draw, the same bytes each
time, and neither style attributes nor style sheets, which a strict content security policy would block. Lines differ
by their dashes and carry their names, so that a print in black and white can be read. It stands alone in black on
white; set into a page, whose style sheet knows its classes, it takes the colours of that page and its units.
"""

from collections.abc import Callable, Iterator, Sequence
from html import escape
from math import floor, log10
from typing import NamedTuple

from knowledge.text import digits

WIDTH, LEFT, RIGHT, TOP, BOTTOM = 760, 88, 150, 58, 56
PANEL_HEIGHT, GAP = 150, 34
TALL_PANEL_HEIGHT = 380
FONT = 'font-family="sans-serif" font-size="13" fill="#000"'
ROLE = 'class="drawing" role="img" aria-labelledby="drawing-title drawing-about"'
FEWEST_TICKS = 3
LABEL_APART = 15
SOLID, DASHED, DOTTED, DASH_DOTTED = "", "9 4", "2 4", "9 4 2 4"


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
    points: tuple[tuple[float, float], ...]
    dashes: str = SOLID
    marks: tuple[tuple[float, float, str], ...] = ()


class Panel(NamedTuple):
    """One drawing area with its own upright axis; `note` stands where there is nothing to draw."""

    upright: Axis
    lines: tuple[Line, ...]
    note: str = ""


def drawing(*, title: str, about: str, across: Axis, panels: Sequence[Panel]) -> str:
    """The picture; `about` says in words what it shows, for whoever cannot see it."""
    height = TALL_PANEL_HEIGHT if len(panels) == 1 else PANEL_HEIGHT
    whole = TOP + len(panels) * height + (len(panels) - 1) * GAP + BOTTOM
    size = f'width="{WIDTH}" height="{whole}"'
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH} {whole}" {size} {ROLE}>',
        f'<title id="drawing-title">{escape(title)}</title>',
        f'<desc id="drawing-about">{escape(about)}</desc>',
        f'<rect class="ground" width="{WIDTH}" height="{whole}" fill="#fff"/>',
        _text(LEFT, 18, title, 'font-weight="bold"'),
    ]
    for place, panel in enumerate(panels):
        parts.extend(_panel(panel, across, TOP + place * (height + GAP), height))
    parts.extend(_across(across, TOP + (len(panels) - 1) * (height + GAP) + height))
    return "\n".join((*parts, "</svg>\n"))


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


def _panel(panel: Panel, across: Axis, top: float, height: float) -> Iterator[str]:
    def at(x: float, y: float) -> tuple[float, float]:
        return (
            LEFT + across.share(x) * (WIDTH - LEFT - RIGHT),
            top + (1.0 - panel.upright.share(y)) * height,
        )

    right = WIDTH - RIGHT
    yield _text(LEFT, top - 8, panel.upright.title)
    yield f'<rect x="{LEFT}" y="{top}" width="{right - LEFT}" height="{height}" fill="none" stroke="#000"/>'
    for value, text in panel.upright.ticks:
        y = at(across.low, value)[1]
        yield f'<line x1="{LEFT}" y1="{y:.1f}" x2="{right}" y2="{y:.1f}" class="grid" stroke="#ccc"/>'
        yield _text(LEFT - 8, y + 4, text, 'text-anchor="end"')
    if panel.note:
        yield _text(LEFT + 12, top + height / 2, panel.note)
    below = top - LABEL_APART
    for line in sorted(panel.lines, key=lambda line: at(*line.points[-1])[1]):
        places = [at(*point) for point in line.points]
        dashes = f' stroke-dasharray="{line.dashes}"' if line.dashes else ""
        drawn = " ".join(f"{x:.1f},{y:.1f}" for x, y in places)
        yield f'<polyline points="{drawn}" fill="none" stroke="#000" stroke-width="2"{dashes}/>'
        if line.name:
            below = max(places[-1][1] + 4, below + LABEL_APART)
            yield _text(right + 8, below, line.name)
        for x, y, text in line.marks:
            left, upper = at(x, y)
            yield f'<circle cx="{left:.1f}" cy="{upper:.1f}" r="4" fill="#fff" stroke="#000" stroke-width="2"/>'
            yield _text(left + 8, upper - 7, text)


def _across(axis: Axis, bottom: float) -> Iterator[str]:
    for value, text in axis.ticks:
        x = LEFT + axis.share(value) * (WIDTH - LEFT - RIGHT)
        yield f'<line x1="{x:.1f}" y1="{bottom}" x2="{x:.1f}" y2="{bottom + 5}" stroke="#000"/>'
        yield _text(x, bottom + 20, text, 'text-anchor="middle"')
    yield _text(LEFT, bottom + 42, axis.title)


def _text(x: float, y: float, text: str, more: str = "") -> str:
    return f'<text x="{x:.1f}" y="{y:.1f}" {FONT}{" " + more if more else ""}>{escape(text)}</text>'
