"""One shift as a picture: speed difference, torque and temperature of the face over time."""

from api.charts.chart import DASH_DOTTED, DASHED, DOTTED, SOLID, Chart, Line, Panel, linear
from knowledge.parts.digits import shown
from knowledge.shift.answer import FullShiftAnswer
from knowledge.text import digits

FINE_DASHED = "4 3"


def shift_chart(answer: FullShiftAnswer) -> Chart:
    """The curve of the answer, with its words as text alternative."""
    curve = answer.curve
    in_ms = [1000 * point.time_s for point in curve]
    torques = [point.torque_nm for point in curve]
    speeds = [point.speed_difference_rpm for point in curve]
    warm = [(1000 * point.time_s, point.interface_c) for point in curve if point.interface_c is not None]
    name = next(item.name for item in answer.facings if item.facing == answer.facing)
    heat = linear("Temperature of the face", [value for _, value in warm] or [0.0, 1.0], unit="\N{NO-BREAK SPACE}°C")
    if not warm:
        heat = heat._replace(ticks=())
    return Chart(
        id="shift",
        title=f"One shift on {name.lower()}, at a friction of {_friction(answer)}",
        about=_about(answer, name),
        across=linear("Time since the ring touched, ms", in_ms, from_zero=True),
        panels=(
            Panel(
                linear("Speed difference, rpm", speeds, from_zero=True),
                (Line("speed difference", tuple(zip(in_ms, speeds, strict=True)), SOLID),),
            ),
            Panel(
                linear("Torque, N·m", [*torques, answer.index_torque_nm], from_zero=True),
                (Line("cone torque", tuple(zip(in_ms, torques, strict=True)), DASHED), *_levels(answer, in_ms)),
            ),
            Panel(
                heat,
                (Line("face, at least", tuple(warm), DOTTED),) if warm else (),
                note="" if warm else "Without an end of the slip no temperature can be computed.",
            ),
        ),
    )


def _levels(answer: FullShiftAnswer, in_ms: list[float]) -> tuple[Line, ...]:
    """The index torque, and beside it the cone torque at low friction, which must lie above it to block."""

    def level(name: str, value: float, dashes: str) -> Line:
        return Line(name, ((in_ms[0], value), (in_ms[-1], value)), dashes)

    index = level("index torque", answer.index_torque_nm, DASH_DOTTED)
    if answer.curve_friction == answer.friction.low:
        return (index,)
    return (index, level("low friction", answer.cone_torque_nm, FINE_DASHED))


def _about(answer: FullShiftAnswer, name: str) -> str:
    """The picture in words, for whoever cannot see it; what is judged in two digits."""
    curve, standings = answer.curve, answer.standings
    torque = shown(curve[-1].torque_nm, standings["cone_torque_nm"])
    index = shown(answer.index_torque_nm, standings["index_torque_nm"])
    words = [f"{name}. A speed difference of {digits(curve[0].speed_difference_rpm)} revolutions per minute"]
    if answer.wiping_time_s is not None:
        wiping_ms = shown(1000 * answer.wiping_time_s, standings["wiping_time_s"])
        words.append(f" stands for {wiping_ms} ms while the film is wiped away, then")
    if answer.sync_time_s is None:
        words.append(f" never closes. {answer.sync_reason}")
    else:
        slip_ms = shown(1000 * (curve[-1].time_s - (answer.wiping_time_s or 0.0)), standings["sync_time_s"])
        words.append(f" falls to nothing in {slip_ms} ms under {torque} N·m,")
        words.append(f" at a friction of {_friction(answer)}, where the face gets hottest.")
    holds = "above" if answer.blocks else "below"
    words.append(f" At low friction the cone torque lies {holds} the index torque of {index} N·m: the ring")
    words.append(" blocks." if answer.blocks else " does not block.")
    if answer.interface_peak_c is not None:
        peak = shown(answer.interface_peak_c, standings["interface_peak_c"])
        words.append(f" The face reaches at least {peak} °C.")
    return "".join(words)


def _friction(answer: FullShiftAnswer) -> str:
    return shown(answer.curve_friction, answer.standings["friction"])
