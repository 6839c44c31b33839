"""Viscosity over temperature on the scales of ASTM D341, where the line of an oil is straight."""

from collections.abc import Collection
from math import log10

from api.charts.chart import DASHED, SOLID, Axis, Chart, Line, Panel
from api.figures import number
from api.rendering import celsius
from knowledge.physics.viscosity import THICKEST_MM2_S, ZERO_CELSIUS_K, viscosity_z
from knowledge.text import plain
from knowledge.viscosity import ViscosityAnswer

TICKS_MM2_S = (0.3, 0.5, 1, 2, 3, 5, 10, 20, 50, 100, 200, 500, 1000, 2000, 5000, 20_000, 100_000, 1_000_000)
STEP_C, LONG_STEP_C, LONG_FROM_C = 10, 20, 100
MOST_MARKS = 12


def viscosity_chart(answer: ViscosityAnswer) -> Chart:
    """The line of one oil; below 0 °C, where it is only screening, it is dashed."""
    points = sorted((it.temperature_c, it.kv_mm2_s) for it in answer.points if it.kv_mm2_s is not None)
    known = {40.0: answer.kv40_mm2_s, 100.0: answer.kv100_mm2_s, **dict(points)}
    cold = [(celsius, kv) for celsius, kv in sorted(known.items()) if celsius < 0]
    warm = [(celsius, kv) for celsius, kv in sorted(known.items()) if celsius >= 0]
    marks = tuple((celsius, kv, number(kv)) for celsius, kv in points[:MOST_MARKS])
    lines = [Line("the oil", tuple(warm), SOLID, marks)]
    if cold:
        lines.append(Line("", (*cold, warm[0]), DASHED))
    screening = "; dashed below 0 °C, where the line is an indication only"
    return Chart(
        id="viscosity",
        title=f"Viscosity over temperature: {plain(answer.kv40_mm2_s)} mm²/s at 40 °C, "
        f"{plain(answer.kv100_mm2_s)} at 100 °C",
        about=_about(answer),
        across=temperature_axis(known, f"Temperature{screening if cold else ''}"),
        panels=(Panel(viscosity_axis(known.values()), tuple(lines)),),
    )


def temperature_axis(temperatures_c: Collection[float], title: str) -> Axis:
    """An axis for these temperatures on which the line of an oil is straight."""
    low, high = min(temperatures_c), max(temperatures_c)
    step = STEP_C if high - low <= LONG_FROM_C else LONG_STEP_C
    first, last = STEP_C * int(low // STEP_C), -STEP_C * int(-high // STEP_C)
    ticks = tuple((float(value), celsius(value)) for value in range(-step * (-first // step), last + 1, step))
    return Axis(title, first, last, ticks, lambda value: log10(value + ZERO_CELSIUS_K))


def viscosity_axis(viscosities_mm2_s: Collection[float]) -> Axis:
    """The axis upwards that goes with it, from tick to tick."""
    thinnest, thickest = min(viscosities_mm2_s), max(viscosities_mm2_s)
    low = max((tick for tick in TICKS_MM2_S if tick <= thinnest), default=thinnest)
    high = min((tick for tick in TICKS_MM2_S if tick > thickest), default=min(2 * thickest, THICKEST_MM2_S))
    ticks = tuple((tick, f"{tick:,}".replace(",", "\N{NO-BREAK SPACE}")) for tick in TICKS_MM2_S if low <= tick <= high)
    return Axis(
        "Kinematic viscosity, mm²/s, on the scale of ASTM D341",
        low,
        high,
        ticks,
        lambda value: log10(log10(viscosity_z(kinematic_viscosity_mm2_s=value))),
    )


def _about(answer: ViscosityAnswer) -> str:
    """The chart in words, for whoever cannot see it."""
    index = "" if answer.viscosity_index is None else f" Its viscosity index is {plain(answer.viscosity_index)}."
    told = ", ".join(
        f"{number(point.kv_mm2_s)} at {plain(point.temperature_c)} °C{' (indication)' if point.screening else ''}"
        for point in answer.points
        if point.kv_mm2_s is not None
    )
    return f"A straight line that falls from cold to hot.{index} In mm²/s: {told or 'nothing that can be computed'}."
