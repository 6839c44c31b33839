"""One shift as a picture: speed difference, torque and temperature of the face over time."""

from api.drawing import DASH_DOTTED, DASHED, DOTTED, SOLID, Line, Panel, drawing, linear
from api.terminal_layout import number
from knowledge.shifts.models import ShiftAnswer


def shift_drawing(answer: ShiftAnswer) -> str:
    """The curve of the answer as SVG, with its words as text alternative."""
    curve = answer.curve
    in_ms = [1000 * point.time_s for point in curve]
    torques = [point.torque_nm for point in curve]
    speeds = [point.speed_difference_rpm for point in curve]
    warm = [(1000 * point.time_s, point.interface_c) for point in curve if point.interface_c is not None]
    index = (in_ms[0], answer.index_torque_nm), (in_ms[-1], answer.index_torque_nm)
    name = next(item.name for item in answer.facings if item.facing == answer.facing)
    heat = linear("Temperature of the face, °C", [value for _, value in warm] or [0.0, 1.0])
    if not warm:
        heat = heat._replace(ticks=())
    return drawing(
        title=f"One shift on {name.lower()}",
        about=_about(answer, name),
        across=linear("Time since the ring touched, ms", in_ms, from_zero=True),
        panels=(
            Panel(
                linear("Speed difference, 1/min", speeds, from_zero=True),
                (Line("speed difference", tuple(zip(in_ms, speeds, strict=True)), SOLID),),
            ),
            Panel(
                linear("Torque, N·m", [*torques, answer.index_torque_nm], from_zero=True),
                (
                    Line("cone torque", tuple(zip(in_ms, torques, strict=True)), DASHED),
                    Line("index torque", index, DASH_DOTTED),
                ),
            ),
            Panel(
                heat,
                (Line("face, at least", tuple(warm), DOTTED),) if warm else (),
                "" if warm else "Without an end of the slip no temperature can be computed.",
            ),
        ),
    )


def _about(answer: ShiftAnswer, name: str) -> str:
    """The picture in words, for whoever cannot see it."""
    speed, torque, index = answer.curve[0].speed_difference_rpm, answer.cone_torque_nm, answer.index_torque_nm
    said = [f"{name}. A speed difference of {number(speed)} revolutions per minute"]
    if answer.wiping_time_s is not None:
        said.append(f" stands for {number(1000 * answer.wiping_time_s)} ms while the film is wiped away, then")
    if answer.sync_time_s is None:
        said.append(f" never closes. {answer.sync_reason}")
    else:
        said.append(f" falls to nothing in {number(1000 * answer.sync_time_s)} ms under {number(torque)} N·m.")
    holds = "above" if answer.blocks else "below"
    said.append(f" The cone torque lies {holds} the index torque of {number(index)} N·m: the ring")
    said.append(" blocks." if answer.blocks else " does not block.")
    if answer.interface_peak_c is not None:
        said.append(f" The face reaches at least {number(answer.interface_peak_c)} °C.")
    return "".join(said)
