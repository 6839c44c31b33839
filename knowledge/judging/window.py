"""What a data sheet must show: the box and its conditions turned into lines to read to a jug."""

from collections.abc import Iterator, Sequence
from math import inf
from typing import NamedTuple

from knowledge.base import KnowledgeBase
from knowledge.box.named import in_words
from knowledge.box.worlds import Worlds
from knowledge.fill.answer import Window
from knowledge.judging.judged import Judged
from knowledge.judging.rules.hot import least_bearing_ratio
from knowledge.lubricant import Lubricant
from knowledge.parts.lubricant_name import Limits
from knowledge.physics.bearing import reference_viscosity_mm2_s
from knowledge.physics.density import density_kg_m3
from knowledge.physics.limits import OutOfRange
from knowledge.text import grouped, listed, plain

NO_FLUID = "The exact fluid that the manufacturer's service data names; no generic class fits."

NO_LIMITED_SLIP = "none of the limited-slip kind"

AS_SERVICE_DATA_SAYS = "as the service data says"

UNLESS_A_CLUTCH_PACK = f", unless a limited-slip clutch pack shares the oil: then {AS_SERVICE_DATA_SAYS}"

DOES_NOT_MATTER = "does not matter"

# Fuel-saving engine oils have one that lowers friction without being called limited-slip.
NONE_FOR_A_CLUTCH = "none of the limited-slip or the fuel-saving kind, since a wet clutch shares the oil"

CLEAR_UP_FIRST = "First of all: clear up with the manufacturer what the service data names."

CLEAR_UP = "Nothing yet: clear up with the manufacturer first what the service data names."

NOT_YET = "Nothing yet: what is still unknown changes what the jug must show. Ask the next question first."


class _Corner(NamedTuple):
    """The worst corner of what is still unknown."""

    sump_hot_c: float
    coldest_start_c: float
    bearing_reference_mm2_s: float
    wiping_s_per_mpa_s: float | None
    has_lining: bool
    has_rings: bool
    has_copper: bool


def window(
    leading: Sequence[Judged], worlds: Worlds, *, is_in_conflict: bool = False, provable: Sequence[Judged] = ()
) -> Window:
    """The window of the classes that lead, at the worst corner of what is still unknown.

    Where none leads: of those `provable`, that a copper strip of one jug can still let in.

    It ends where the first of them ends, since what is thicker still only adds drag; or where the last one ends that
    the service data names.
    """
    corner = _corner(worlds)
    if not leading:
        return _without_figures(_no_fluid(provable, worlds.base), "only the service data can say", corner)
    if not worlds.named.is_listed:
        named = in_words(worlds.question.service_data, worlds.base)
        says = CLEAR_UP if is_in_conflict else f"What the service data names: {named}."
        return _without_figures(says, AS_SERVICE_DATA_SAYS, corner, worlds.named.family)
    if leading[0].verdict(worlds.every) == "depends":
        return _without_figures(NOT_YET, "not yet known", corner)
    base = worlds.base
    most = max(item.oil.kv100_max_mm2_s for item in leading if item is leading[0] or item.is_asked_for)
    oils = [item.oil for item in leading if item.oil.kv100_min_mm2_s < most]
    least, is_index_decisive = min(_kv100_from_mm2_s(oil, corner, base) for oil in oils)
    for is_there, limit in (
        (corner.has_lining, base.limit("lining-kv100-below")),
        (corner.has_rings, base.limit("ring-drag-kv100-from")),
    ):
        if is_there and max(least, leading[0].oil.kv100_min_mm2_s) < limit:
            most = min(most, limit)
    free = [_kv100_to_mm2_s(oil, corner, worlds) for oil in oils]
    window = Window(
        kv100_mm2_s=Limits(min=least, max=most),
        kv100_for_free_first_shifts_mm2_s=min(free) if least < min(free) < most else None,
        cold_limit_c=corner.coldest_start_c,
        families=tuple(dict.fromkeys(oil.family.id for oil in oils)),
        copper_strip_max=base.copper_strip_wanted if corner.has_copper else None,
        friction_modifier=_friction_modifier(oils, corner, worlds),
        rests_on="judgement",
        ask_for=(),
    )
    first = (CLEAR_UP_FIRST,) if is_in_conflict and leading[0].is_asked_for else ()
    least_index = min(oil.viscosity_index_min for oil in oils)
    ask_for = (*first, *_lines(window, least_index, worlds, is_index_decisive=is_index_decisive))
    return window.model_copy(update={"ask_for": ask_for, "expect": tuple(_expected(window, free))})


def _no_fluid(provable: Sequence[Judged], base: KnowledgeBase) -> str:
    if not provable:
        return NO_FLUID
    kinds = listed(dict.fromkeys(item.oil.family.label for item in provable), "or")
    return f"{NO_FLUID} Or {kinds} with this proof, judged as the jug it is: {_copper_strip(base)}"


def _copper_strip(base: KnowledgeBase) -> str:
    heat, hours = base.limit("copper-strip-temperature-from"), base.limit("copper-strip-hours-from")
    bath = f"{plain(hours)} hours at {plain(heat)} °C or hotter"
    return f"Copper strip (ASTM D130): {base.copper_strip_wanted} or better, {bath}."


def _without_figures(says: str, friction_modifier: str, corner: _Corner, family: str | None = None) -> Window:
    """What to look for where no class lends its figures."""
    return Window(
        kv100_mm2_s=Limits(),
        cold_limit_c=corner.coldest_start_c,
        families=(family,) if family else (),
        copper_strip_max=None,
        friction_modifier=friction_modifier,
        rests_on=None,
        ask_for=(says,),
    )


def _friction_modifier(oils: Sequence[Lubricant], corner: _Corner, worlds: Worlds) -> str:
    """What rings and a clutch pack want of it: the rings grip, the pack slip, and both only what the maker names."""
    packs = {part.value for part in worlds.parts("limited_slip")}
    if packs == {True} or all(oil.limited_slip for oil in oils):
        return AS_SERVICE_DATA_SAYS
    wanted = NO_LIMITED_SLIP if corner.has_rings else DOES_NOT_MATTER
    if all(part.value for part in worlds.parts("wet_clutch")):
        wanted = NONE_FOR_A_CLUTCH
    return wanted + UNLESS_A_CLUTCH_PACK if True in packs else wanted


def _corner(worlds: Worlds) -> _Corner:
    bearing = worlds.parts("bearing")[0].value
    lands = [part.value.wiping_s_per_mpa_s for part in worlds.parts("wiping_land") if part.value]
    needed = reference_viscosity_mm2_s(speed_rpm=bearing.speed_rpm, pitch_diameter_mm=bearing.pitch_diameter_mm)
    return _Corner(
        sump_hot_c=max(part.value for part in worlds.parts("sump_hot_c")),
        coldest_start_c=min(part.value for part in worlds.parts("coldest_start_c")),
        bearing_reference_mm2_s=needed,
        wiping_s_per_mpa_s=max(lands, default=None),
        has_lining=any("lined" in part.value for part in worlds.parts("facing_kinds")),
        has_rings=any(part.value for part in worlds.parts("has_rings")),
        has_copper=any(part.value for part in worlds.parts("copper_parts")),
    )


def _kv100_from_mm2_s(oil: Lubricant, corner: _Corner, base: KnowledgeBase) -> tuple[float, bool]:
    """From which KV100 a class keeps its bearings apart at the hottest sump: comfortably, or just so where it must.

    And whether only a high viscosity index does so.
    """
    least = least_bearing_ratio(oil, base) * corner.bearing_reference_mm2_s
    wanted = ((base.limit("margin-comfortable-from") * least, False), (least, False), (least, True))
    try:
        for viscosity, at_best in wanted:
            needed = oil.kv100_needed_mm2_s(temperature_c=corner.sump_hot_c, viscosity_mm2_s=viscosity, at_best=at_best)
            if needed is not None:
                return needed, at_best
    except OutOfRange:
        return oil.kv100_min_mm2_s, False
    return oil.thickest_kv100_mm2_s, True


def _kv100_to_mm2_s(oil: Lubricant, corner: _Corner, worlds: Worlds) -> float:
    """Up to which KV100 a class lets first shifts come freely at the coldest start; 0 where that cannot be computed."""
    if corner.wiping_s_per_mpa_s is None:
        return inf
    density = density_kg_m3(density15_kg_m3=oil.density15_kg_m3, temperature_c=corner.coldest_start_c)
    allowed = worlds.base.limit("wiping-time-baulk-from") / corner.wiping_s_per_mpa_s / density * 1000
    try:
        return oil.kv100_allowed_mm2_s(temperature_c=corner.coldest_start_c, viscosity_mm2_s=allowed)
    except OutOfRange:
        return 0.0


def _lines(window: Window, least_index: float, worlds: Worlds, *, is_index_decisive: bool) -> Iterator[str]:
    """What the jug's data sheet must show, in the words of a data sheet."""
    base = worlds.base
    least, most, coldest = window.kv100_mm2_s.min, window.kv100_mm2_s.max, window.cold_limit_c
    families = [base.families[id] for id in window.families]
    yield f"Kind of fluid: {listed((family.label for family in families), 'or')}."
    yield f"Kinematic viscosity at 100 °C (KV100): from {plain(least)} to below {plain(most)} mm²/s."
    if is_index_decisive:
        yield "Viscosity index: the highest that is to be had; with a low one none of them is thick enough when hot."
    if window.kv100_for_free_first_shifts_mm2_s:
        up_to = f"KV100 up to {plain(window.kv100_for_free_first_shifts_mm2_s)} mm²/s"
        index = f"at a viscosity index of {plain(least_index)} or more"
        yield f"For free first shifts at {plain(coldest)} °C stay near the thin end: {up_to} {index}."
    if coldest < base.limit("cold-start-caution-below"):
        yield from _cold_lines(window, worlds)
    if window.copper_strip_max:
        yield _copper_strip(base)
    if window.friction_modifier != DOES_NOT_MATTER:
        yield f"Friction modifier: {window.friction_modifier}."


def _cold_lines(window: Window, worlds: Worlds) -> Iterator[str]:
    """Engine oils are tested in the cold by methods of their own, and their sheets show no other."""
    base, coldest = worlds.base, plain(window.cold_limit_c)
    scales = {row.scale for row in base.lubricant_rows.values() if row.family in window.families}
    if scales - {"sae-j300"}:
        thickest = grouped(base.limit("flow-limit-mpa-s"))
        yield f"Cold viscosity (ASTM D2983): {thickest} mPa·s or less at {coldest} °C or colder."
    if "sae-j300" in scales:
        yield f"Cold viscosity of an engine oil: a W grade of SAE J300 that is tested at {coldest} °C or colder."


def _expected(window: Window, free: Sequence[float]) -> Iterator[str]:
    """What nobody finds on a jug and the driver should know all the same."""
    least, coldest = window.kv100_mm2_s.min, window.cold_limit_c
    if min(free) <= least:
        how = "Expect stiff first shifts" if max(free) <= least else "First shifts may be stiff"
        yield f"{how} at {plain(coldest)} °C; of two jugs take the one that is thinner at 40 °C."
