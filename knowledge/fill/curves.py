"""Viscosity over temperature of the classes that lead an answer, beside the window that the box leaves open."""

from collections.abc import Iterator, Sequence

from knowledge.base import KnowledgeBase
from knowledge.box.worlds import Worlds
from knowledge.fill.answer import Candidate, Figure, FillAnswer
from knowledge.fill.curves_answer import Band, BandPoint, FillCurves
from knowledge.judging.rules.hot import least_bearing_ratio
from knowledge.lubricant import Lubricant
from knowledge.physics.bearing import reference_viscosity_mm2_s
from knowledge.physics.density import density_kg_m3
from knowledge.physics.limits import OutOfRange
from knowledge.physics.viscosity import is_screening
from knowledge.text import significant

MOST_BANDS = 3

AT_EVERY_C = 10

MEASURED_AT_C = (40.0, 100.0)


def fill_curves(answer: FillAnswer, base: KnowledgeBase) -> FillCurves:
    """The curves of an answer: its first bands, from the coldest start to the hottest oil that is still open."""
    worlds = Worlds.of(answer.question, base)
    coldest = min(part.value for part in worlds.parts("coldest_start_c"))
    hottest = max(part.value for part in worlds.parts("sump_hot_c"))
    bands = _leading(answer, base)
    return FillCurves(
        knowledge=answer.knowledge,
        answer_id=answer.answer_id,
        coldest_start_c=coldest,
        sump_hot_c=hottest,
        least_hot_mm2_s=_least_hot(bands[0][1] if bands else None, worlds),
        most_for_free_shifts_mm2_s=_most_for_free_shifts([oil for _, oil in bands], coldest, worlds),
        bands=tuple(_band(sharing, oil, _temperatures(coldest, hottest), base) for sharing, oil in bands),
    )


def _leading(answer: FillAnswer, base: KnowledgeBase) -> list[tuple[list[Candidate], Lubricant]]:
    """The first classes of the answer, those with the same band together; none while the first one depends."""
    ranked = sorted((item for item in answer.candidates if item.rank is not None), key=lambda item: item.rank)
    if not ranked or ranked[0].verdict == "depends":
        return []
    oils = {oil.id: oil for oil in base.lubricants}
    found: dict[tuple[float, ...], tuple[list[Candidate], Lubricant]] = {}
    for item in ranked:
        oil = oils[item.lubricant.id]
        band = (oil.kv100_min_mm2_s, oil.kv100_max_mm2_s, oil.viscosity_index_min, oil.viscosity_index_max)
        if item.verdict == ranked[0].verdict and (band in found or len(found) < MOST_BANDS):
            found.setdefault(band, ([], oil))[0].append(item)
    return list(found.values())


def _band(sharing: Sequence[Candidate], oil: Lubricant, temperatures: Sequence[float], base: KnowledgeBase) -> Band:
    names = tuple(item.lubricant for item in sharing)
    families = ", ".join(base.families[name.family].label for name in names)
    return Band(
        lubricants=names,
        label=f"{families} {names[0].grade}",
        cold_limit_c=oil.cold_limit_c,
        shifts_freely_above_c=sharing[0].figures.shifts_freely_above_c,
        points=tuple(_points(oil, temperatures)),
    )


def _temperatures(coldest: float, hottest: float) -> tuple[float, ...]:
    """Every ten degrees, from a step below the coldest start to a step above the hottest oil."""
    first, last = int(coldest // AT_EVERY_C) - 1, int(-(-hottest // AT_EVERY_C)) + 1
    grid = {float(step * AT_EVERY_C) for step in range(first, last + 1)}
    return tuple(sorted({*grid, *MEASURED_AT_C, coldest, hottest}))


def _points(oil: Lubricant, temperatures: Sequence[float]) -> Iterator[BandPoint]:
    for temperature in temperatures:
        try:
            thin, thick = (significant(edge) for edge in oil.viscosity_span_mm2_s(temperature))
        except OutOfRange:
            thin = thick = None
        yield BandPoint(
            temperature_c=temperature,
            thin_mm2_s=thin,
            thick_mm2_s=thick,
            screening=is_screening(temperature_c=temperature),
        )


def _least_hot(leading: Lubricant | None, worlds: Worlds) -> Figure:
    """The least viscosity that the bearings bear of the oil that leads; without antiwear it has to be more."""
    bearing = worlds.parts("bearing")[0].value
    row = worlds.base.thresholds["bearing-ratio-refused-below"]
    ratio = least_bearing_ratio(leading, worlds.base) if leading else row.value
    needed = ratio * reference_viscosity_mm2_s(speed_rpm=bearing.speed_rpm, pitch_diameter_mm=bearing.pitch_diameter_mm)
    assumed = worlds.question.bearing is None
    return Figure(
        name="least_hot_mm2_s",
        value=significant(needed),
        unit="mm²/s",
        standing="computed",
        rests_on="judgement" if assumed else row.standing,
    )


def _most_for_free_shifts(oils: Sequence[Lubricant], coldest: float, worlds: Worlds) -> Figure | None:
    lands = [part.value for part in worlds.parts("wiping_land") if part.value]
    if not lands or not oils:
        return None
    slowest = max(land.wiping_s_per_mpa_s for land in lands)
    density = density_kg_m3(density15_kg_m3=oils[0].density15_kg_m3, temperature_c=coldest)
    most = worlds.base.limit("wiping-time-baulk-from") / slowest / density * 1000
    return Figure(
        name="most_for_free_shifts_mm2_s",
        value=significant(most),
        unit="mm²/s",
        standing="computed",
        rests_on="judgement",
        screening=is_screening(temperature_c=coldest),
    )
