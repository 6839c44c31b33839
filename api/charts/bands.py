"""The classes that lead an answer as bands of viscosity over temperature, and the window that the box leaves open."""

from collections.abc import Sequence

from api.charts.chart import DASHED, DOTTED, SOLID, Band, Chart, Panel, Point, Window
from api.charts.viscosity import temperature_axis, viscosity_axis
from api.figures import MARK, about, number
from api.rendering import celsius
from knowledge.fill.curves_answer import BandPoint, FillCurves
from knowledge.text import plain

THINNEST_DRAWN_MM2_S = 2.0
THICKEST_DRAWN_MM2_S = 1_000_000.0
ROOM = 1.3
DASHES = (SOLID, DASHED, DOTTED)


def bands_chart(curves: FillCurves) -> Chart | None:
    """The bands and the window; None where nothing leads yet."""
    if not curves.bands:
        return None
    points = [point for band in curves.bands for point in band.points]
    free = curves.most_for_free_shifts_mm2_s
    most = free.value if free else None
    least = curves.least_hot_mm2_s.value or THINNEST_DRAWN_MM2_S
    known = [edge for point in points for edge in (point.thin_mm2_s, point.thick_mm2_s) if edge is not None]
    reach = [min(known) / ROOM, max(known) * ROOM, least / ROOM, (most or least) * ROOM]
    return Chart(
        id="bands",
        title="Viscosity against temperature",
        about=_about(curves, least, most),
        across=temperature_axis([point.temperature_c for point in points], "Oil temperature"),
        panels=(
            Panel(
                viscosity_axis([min(max(value, THINNEST_DRAWN_MM2_S), THICKEST_DRAWN_MM2_S) for value in reach]),
                bands=tuple(
                    Band(
                        band.label, (_edge(band.points, "thin_mm2_s"), _edge(band.points, "thick_mm2_s")), dashes, first
                    )
                    for band, dashes, first in zip(curves.bands, DASHES, (True, False, False), strict=False)
                ),
                window=Window(
                    left=(curves.coldest_start_c, f"coldest start {celsius(curves.coldest_start_c)}"),
                    right=(curves.sump_hot_c, f"hottest oil {celsius(curves.sump_hot_c)}"),
                    bottom=(least, f"bearings want about {about(least)} mm²/s{MARK}"),
                    top=(most, f"first shifts free below {about(most)} mm²/s{MARK}") if most else None,
                ),
            ),
        ),
    )


def _edge(points: Sequence[BandPoint], name: str) -> tuple[Point, ...]:
    known = ((point.temperature_c, getattr(point, name)) for point in points)
    return tuple((temperature_c, edge) for temperature_c, edge in known if edge is not None)


def _about(curves: FillCurves, least: float, most: float | None) -> str:
    """The chart in words, for whoever cannot see it."""
    first = curves.bands[0]
    at = {point.temperature_c: point for point in first.points}
    cold, hot = at[curves.coldest_start_c], at[curves.sump_hot_c]
    words = [
        f"On the ASTM D341 scale, where the line of an oil is straight. {first.label} has {_span(cold)}",
        f" at the coldest start, {plain(curves.coldest_start_c)} °C, and {_span(hot)}",
        f" at the hottest oil, {plain(curves.sump_hot_c)} °C.",
    ]
    if most:
        words.append(f" First shifts come freely up to about {about(most)} mm²/s.")
    words.append(f" The bearings want at least about {about(least)} mm²/s.")
    return "".join(words)


def _span(point: BandPoint) -> str:
    if point.thin_mm2_s is None or point.thick_mm2_s is None:
        return "more than can be computed"
    return f"{number(point.thin_mm2_s)} to {number(point.thick_mm2_s)} mm²/s"
