"""What a data sheet must show: the box and its conditions turned into lines to read to a jug."""

from collections.abc import Callable, Iterator, Sequence

from knowledge.answers import Limits, Window
from knowledge.judging import Judged
from knowledge.physics.density import density_kg_m3
from knowledge.physics.limits import OutOfRange
from knowledge.physics.bearing import reference_viscosity_mm2_s
from knowledge.physics.viscosity import kinematic_viscosity_mm2_s, viscosity_line
from knowledge.physics.viscosity_index import kv40_at_viscosity_index_mm2_s
from knowledge.phrases import listed
from knowledge.worlds import Worlds

HALVINGS = 20


def window(serving: Sequence[Judged], worlds: Worlds) -> Window:
    """The window for the classes that serve, at the worst corner of what is still unknown."""
    if not serving:
        return _closed(worlds, "The exact fluid that the manufacturer's service data names; no generic class fits.")
    if serving[0].verdict(worlds.every) == "depends":
        return _closed(
            worlds, "Nothing yet: what is still unknown changes what the jug must show. Ask the next question first."
        )
    base = worlds.base
    thinnest = min(item.oil.kv100_min_mm2_s for item in serving)
    thickest = max(item.oil.kv100_max_mm2_s for item in serving)
    hot = _rounded_up(max(thinnest, _kv100_from(serving, worlds)))
    lined = any("lined" in part.value for part in worlds.parts("facing_kinds"))
    most = min(thickest, base.limit("lining-kv100-below")) if lined else thickest
    easy = _kv100_for_free_first_shifts(serving, worlds)
    coldest = min(part.value for part in worlds.parts("coldest_start_c"))
    has_copper = any(part.value for part in worlds.parts("copper_parts"))
    has_rings = any(part.value for part in worlds.parts("facings"))
    families = tuple(dict.fromkeys(item.oil.family.id for item in serving))
    strip = base.copper_strip_wanted if has_copper else None
    return Window(
        kv100_mm2_s=Limits(min=hot, max=most),
        kv100_for_free_first_shifts_mm2_s=easy if easy is not None and hot < easy < most else None,
        cold_limit_c=coldest,
        families=families,
        copper_strip_max=strip,
        friction_modifier="none of the limited-slip kind" if has_rings else "does not matter",
        ask_for=tuple(_lines(worlds, families, hot, most, easy, coldest, strip, has_rings)),
    )


def _closed(worlds: Worlds, line: str) -> Window:
    return Window(
        kv100_mm2_s=Limits(),
        cold_limit_c=min(part.value for part in worlds.parts("coldest_start_c")),
        families=(),
        copper_strip_max=None,
        friction_modifier="not yet known",
        ask_for=(line,),
    )


def _lines(
    worlds: Worlds,
    families: tuple[str, ...],
    least: float,
    most: float,
    easy: float | None,
    coldest: float,
    strip: str | None,
    has_rings: bool,
) -> Iterator[str]:
    base = worlds.base
    yield f"Kind of fluid: {listed((base.families[id].label for id in families), 'or')}."
    yield f"Kinematic viscosity at 100 °C (KV100): from {least:.1f} to below {most:.1f} mm²/s."
    if easy is not None and easy < most:
        if easy > least:
            yield f"For free first shifts at {coldest:g} °C stay near the thin end: KV100 up to about {easy:.1f} mm²/s."
        else:
            yield f"Expect stiff first shifts at {coldest:g} °C whatever fits the hot side."
    yield f"Cold viscosity (ASTM D2983): 150 000 mPa·s or less at {coldest:g} °C or colder."
    if strip:
        heat = base.limit("copper-strip-temperature-from")
        yield f"Copper strip (ASTM D130): {strip} or better, 3 hours at {heat:g} °C or hotter."
    if has_rings:
        yield "No limited-slip friction modifier."


def _rounded_up(value: float) -> float:
    return -(-round(value * 10, 6) // 1) / 10


def _kv100_from(serving: Sequence[Judged], worlds: Worlds) -> float:
    """The least KV100 that keeps the bearing ratio at the hottest sump, for any viscosity index on offer."""
    sump = max(part.value for part in worlds.parts("sump_hot_c"))
    bearing = worlds.parts("bearing")[0].value
    needed = worlds.base.limit("bearing-ratio-refused-below") * reference_viscosity_mm2_s(
        speed_rpm=bearing.speed_rpm, pitch_diameter_mm=bearing.pitch_diameter_mm
    )
    return max(
        _kv100_at(lambda line: kinematic_viscosity_mm2_s(line=line, temperature_c=sump) - needed, index, worlds)
        for index in _viscosity_indices(serving)
    )


def _kv100_for_free_first_shifts(serving: Sequence[Judged], worlds: Worlds) -> float | None:
    """The greatest KV100 with which first shifts come freely at the coldest start, for any viscosity index."""
    coldest = min(part.value for part in worlds.parts("coldest_start_c"))
    lands = [part.value for part in worlds.parts("wiping_land") if part.value]
    if not lands:
        return None
    slowest = max(land.wiping_s_per_mpa_s for land in lands)
    density = max(item.oil.density15_kg_m3 for item in serving)
    density = density_kg_m3(density15_kg_m3=density, temperature_c=coldest)
    allowed = worlds.base.limit("wiping-time-baulk-from") / slowest / density * 1000
    try:
        return min(
            _kv100_at(lambda line: kinematic_viscosity_mm2_s(line=line, temperature_c=coldest) - allowed, index, worlds)
            for index in _viscosity_indices(serving)
        )
    except OutOfRange:
        return None


def _viscosity_indices(serving: Sequence[Judged]) -> tuple[float, float]:
    return (
        min(item.oil.viscosity_index_min for item in serving),
        max(item.oil.viscosity_index_max for item in serving),
    )


def _kv100_at(excess: Callable[..., float], viscosity_index: float, worlds: Worlds) -> float:
    """The KV100, along a viscosity index, at which a growing excess passes zero; halved down to it."""
    oils = worlds.base.oils
    reference_oils = worlds.base.astm_d2270
    low, high = reference_oils[0].kv100_min_mm2_s, max(oil.kv100_max_mm2_s for oil in oils)
    for _ in range(HALVINGS):
        kv100 = (low + high) / 2
        kv40 = kv40_at_viscosity_index_mm2_s(
            viscosity_index=viscosity_index, kv100_mm2_s=kv100, reference_oils=reference_oils
        )
        if excess(viscosity_line(kv40_mm2_s=kv40, kv100_mm2_s=kv100)) < 0:
            low = kv100
        else:
            high = kv100
    return high
