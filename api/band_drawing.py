"""Viscosity bands on the chart of ASTM D341, where the line of an oil is straight: numbers to places on the paper.

Drawn by a template and not by a plotting library: a millisecond instead of a tenth of a second, no style attribute
that a strict content security policy would block, and text that stays text. Not by `drawing.py` either, whose pictures
stand alone in black on white: this one takes the colours of its page, by day, by night and on paper.
"""

from collections.abc import Iterator, Sequence
from math import log10
from typing import NamedTuple

from api.terminal_layout import number
from knowledge.fill.curves_answer import Band, BandPoint, FillCurves
from knowledge.physics.viscosity import ZERO_CELSIUS_K, viscosity_z
from knowledge.text import plain

WIDTH, HEIGHT = 760, 440
LEFT, RIGHT, TOP, BOTTOM = 82, 160, 34, 50
TICKS_MM2_S = (2, 3, 5, 10, 20, 50, 100, 200, 500, 1000, 2000, 5000, 20_000, 100_000, 1_000_000)
CLOSEST_TICKS = 17
CLOSEST_LABELS = 30
ROOM_FOR_TICK = 12
CLOSEST_TEMPERATURES = 46
THINNEST_DRAWN_MM2_S = 2.0
THICKEST_DRAWN_MM2_S = 1_000_000.0
LABEL_WIDTH = 13


class Tick(NamedTuple):
    """A line of the grid."""

    at: float
    text: str


class DrawnBand(NamedTuple):
    """One band: its area, its two edges, and its name beside its hot end."""

    number: int
    area: str
    edges: tuple[str, str]
    label: tuple[str, ...]
    label_y: float
    end_y: float


class Box(NamedTuple):
    """A rectangle."""

    x: float
    y: float
    width: float
    height: float


class Drawing(NamedTuple):
    """Everything the template needs to draw."""

    width: int
    height: int
    plot: Box
    window: Box
    has_top: bool
    x_ticks: tuple[Tick, ...]
    y_ticks: tuple[Tick, ...]
    bands: tuple[DrawnBand, ...]
    title: str
    about: str
    curves: FillCurves


def drawing(curves: FillCurves) -> Drawing | None:
    """The curves as places on the paper; None where nothing leads yet."""
    if not curves.bands:
        return None
    paper = _Paper.of(curves)
    top = curves.most_for_free_shifts_mm2_s
    left, right = sorted(paper.x(celsius) for celsius in (curves.coldest_start_c, curves.sump_hot_c))
    upper, lower = paper.y(top.value) if top else paper.plot.y, paper.y(curves.least_hot_mm2_s.value)
    return Drawing(
        width=WIDTH,
        height=HEIGHT,
        plot=paper.plot,
        window=Box(left, upper, round(right - left, 1), round(max(lower - upper, 0), 1)),
        has_top=bool(top) and upper > paper.plot.y,
        x_ticks=tuple(paper.x_ticks()),
        y_ticks=tuple(paper.y_ticks()),
        bands=_bands(curves.bands, paper),
        title=f"Viscosity against temperature: {'; '.join(band.label for band in curves.bands)}",
        about=_about(curves),
        curves=curves,
    )


class _Paper(NamedTuple):
    """The scales: log T across, log log Z upwards."""

    coldest_c: float
    hottest_c: float
    thinnest: float
    thickest: float

    @classmethod
    def of(cls, curves: FillCurves) -> "_Paper":
        points = [point for band in curves.bands for point in band.points if point.thick_mm2_s is not None]
        thick = [point.thick_mm2_s for point in points]
        thin = [*(point.thin_mm2_s for point in points), curves.least_hot_mm2_s.value]
        if curves.most_for_free_shifts_mm2_s:
            thick.append(curves.most_for_free_shifts_mm2_s.value * 1.5)
        temperatures = [point.temperature_c for band in curves.bands for point in band.points]
        return cls(
            min(temperatures),
            max(temperatures),
            max(min(thin) * 0.8, THINNEST_DRAWN_MM2_S),
            min(max(thick) * 1.2, THICKEST_DRAWN_MM2_S),
        )

    @property
    def plot(self) -> Box:
        return Box(LEFT, TOP, WIDTH - LEFT - RIGHT, HEIGHT - TOP - BOTTOM)

    def x(self, temperature_c: float) -> float:
        first, last, here = (log10(t + ZERO_CELSIUS_K) for t in (self.coldest_c, self.hottest_c, temperature_c))
        return round(LEFT + (WIDTH - LEFT - RIGHT) * (here - first) / (last - first), 1)

    def y(self, viscosity_mm2_s: float) -> float:
        held = min(max(viscosity_mm2_s, self.thinnest), self.thickest)
        first, last, here = (_log_log(v) for v in (self.thinnest, self.thickest, held))
        return round(HEIGHT - BOTTOM - (HEIGHT - TOP - BOTTOM) * (here - first) / (last - first), 1)

    def x_ticks(self) -> Iterator[Tick]:
        step = 10 if self.hottest_c - self.coldest_c <= 100 else 20
        first = int(-(-self.coldest_c // step)) * step
        before = LEFT + ROOM_FOR_TICK - CLOSEST_TEMPERATURES
        for celsius in range(first, int(self.hottest_c) + 1, step):
            at = self.x(celsius)
            if before + CLOSEST_TEMPERATURES <= at <= WIDTH - RIGHT - ROOM_FOR_TICK:
                before = at
                yield Tick(at, f"{celsius}")

    def y_ticks(self) -> Iterator[Tick]:
        below = float("inf")
        for viscosity in TICKS_MM2_S:
            if self.thinnest <= viscosity <= self.thickest and below - self.y(viscosity) >= CLOSEST_TICKS:
                below = self.y(viscosity)
                yield Tick(below, f"{viscosity:,}".replace(",", "\N{NO-BREAK SPACE}"))


def _log_log(viscosity_mm2_s: float) -> float:
    return log10(log10(viscosity_z(kinematic_viscosity_mm2_s=viscosity_mm2_s)))


def _bands(bands: Sequence[Band], paper: _Paper) -> tuple[DrawnBand, ...]:
    ends = {}
    for place, band in enumerate(bands):
        hot = [point for point in band.points if point.thin_mm2_s is not None][-1]
        ends[place] = (paper.y(hot.thin_mm2_s) + paper.y(hot.thick_mm2_s)) / 2
    label_y: dict[int, float] = {}
    above = float("-inf")
    for place in sorted(ends, key=ends.__getitem__):
        label_y[place] = above = max(ends[place], above + CLOSEST_LABELS)
    return tuple(
        DrawnBand(
            number=place + 1,
            area=f"{_path(band.points, 'thin_mm2_s', paper)} {_path(band.points[::-1], 'thick_mm2_s', paper)}",
            edges=(_path(band.points, "thin_mm2_s", paper), _path(band.points, "thick_mm2_s", paper)),
            label=tuple(_in_lines(band.label)),
            label_y=round(label_y[place], 1),
            end_y=round(ends[place], 1),
        )
        for place, band in enumerate(bands)
    )


def _path(points: Sequence[BandPoint], edge: str, paper: _Paper) -> str:
    known = ((point.temperature_c, getattr(point, edge)) for point in points if getattr(point, edge) is not None)
    return " ".join(f"{paper.x(celsius)},{paper.y(viscosity)}" for celsius, viscosity in known)


def _in_lines(text: str) -> Iterator[str]:
    line = ""
    for word in text.split(" "):
        if line and len(line) + len(word) >= LABEL_WIDTH:
            yield line
            line = ""
        line = f"{line} {word}".strip()
    yield line


def _about(curves: FillCurves) -> str:
    """The picture in words, for whoever cannot see it."""
    first = curves.bands[0]
    at = {point.temperature_c: point for point in first.points}
    cold, hot = at[curves.coldest_start_c], at[curves.sump_hot_c]
    said = [f"On the ASTM D341 scale, where the line of an oil is straight. {first.label} has {_span(cold)}"]
    said.append(f" at the coldest start, {plain(curves.coldest_start_c)} °C, and {_span(hot)}")
    said.append(f" at the hottest oil, {plain(curves.sump_hot_c)} °C.")
    if curves.most_for_free_shifts_mm2_s:
        most = about(curves.most_for_free_shifts_mm2_s.value)
        said.append(f" First shifts come freely up to about {most} mm²/s.")
    said.append(f" The bearings want at least about {about(curves.least_hot_mm2_s.value)} mm²/s.")
    return "".join(said)


def about(value: float) -> str:
    """A figure that rests on judgement, with no more digits than that bears."""
    return f"{float(f'{value:.2g}'):,.10g}".replace(",", "\N{NO-BREAK SPACE}")


def _span(point: BandPoint) -> str:
    if point.thin_mm2_s is None:
        return "more than can be computed"
    return f"{number(point.thin_mm2_s)} to {number(point.thick_mm2_s)} mm²/s"
