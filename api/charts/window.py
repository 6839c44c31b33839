"""The working window as a drawing: a bar for each grade over oil temperature, and what the box needs as two lines.

Bars are placed in percent and texts at their real size, so that the drawing fills a desk or a phone without shrinking
its letters. It stands alone in black on white; set into a page it takes the colours of that page.
"""

from collections.abc import Sequence
from typing import NamedTuple

from api.rendering import celsius, rendered
from knowledge.fill.working_window import Bar, WorkingWindow
from knowledge.text import listed, plain, within_a_sentence

COLDEST_DRAWN_C, HOTTEST_DRAWN_C = -45.0, 155.0
KINDS = ("slow", "free", "short")
TICKS_C = (-40, 0, 40, 80, 120)


class Span(NamedTuple):
    """A part of a bar: its kind, where it begins and how wide it is, in percent of the drawing."""

    kind: str
    start: float
    width: float


def window_svg(window: WorkingWindow) -> str:
    """The drawing as an SVG document."""
    return rendered(
        "window.svg",
        bars=[(bar, _spans(bar), _doubt(bar)) for bar in window.bars],
        needs=(
            (_percent(window.coldest_start_c), f"coldest start {celsius(window.coldest_start_c)}", "start"),
            (_percent(window.hottest_c), f"hottest oil {celsius(window.hottest_c)}", "end"),
        ),
        ticks=[(_percent(tick), plain(tick)) for tick in TICKS_C],
        order=_order(window.bars),
        about=_about(window),
    )


def _percent(temperature_c: float) -> float:
    """Where a temperature stands, in percent of the width; what lies beyond an end is drawn at the end."""
    share = (temperature_c - COLDEST_DRAWN_C) / (HOTTEST_DRAWN_C - COLDEST_DRAWN_C)
    return round(100 * min(max(share, 0.0), 1.0), 1)


def _spans(bar: Bar) -> list[Span]:
    """Where shifts are slow, where it shifts freely and is thick enough for long, and where only for short spells."""
    flows, free, thick = bar.flows_from_c, bar.free_from_c, bar.thick_to_c
    first = COLDEST_DRAWN_C if flows is None else flows
    middle = first if free.middle is None else max(free.middle, first)
    places = [_percent(edge) for edge in (first, middle, thick.min or HOTTEST_DRAWN_C, thick.max or HOTTEST_DRAWN_C)]
    spans = (Span(kind, a, round(b - a, 1)) for kind, a, b in zip(KINDS, places, places[1:], strict=False))
    return [span for span in spans if span.width > 0]


def _doubt(bar: Bar) -> Span | None:
    """How far it is in doubt from where on first shifts come freely."""
    if bar.free_from_c.min is None or bar.free_from_c.max is None:
        return None
    start = _percent(bar.free_from_c.min)
    return Span("doubt", start, round(_percent(bar.free_from_c.max) - start, 1))


def _order(bars: Sequence[Bar]) -> str:
    """Why the first bar stands first."""
    return f"{bars[0].lubricant.grade} stands first: {within_a_sentence(bars[0].because)}" if bars else ""


def _about(window: WorkingWindow) -> str:
    """The drawing in words, for whoever cannot see it."""
    bars = (f"{bar.kinds} {bar.lubricant.grade}: {bar.words}" for bar in window.bars)
    return (
        f"Oil temperature from {plain(TICKS_C[0])} to {plain(TICKS_C[-1])} °C. This box starts at "
        f"{plain(window.coldest_start_c)} °C and reaches {plain(window.hottest_c)} °C. {listed(bars, 'and')}."
    )
