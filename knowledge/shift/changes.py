"""The least change of one thing that brings a failing ring inside every limit: solved, not guessed.

Over one lever each criterion falls, rises, or falls and then rises, so the worst of them does too. Its lowest point
is found by golden section: above 1 there, no value of the lever helps. Else the edge between the ring as it is and
that point is found by bisection, and rounded to the inner side.
"""

from collections.abc import Callable, Iterator
from math import ceil, floor, sqrt
from typing import NamedTuple

from knowledge.base import KnowledgeBase
from knowledge.loading.facing_rows import LeverName, ShiftBoundRow
from knowledge.parts.ranges import LEAST_RADIUS_MM, MOST_RADIUS_MM
from knowledge.parts.units import unit_of
from knowledge.rings.figures import both_ends, ratios
from knowledge.rings.ring_shift import RingShift, limits_of
from knowledge.shift.answer import LeastChange
from knowledge.shift.judge import JudgedRing
from knowledge.text import digits

GOLDEN = (sqrt(5) - 1) / 2

SEARCH_STEPS, EDGE_STEPS = 24, 32

FAILS_BY = {
    "blocking": "it still does not block",
    "release": "it still tends to wedge",
    "index": "the drag still outweighs the chamfers",
    "wiping": "it still wipes its film too slowly",
    "drag": "the drag still wins",
    "sliding_speed_m_s": "it still slides too fast",
    "specific_energy_j_mm2": "the energy is still too high",
    "mean_power_w_mm2": "the power is still too high",
    "pressure_n_mm2": "the pressure is still too high",
    "interface_temperature_c": "the face still gets too hot",
    "bulk": "ring and cone still get too hot",
    "taper": "ring and cone still differ in angle",
    "fluid": "the fluid still does not serve the facing",
}


class Lever(NamedTuple):
    """One thing that can be changed: its words, its step, where it stands in a shift, and how it is asked for."""

    words: str
    step: float
    now: Callable[[RingShift], float]
    changed: Callable[[RingShift, float], RingShift]
    asked: Callable[[RingShift], dict[str, float | int | tuple[float, ...]]]


def _with_radius(shift: RingShift, radius: float) -> RingShift:
    """All cones grown or shrunk alike, the largest to this radius; the splines stay."""
    factor = radius / max(shift.mean_radii_mm)
    return shift._replace(mean_radii_mm=tuple(factor * each for each in shift.mean_radii_mm))


def _with_cones(shift: RingShift, cones: float) -> RingShift:
    """More cones are as small as the smallest one there is; of fewer the largest ones stay."""
    radii = sorted(shift.mean_radii_mm, reverse=True)
    return shift._replace(mean_radii_mm=(*radii, radii[-1], radii[-1])[: int(cones)])


def _with_angle(shift: RingShift, angle: float) -> RingShift:
    """Ring and cone cut alike."""
    return shift._replace(half_angle_deg=angle, cone_half_angle_deg=None)


def _radii_asked(shift: RingShift) -> dict[str, float | int | tuple[float, ...]]:
    radii = shift.mean_radii_mm
    return {"cones": len(radii), "mean_radius_mm": radii, "spline_radius_mm": shift.spline_radius_mm}


LEVERS: dict[LeverName, Lever] = {
    "cones": Lever("cones", 1, lambda shift: len(shift.mean_radii_mm), _with_cones, _radii_asked),
    "mean_radius_mm": Lever("mean radius", 0.01, lambda shift: max(shift.mean_radii_mm), _with_radius, _radii_asked),
    "half_angle_deg": Lever(
        "half angle",
        0.01,
        lambda shift: shift.half_angle_deg,
        _with_angle,
        lambda shift: {"half_angle_deg": shift.half_angle_deg, "cone_half_angle_deg": shift.half_angle_deg},
    ),
    "shift_force_n": Lever(
        "shift force",
        1,
        lambda shift: shift.shift_force_n,
        lambda shift, force: shift._replace(shift_force_n=force),
        lambda shift: {"shift_force_n": shift.shift_force_n},
    ),
    "shift_interval_s": Lever(
        "time between shifts",
        0.1,
        lambda shift: shift.shift_interval_s,
        lambda shift, interval: shift._replace(shift_interval_s=interval),
        lambda shift: {"shift_interval_s": shift.shift_interval_s},
    ),
}


def least_changes(judged: JudgedRing) -> Iterator[LeastChange]:
    """For a facing that fails anything: each lever, with the least change that brings it inside, or why none does."""
    if judged.worst_ratio <= 1:
        return
    shift, base = judged.shift, judged.base
    for name, lever in LEVERS.items():
        bound = next(row for row in base.shift_bounds if row.lever == name and row.facing in (None, shift.facing))
        low, high = _radius_bounds(bound, shift) if bound.is_ratio else (bound.low, bound.high)
        to, reason = _solved(name, lever, shift, low, high, base)
        measured_in = unit_of(name)
        unit = {"1": "", "°": "°"}.get(measured_in, f" {measured_in}")
        refusal = f"{lever.words.capitalize()} from {digits(low, 4)} to {digits(high, 4)}{unit}: not enough, {reason}."
        yield LeastChange(
            facing=shift.facing,
            change=name,
            now=lever.now(shift),
            to=to,
            low=low,
            high=high,
            unit=measured_in,
            text=text_of(lever, lever.now(shift), to, unit) or refusal,
            reason=reason or None,
            ask_with={} if to is None else lever.asked(lever.changed(shift, to)),
            standing=bound.standing,
        )


def text_of(lever: Lever, now: float, to: float | None, unit: str) -> str | None:
    if to is None:
        return None
    if to == now:
        return f"Keep the {lever.words} of {digits(to, 6)}{unit}, and cut ring and cone alike."
    return f"Change the {lever.words} from {digits(now, 6)} to {digits(to, 6)}{unit}."


def _radius_bounds(bound: ShiftBoundRow, shift: RingShift) -> tuple[float, float]:
    """Bounds of the largest radius, such that every cone keeps a size that can be asked about."""
    smallest, largest = min(shift.mean_radii_mm), max(shift.mean_radii_mm)
    return max(bound.low, LEAST_RADIUS_MM / smallest) * largest, min(bound.high * largest, MOST_RADIUS_MM)


def _solved(
    name: LeverName, lever: Lever, shift: RingShift, low: float, high: float, base: KnowledgeBase
) -> tuple[float | None, str]:
    """The value nearest to what is there that brings the shift inside, or None with what stays outside."""
    limits = limits_of(shift.facing, base)

    def found(value: float) -> dict[str, float]:
        changed = lever.changed(shift, value)
        return dict(ratios(changed, both_ends(changed), limits, base))

    def worst(value: float) -> float:
        return max(found(value).values())

    if name == "shift_interval_s" and shift.shifts == 1:
        return None, "only one shift was asked about"
    if name == "cones":
        return _nearest_count(found, lever.now(shift), range(int(low), int(high) + 1))
    now = min(max(lever.now(shift), low), high)
    best = _lowest(worst, low, high)
    if worst(best) > 1:
        return None, _reason(found(best))
    return _rounded(_edge(worst, now, best), now, lever.step, worst), ""


def _nearest_count(found: Callable[[float], dict[str, float]], now: float, counts: range) -> tuple[float | None, str]:
    others = sorted((count for count in counts if count != now), key=lambda count: (abs(count - now), count))
    for count in others:
        if max(found(count).values()) <= 1:
            return count, ""
    best = min(others, key=lambda count: max(found(count).values()))
    return None, _reason(found(best))


def _reason(found: dict[str, float]) -> str:
    return FAILS_BY[max(found, key=lambda criterion: found[criterion])]


def _lowest(worst: Callable[[float], float], low: float, high: float) -> float:
    """Where the worst criterion is lowest, or the first value found inside; the ends are looked at too."""
    for end in (low, high):
        if worst(end) <= 1:
            return end
    left, right = high - GOLDEN * (high - low), low + GOLDEN * (high - low)
    at_left, at_right = worst(left), worst(right)
    start, stop = low, high
    for _ in range(SEARCH_STEPS):
        if min(at_left, at_right) <= 1:
            break
        if at_left <= at_right:
            stop, right, at_right = right, left, at_left
            left = stop - GOLDEN * (stop - start)
            at_left = worst(left)
        else:
            start, left, at_left = left, right, at_right
            right = start + GOLDEN * (stop - start)
            at_right = worst(right)
    return left if at_left <= at_right else right


def _edge(worst: Callable[[float], float], outside: float, inside: float) -> float:
    """Between a value outside and one inside, the innermost side of the edge."""
    if worst(outside) <= 1:
        return outside
    for _ in range(EDGE_STEPS):
        middle = 0.5 * (outside + inside)
        if worst(middle) <= 1:
            inside = middle
        else:
            outside = middle
    return inside


def _rounded(value: float, now: float, step: float, worst: Callable[[float], float]) -> float:
    """The next whole step on the inner side of an edge; the edge itself where the stretch inside is narrower."""
    whole = step * (ceil(value / step - 1e-9) if value > now else floor(value / step + 1e-9))
    whole = round(whole, 6)
    return whole if worst(whole) <= 1 else value
