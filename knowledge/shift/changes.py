"""The least change of one thing that brings a failing ring inside every limit: found by trying, in two digits."""

from collections.abc import Iterator, Mapping, Sequence
from functools import cache, lru_cache
from math import floor, inf, log10
from typing import Any, NamedTuple

from knowledge.loading.facing_rows import LeverName, ShiftBoundRow
from knowledge.parts.ranges import LEAST_RADIUS_MM, MOST_RADIUS_MM
from knowledge.parts.units import unit_of
from knowledge.rings.ring_shift import RingShift
from knowledge.shift.answer import LeastChange
from knowledge.shift.loaded_ring import LoadedRing
from knowledge.text import Said, digits

RADII = ("cones", "mean_radius_mm", "spline_radius_mm")


ONE_SHIFT = Said("only one shift was asked about", "only-one-shift")


class Lever(NamedTuple):
    """One thing that can be changed: its words, the fields that a changed ring is asked by, and what is enough."""

    words: str
    fields: tuple[str, ...]
    enough: str


LEVERS: Mapping[LeverName, Lever] = {
    "cones": Lever("cones", RADII, "{} cones"),
    "mean_radius_mm": Lever("mean radius", RADII, "a {} mm mean radius"),
    "half_angle_deg": Lever("half angle", ("half_angle_deg", "cone_half_angle_deg"), "a {}° half angle"),
    "shift_force_n": Lever("shift force", ("shift_force_n",), "{} N of shift force"),
    "shift_interval_s": Lever("time between shifts", ("shift_interval_s",), "{} s between shifts"),
}


def changed(name: LeverName, shift: RingShift, value: float) -> RingShift:
    """A shift with one thing changed: all cones grown or shrunk alike within the same splines; more cones are as small
    as the smallest one there is, of fewer the largest ones stay.
    """
    radii = sorted(shift.mean_radii_mm, reverse=True)
    if name == "cones":
        return shift._replace(mean_radii_mm=(*radii, radii[-1], radii[-1])[: int(value)])
    if name == "mean_radius_mm":
        return shift._replace(mean_radii_mm=tuple(value / radii[0] * each for each in shift.mean_radii_mm))
    fields: dict[str, Any] = dict.fromkeys(LEVERS[name].fields, value)
    return shift._replace(**fields)


def least_changes(ring: LoadedRing) -> Iterator[LeastChange]:
    """For a facing that fails anything: each lever, with the least change that brings it inside, or why none does."""
    if ring.worst_ratio <= 1:
        return
    for name in LEVERS:
        bound = next(
            row for row in ring.base.shift_bounds if row.lever == name and row.facing in (None, ring.shift.facing)
        )
        yield _least(name, bound, ring)


def _least(name: LeverName, bound: ShiftBoundRow, ring: LoadedRing) -> LeastChange:
    lever, shift, now = LEVERS[name], ring.shift, getattr(ring.shift, name)
    low, high = _radius_bounds(bound, shift) if name == "mean_radius_mm" else (bound.low, bound.high)
    to, reason, ask_with, of = None, None, {}, {"change": name, "facing": shift.facing}
    unit = {"1": "", "°": "°"}.get(unit_of(name), f" {unit_of(name)}")
    idle = name == "shift_interval_s" and shift.shifts == 1
    values = [now] if idle else _values(name, now, low, high)
    value, found = _nearest_inside(name, values, ring)
    if found.worst_ratio > 1:
        reason = ONE_SHIFT if idle else found.farthest
        told = f"{lever.words.capitalize()} from {digits(low, 4)} to {digits(high, 4)}{unit}: not enough, {reason}."
        text = Said(told, "change-is-not-enough", (reason,), **of, low=low, high=high)
    else:
        to = value
        ask_with = {field: getattr(found.shift, field) for field in lever.fields}
        if "mean_radius_mm" in ask_with:
            ask_with["mean_radius_mm"] = found.shift.mean_radii_mm
        told = f"Change the {lever.words} from {digits(now, 6)} to {digits(to, 6)}{unit}."
        text = Said(told, "change", **of, now=now, to=to)
        if to == now:
            told = f"Keep the {lever.words} of {digits(now, 6)}{unit}, and cut ring and cone alike."
            text = Said(told, "keep-and-cut-alike", **of, now=now)
    return LeastChange(
        facing=shift.facing,
        change=name,
        now=now,
        to=to,
        low=low,
        high=high,
        unit=unit_of(name),
        text=text,
        reason=reason,
        ask_with=ask_with,
        standing=bound.standing,
    )


def _nearest_inside(name: LeverName, values: Sequence[float], ring: LoadedRing) -> tuple[float, LoadedRing]:
    """The value inside every limit that is nearest to where the lever stands, or the one least outside.

    Over the values the worst ratio falls, and then rises: each step leaves out the half where it cannot be least. That
    a fluid does not suit a facing no value mends.
    """

    @cache
    def at(place: int) -> LoadedRing:
        return LoadedRing(changed(name, ring.shift, values[place]), ring.base)

    def is_inside(place: int) -> bool:
        return at(place).worst_ratio <= 1

    if ring.ratios.get("fluid", 0) == inf:
        return values[0], at(0)
    now = getattr(ring.shift, name)
    outside = min(range(len(values)), key=lambda place: abs(values[place] - now))
    low, high = 0, len(values) - 1
    least = outside
    while not is_inside(least) and low < high:
        least = (low + high) // 2
        if at(least).worst_ratio > at(least + 1).worst_ratio:
            low = least = least + 1
        else:
            high = least
    if is_inside(least) and not is_inside(outside):
        while abs(least - outside) > 1:
            middle = (least + outside) // 2
            least, outside = (middle, outside) if is_inside(middle) else (least, middle)
    return values[least], at(least)


def _radius_bounds(bound: ShiftBoundRow, shift: RingShift) -> tuple[float, float]:
    """Bounds of the largest radius, such that every cone keeps a size that can be asked about."""
    smallest, largest = min(shift.mean_radii_mm), shift.mean_radius_mm
    return max(bound.low, LEAST_RADIUS_MM / smallest) * largest, min(bound.high * largest, MOST_RADIUS_MM)


def _values(name: LeverName, now: float, low: float, high: float) -> list[float]:
    """What is tried, the least first: as it is, the bounds, and all of two digits between them."""
    found = sorted({*_of_two_digits(low, high), *({now} if low <= now <= high else ())})
    return [value for value in found if value == int(value)] if name == "cones" else found


@lru_cache(maxsize=256)
def _of_two_digits(low: float, high: float) -> frozenset[float]:
    """Bounds, and all of two digits between them; kept, since most bounds stand in the table."""
    decades = range(floor(log10(low)), floor(log10(high)) + 1)
    found = {round(count * 10.0 ** (decade - 1), 6) for decade in decades for count in range(10, 100)}
    return frozenset(value for value in (*found, low, high) if low <= value <= high)
