"""The least change of one thing that brings a failing ring inside every limit: solved, not guessed.

Over one lever each criterion falls, rises, or falls and then rises, so the worst of them does too. Its lowest point
is found by golden section: above 1 there, no value of the lever helps. Else the edge between the ring as it is and
that point is found by bisection, and rounded to the inner side.
"""

from collections.abc import Callable, Iterator
from functools import partial
from math import ceil, floor, log10, sqrt
from typing import Any, NamedTuple

from knowledge.loading.facing_rows import LeverName, ShiftBoundRow
from knowledge.parts.ranges import LEAST_RADIUS_MM, MOST_RADIUS_MM
from knowledge.parts.units import unit_of
from knowledge.rings.ring_shift import RingShift
from knowledge.shift.answer import LeastChange
from knowledge.shift.loaded_ring import LoadedRing
from knowledge.text import digits

GOLDEN = (sqrt(5) - 1) / 2

SEARCH_STEPS, EDGE_STEPS = 24, 32

RADII = ("cones", "mean_radius_mm", "spline_radius_mm")


class Lever(NamedTuple):
    """One thing that can be changed: its words, its step, and the fields that a changed ring is asked by."""

    name: LeverName
    words: str
    step: float
    fields: tuple[str, ...]

    def now(self, shift: RingShift) -> float:
        """Where it stands; of several radii the largest."""
        radii = shift.mean_radii_mm
        of_radii = {"cones": len(radii), "mean_radius_mm": max(radii)}
        return of_radii[self.name] if self.name in of_radii else getattr(shift, self.name)

    def changed(self, shift: RingShift, value: float) -> RingShift:
        """A shift with this changed: all cones grown or shrunk alike within the same splines; more cones are as small
        as the smallest one there is, of fewer the largest ones stay.
        """
        radii = sorted(shift.mean_radii_mm, reverse=True)
        if self.name == "cones":
            return shift._replace(mean_radii_mm=(*radii, radii[-1], radii[-1])[: int(value)])
        if self.name == "mean_radius_mm":
            return shift._replace(mean_radii_mm=tuple(value / radii[0] * each for each in shift.mean_radii_mm))
        fields: dict[str, Any] = dict.fromkeys(self.fields, value)
        return shift._replace(**fields)


LEVERS: dict[LeverName, Lever] = {
    lever.name: lever
    for lever in (
        Lever("cones", "cones", 1, RADII),
        Lever("mean_radius_mm", "mean radius", 0.01, RADII),
        Lever("half_angle_deg", "half angle", 0.01, ("half_angle_deg", "cone_half_angle_deg")),
        Lever("shift_force_n", "shift force", 1, ("shift_force_n",)),
        Lever("shift_interval_s", "time between shifts", 0.1, ("shift_interval_s",)),
    )
}


def least_changes(ring: LoadedRing) -> Iterator[LeastChange]:
    """For a facing that fails anything: each lever, with the least change that brings it inside, or why none does."""
    if ring.worst_ratio <= 1:
        return
    shift = ring.shift
    for name, lever in LEVERS.items():
        bound = next(row for row in ring.base.shift_bounds if row.lever == name and row.facing in (None, shift.facing))
        low, high = _radius_bounds(bound, shift) if bound.is_ratio else (bound.low, bound.high)
        to, reason = _solved(lever, ring, low, high)
        now, about, ask_with = lever.now(shift), to, {}
        unit = {"1": "", "°": "°"}.get(unit_of(name), f" {unit_of(name)}")
        text = f"{lever.words.capitalize()} from {digits(low, 4)} to {digits(high, 4)}{unit}: not enough, {reason}."
        if to is not None:
            asked = lever.changed(shift, to)
            of_radii = {"cones": len(asked.mean_radii_mm), "mean_radius_mm": asked.mean_radii_mm}
            ask_with = {
                field: of_radii[field] if field in of_radii else getattr(asked, field) for field in lever.fields
            }
            # In two digits, as limits and bounds are judged, where that is enough and within the bounds.
            step = 10.0 ** (floor(log10(to)) - 1)
            coarse = to if to == now else _rounded(to, now, step, partial(_worst, lever, ring))
            about = coarse if low <= coarse <= high else to
            text = f"Change the {lever.words} from {digits(now, 6)} to {digits(about, 6)}{unit}."
            if about == now:
                text = f"Keep the {lever.words} of {digits(now, 6)}{unit}, and cut ring and cone alike."
        yield LeastChange(
            facing=shift.facing,
            change=name,
            now=now,
            to=to,
            about=about,
            low=low,
            high=high,
            unit=unit_of(name),
            text=text,
            reason=reason,
            ask_with=ask_with,
            standing=bound.standing,
        )


def _radius_bounds(bound: ShiftBoundRow, shift: RingShift) -> tuple[float, float]:
    """Bounds of the largest radius, such that every cone keeps a size that can be asked about."""
    smallest, largest = min(shift.mean_radii_mm), max(shift.mean_radii_mm)
    return max(bound.low, LEAST_RADIUS_MM / smallest) * largest, min(bound.high * largest, MOST_RADIUS_MM)


def _changed(lever: Lever, ring: LoadedRing, value: float) -> LoadedRing:
    return LoadedRing(lever.changed(ring.shift, value), ring.base)


def _worst(lever: Lever, ring: LoadedRing, value: float) -> float:
    return _changed(lever, ring, value).worst_ratio


def _solved(lever: Lever, ring: LoadedRing, low: float, high: float) -> tuple[float, None] | tuple[None, str]:
    """The value nearest to what is there that brings the shift inside, or what stays outside."""

    worst = partial(_worst, lever, ring)
    if lever.name == "shift_interval_s" and ring.shift.shifts == 1:
        return None, "only one shift was asked about"
    now = lever.now(ring.shift)
    if lever.name == "cones":
        others = sorted((count for count in range(int(low), int(high) + 1) if count != now), key=lambda n: abs(n - now))
        inside = [count for count in others if worst(count) <= 1]
        return (inside[0], None) if inside else (None, _changed(lever, ring, min(others, key=worst)).farthest)
    now = min(max(now, low), high)
    best = _lowest(worst, low, high)
    if worst(best) > 1:
        return None, _changed(lever, ring, best).farthest
    return _rounded(_edge(worst, now, best), now, lever.step, worst), None


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
