"""The least change of one thing that brings a failing ring inside every limit: solved, not guessed.

Over one lever each criterion falls, rises, or falls and then rises, so the worst of them does too. Its lowest point
is found by golden section: above 1 there, no value of the lever helps. Else the edge between the ring as it is and
that point is found by bisection, and rounded to the inner side.
"""

from collections.abc import Callable, Iterator
from math import ceil, floor, log10, sqrt
from typing import Any, NamedTuple

from knowledge.loading.facing_rows import LeverName, ShiftBoundRow
from knowledge.parts.ranges import LEAST_RADIUS_MM, MOST_RADIUS_MM
from knowledge.parts.units import unit_of
from knowledge.rings.ring_shift import RingShift
from knowledge.shift.answer import LeastChange
from knowledge.shift.loaded_ring import LoadedRing
from knowledge.shift.wording import OUTSIDE
from knowledge.text import digits

GOLDEN = (sqrt(5) - 1) / 2

SEARCH_STEPS, EDGE_STEPS = 24, 32


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


def _radii_asked(shift: RingShift) -> dict[str, float | int | tuple[float, ...]]:
    radii = shift.mean_radii_mm
    return {"cones": len(radii), "mean_radius_mm": radii, "spline_radius_mm": shift.spline_radius_mm}


def _of_fields(words: str, step: float, *fields: str) -> Lever:
    """A lever that is one field of a shift; further fields take the same value."""

    def changed(shift: RingShift, value: float) -> RingShift:
        values: dict[str, Any] = dict.fromkeys(fields, value)
        return shift._replace(**values)

    def asked(shift: RingShift) -> dict[str, float | int | tuple[float, ...]]:
        return {name: getattr(shift, name) for name in fields}

    return Lever(words, step, lambda shift: getattr(shift, fields[0]), changed, asked)


LEVERS: dict[LeverName, Lever] = {
    "cones": Lever("cones", 1, lambda shift: len(shift.mean_radii_mm), _with_cones, _radii_asked),
    "mean_radius_mm": Lever("mean radius", 0.01, lambda shift: max(shift.mean_radii_mm), _with_radius, _radii_asked),
    "half_angle_deg": _of_fields("half angle", 0.01, "half_angle_deg", "cone_half_angle_deg"),
    "shift_force_n": _of_fields("shift force", 1, "shift_force_n"),
    "shift_interval_s": _of_fields("time between shifts", 0.1, "shift_interval_s"),
}


def least_changes(ring: LoadedRing) -> Iterator[LeastChange]:
    """For a facing that fails anything: each lever, with the least change that brings it inside, or why none does."""
    if ring.worst_ratio <= 1:
        return
    shift = ring.shift
    for name, lever in LEVERS.items():
        bound = next(row for row in ring.base.shift_bounds if row.lever == name and row.facing in (None, shift.facing))
        low, high = _radius_bounds(bound, shift) if bound.is_ratio else (bound.low, bound.high)
        to, reason = _solved(name, lever, ring, low, high)
        unit = {"1": "", "°": "°"}.get(unit_of(name), f" {unit_of(name)}")
        refusal = f"{lever.words.capitalize()} from {digits(low, 4)} to {digits(high, 4)}{unit}: not enough, {reason}."
        about = None if to is None else _in_two_digits(to, lever, ring, low, high)
        yield LeastChange(
            facing=shift.facing,
            change=name,
            now=lever.now(shift),
            to=to,
            about=about,
            low=low,
            high=high,
            unit=unit_of(name),
            text=refusal if about is None else _text(lever, unit, lever.now(shift), about),
            reason=reason or None,
            ask_with={} if to is None else lever.asked(lever.changed(shift, to)),
            standing=bound.standing,
        )


def _text(lever: Lever, unit: str, now: float, to: float) -> str:
    if to == now:
        return f"Keep the {lever.words} of {digits(to, 6)}{unit}, and cut ring and cone alike."
    return f"Change the {lever.words} from {digits(now, 6)} to {digits(to, 6)}{unit}."


def _in_two_digits(to: float, lever: Lever, ring: LoadedRing, low: float, high: float) -> float:
    """A change in two digits, as limits and bounds are judged, where it is enough and within the bounds; else itself."""
    now = lever.now(ring.shift)
    if to == now:
        return to
    coarse = _rounded(to, now, 10.0 ** (floor(log10(to)) - 1), lambda value: _worst(lever, ring, value))
    return coarse if low <= coarse <= high else to


def _radius_bounds(bound: ShiftBoundRow, shift: RingShift) -> tuple[float, float]:
    """Bounds of the largest radius, such that every cone keeps a size that can be asked about."""
    smallest, largest = min(shift.mean_radii_mm), max(shift.mean_radii_mm)
    return max(bound.low, LEAST_RADIUS_MM / smallest) * largest, min(bound.high * largest, MOST_RADIUS_MM)


def _ratios(lever: Lever, ring: LoadedRing, value: float) -> dict[str, float]:
    return LoadedRing(lever.changed(ring.shift, value), ring.base).ratios


def _worst(lever: Lever, ring: LoadedRing, value: float) -> float:
    return max(_ratios(lever, ring, value).values())


def _solved(name: LeverName, lever: Lever, ring: LoadedRing, low: float, high: float) -> tuple[float | None, str]:
    """The value nearest to what is there that brings the shift inside, or None with what stays outside."""

    def worst(value: float) -> float:
        return _worst(lever, ring, value)

    if name == "shift_interval_s" and ring.shift.shifts == 1:
        return None, "only one shift was asked about"
    now = lever.now(ring.shift)
    if name == "cones":
        others = sorted((count for count in range(int(low), int(high) + 1) if count != now), key=lambda n: abs(n - now))
        inside = [count for count in others if worst(count) <= 1]
        return (inside[0], "") if inside else (None, _reason(_ratios(lever, ring, min(others, key=worst))))
    now = min(max(now, low), high)
    best = _lowest(worst, low, high)
    if worst(best) > 1:
        return None, _reason(_ratios(lever, ring, best))
    return _rounded(_edge(worst, now, best), now, lever.step, worst), ""


def _reason(ratios: dict[str, float]) -> str:
    return OUTSIDE[max(ratios, key=lambda criterion: ratios[criterion])]


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
