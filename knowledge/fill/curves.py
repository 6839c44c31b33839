"""Viscosity over temperature of the classes that lead an answer, beside the window that the box leaves open."""

from collections.abc import Iterator, Sequence

from knowledge.base import KnowledgeBase
from knowledge.box.question import FillQuestion
from knowledge.fill.compute import judged_box
from knowledge.fill.curves_answer import Band, BandPoint, FillCurves
from knowledge.judging.judgement import Judgement, WorstCase
from knowledge.judging.rules.hot import least_bearing_ratio
from knowledge.lubricant import Lubricant
from knowledge.parts.provenance import Figure
from knowledge.physics.density import density_kg_m3
from knowledge.physics.limits import OutOfRange
from knowledge.physics.viscosity import is_screening
from knowledge.shop.shop import NO_SHOP, Shop
from knowledge.text import significant

MOST_BANDS = 3

AT_EVERY_C = 10

MEASURED_AT_C = (40.0, 100.0)


def fill_curves(asked: FillQuestion, base: KnowledgeBase, shop: Shop = NO_SHOP) -> FillCurves:
    """The curves of an answer: its first bands, from the coldest start to the hottest oil that is still open.

    Errors: UnknownIds, when the question names an id that the knowledge or the shop does not have.
    """
    box = judged_box(asked, base, shop)
    judgement, worst = box.judgement, box.judgement.worst_case
    bands = _leading(judgement)
    oils = [judgement.lubricants[indices[0]] for indices in bands]
    temperatures = _temperatures(worst.coldest_start_c, worst.sump_hot_c)
    return FillCurves(
        knowledge=base.stamp,
        answer_id=box.answer_id,
        coldest_start_c=worst.coldest_start_c,
        sump_hot_c=worst.sump_hot_c,
        least_hot_mm2_s=_least_hot(oils[0] if oils else None, judgement, worst),
        most_for_free_shifts_mm2_s=_most_for_free_shifts(oils, worst, base),
        bands=tuple(_band(indices, temperatures, judgement) for indices in bands),
    )


def _leading(judgement: Judgement) -> list[list[int]]:
    """The first classes of the order, those with the same band together; none while the first one depends."""
    if not judgement.order or judgement.verdict(judgement.order[0]) == "depends":
        return []
    verdict = judgement.verdict(judgement.order[0])
    found: dict[tuple[float, ...], list[int]] = {}
    for index in judgement.order:
        oil = judgement.lubricants[index]
        band = (oil.kv100_min_mm2_s, oil.kv100_max_mm2_s, oil.viscosity_index_min, oil.viscosity_index_max)
        if judgement.verdict(index) == verdict and (band in found or len(found) < MOST_BANDS):
            found.setdefault(band, []).append(index)
    return list(found.values())


def _band(indices: Sequence[int], temperatures: Sequence[float], judgement: Judgement) -> Band:
    oils = [judgement.lubricants[index] for index in indices]
    figures = judgement.figures(indices[0])
    return Band(
        lubricants=tuple(oil.lubricant_name for oil in oils),
        label=f"{', '.join(oil.family.label for oil in oils)} {oils[0].grade}",
        cold_limit_c=oils[0].cold_limit_c,
        shifts_freely_above_c=next((one for one in figures if one.name == "shifts_freely_above_c"), None),
        points=tuple(_points(oils[0], temperatures)),
    )


def _temperatures(coldest: float, hottest: float) -> tuple[float, ...]:
    """Every ten degrees, from a step below the coldest start to a step above the hottest oil."""
    first, last = int(coldest // AT_EVERY_C) - 1, int(-(-hottest // AT_EVERY_C)) + 1
    grid = {float(step * AT_EVERY_C) for step in range(first, last + 1)}
    return tuple(sorted({*grid, *MEASURED_AT_C, coldest, hottest}))


def _points(oil: Lubricant, temperatures: Sequence[float]) -> Iterator[BandPoint]:
    for temperature in temperatures:
        thin: float | None
        thick: float | None
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


def _least_hot(leading: Lubricant | None, judgement: Judgement, worst: WorstCase) -> Figure:
    """The least viscosity that the bearings bear of the oil that leads; without antiwear it has to be more."""
    base = judgement.base
    row = base.thresholds["bearing-ratio-refused-below"]
    ratio = least_bearing_ratio(leading, base) if leading else row.value
    return Figure(
        name="least_hot_mm2_s",
        value=significant(ratio * worst.bearing_reference_mm2_s),
        unit="mm²/s",
        standing="computed",
        rests_on="judgement" if judgement.question.bearing is None else row.standing,
    )


def _most_for_free_shifts(oils: Sequence[Lubricant], worst: WorstCase, base: KnowledgeBase) -> Figure | None:
    if worst.wiping_land is None or not oils:
        return None
    coldest = worst.coldest_start_c
    density = density_kg_m3(density15_kg_m3=oils[0].density15_kg_m3, temperature_c=coldest)
    land = worst.wiping_land
    wiped = base.limit("wiping-time-slow-from") / land.wiping_s_per_mpa_s / density * 1000
    return Figure(
        name="most_for_free_shifts_mm2_s",
        value=significant(min(wiped, land.drag_slow_from_mm2_s)),
        unit="mm²/s",
        standing="computed",
        rests_on="judgement",
        screening=is_screening(temperature_c=coldest),
    )
