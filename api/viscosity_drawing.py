"""The line of one oil on the chart of ASTM D341, where it is straight."""

from math import log10

from api.drawing import DASHED, SOLID, Axis, Line, Panel, drawing
from api.terminal_layout import number
from knowledge.physics.viscosity import THICKEST_MM2_S, ZERO_CELSIUS_K, viscosity_z
from knowledge.text import plain
from knowledge.viscosity.models import ViscosityAnswer, ViscosityPoint

TICKS_MM2_S = (0.3, 0.5, 1, 2, 3, 5, 10, 20, 50, 100, 200, 500, 1000, 2000, 5000, 20_000, 100_000, 1_000_000)
STEP_C = 20
MOST_MARKS = 12


def viscosity_drawing(answer: ViscosityAnswer) -> str:
    """The answer as SVG; below 0 °C, where it is only screening, the line is dashed."""
    points = sorted((point for point in answer.points if point.kv_mm2_s is not None), key=_celsius)
    known = {40.0: answer.kv40_mm2_s, 100.0: answer.kv100_mm2_s, **{_celsius(it): it.kv_mm2_s for it in points}}
    first = STEP_C * (int(min(known)) // STEP_C)
    last = -STEP_C * (int(-max(known)) // STEP_C)
    thinnest, thickest = min(known.values()), max(known.values())
    lower = max((tick for tick in TICKS_MM2_S if tick <= thinnest), default=thinnest)
    upper = min((tick for tick in TICKS_MM2_S if tick > thickest), default=min(2 * thickest, THICKEST_MM2_S))
    ends = sorted(known.items())
    cold = [(celsius, kv) for celsius, kv in ends if celsius < 0]
    warm = [(celsius, kv) for celsius, kv in ends if celsius >= 0]
    marks = tuple((_celsius(it), it.kv_mm2_s, number(it.kv_mm2_s)) for it in points[:MOST_MARKS])
    lines = [Line("the oil", tuple(warm), SOLID, marks)]
    if cold:
        lines.append(Line("", (*cold, warm[0]), DASHED))
    return drawing(
        title=f"Viscosity over temperature: {plain(answer.kv40_mm2_s)} mm²/s at 40 °C, "
        f"{plain(answer.kv100_mm2_s)} at 100 °C",
        about=_about(answer),
        across=Axis(
            "Temperature, °C; dashed below 0 °C, where the line is an indication only" if cold else "Temperature, °C",
            first,
            last,
            tuple((celsius, f"{celsius}") for celsius in range(first, last + 1, STEP_C)),
            lambda celsius: log10(celsius + ZERO_CELSIUS_K),
        ),
        panels=(
            Panel(
                Axis(
                    "Kinematic viscosity, mm²/s, on the scale of ASTM D341",
                    lower,
                    upper,
                    tuple((tick, f"{tick:,}".replace(",", "\N{NO-BREAK SPACE}")) for tick in _ticks(lower, upper)),
                    lambda kv: log10(log10(viscosity_z(kinematic_viscosity_mm2_s=kv))),
                ),
                tuple(lines),
            ),
        ),
    )


def _celsius(point: ViscosityPoint) -> float:
    return point.temperature_c


def _ticks(lower: float, upper: float) -> tuple[float, ...]:
    return tuple(tick for tick in TICKS_MM2_S if lower <= tick <= upper)


def _about(answer: ViscosityAnswer) -> str:
    """The picture in words, for whoever cannot see it."""
    index = "" if answer.viscosity_index is None else f" Its viscosity index is {plain(answer.viscosity_index)}."
    told = ", ".join(
        f"{number(point.kv_mm2_s)} at {plain(point.temperature_c)} °C{' (indication)' if point.screening else ''}"
        for point in answer.points
        if point.kv_mm2_s is not None
    )
    return f"A straight line that falls from cold to hot.{index} In mm²/s: {told or 'nothing that can be computed'}."
