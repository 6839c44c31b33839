"""What a jug must show: the box and its conditions turned into lines to hold a label and a data sheet against."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Annotated

from pydantic import Field

from knowledge.base import KnowledgeBase
from knowledge.judging.judgement import Judgement, WorstCase
from knowledge.judging.rules.hot import least_bearing_ratio
from knowledge.lubricant import Lubricant
from knowledge.parts.lubricant_name import Limits
from knowledge.parts.provenance import ResponseModel
from knowledge.physics.limits import OutOfRange
from knowledge.text import grouped, listed, plain

NO_LIMITED_SLIP = "none of the limited-slip kind"

AS_SERVICE_DATA_SAYS = "as the service data says"

UNLESS_A_CLUTCH_PACK = f", unless a limited-slip clutch pack shares the oil: then {AS_SERVICE_DATA_SAYS}"

DOES_NOT_MATTER = "does not matter"

# Fuel-saving engine oils have one that lowers friction without being called limited-slip.
NONE_FOR_A_CLUTCH = "none of the limited-slip or the fuel-saving kind, since a wet clutch shares the oil"

CLEAR_UP_FIRST = "First of all: clear up with the manufacturer what the service data names."


@dataclass(frozen=True, slots=True, kw_only=True)
class Window:
    """What a jug must show, grade names first."""

    __pydantic_config__ = ResponseModel.model_config

    grades: tuple[str, ...]
    kv100_mm2_s: Limits
    cold_limit_c: float | None
    families: Annotated[tuple[str, ...], Field(description="Ids of /v1/families.")]
    copper_strip_max: str | None
    friction_modifier: str
    on_the_label: tuple[str, ...]
    on_the_data_sheet: Annotated[tuple[str, ...], Field(description="Lines to read to whoever holds the sheet.")]
    never_on_the_label: Annotated[tuple[str, ...], Field(description="Families of which every class is refused.")]


def window(judgement: Judgement, *, is_in_conflict: bool = False) -> Window | None:
    """The window of the classes that lead, at the worst of what is still unknown; None where no class lends figures.

    It ends where the first of them ends, since what is thicker still only adds drag; or where the last one ends that
    the service data names.
    """
    leading, lubricants, base = judgement.leading, judgement.lubricants, judgement.base
    if not leading or not judgement.named.is_listed or judgement.verdict(leading[0]) == "depends":
        return None
    worst, first = judgement.worst_case, lubricants[leading[0]]
    most = max(
        lubricants[index].kv100_max_mm2_s for index in leading if index == leading[0] or judgement.is_asked_for(index)
    )
    oils = [lubricants[index] for index in leading if lubricants[index].kv100_min_mm2_s < most]
    least, is_index_decisive = min(_kv100_from_mm2_s(oil, worst, base) for oil in oils)
    for is_there, limit in (
        (worst.has_lining, base.limit("lining-kv100-below")),
        (worst.has_rings, base.limit("ring-drag-kv100-from")),
    ):
        if is_there and max(least, first.kv100_min_mm2_s) < limit:
            most = min(most, limit)
    families = tuple(dict.fromkeys(oil.family.id for oil in oils))
    grades = tuple(dict.fromkeys(oil.grade for oil in oils))
    modifier = _friction_modifier(oils, worst)
    lines = [CLEAR_UP_FIRST] if is_in_conflict and judgement.is_asked_for(leading[0]) else []
    lines.append(f"Kinematic viscosity at 100 °C (KV100): from {plain(least)} to below {plain(most)} mm²/s.")
    if is_index_decisive:
        lines.append(
            "Viscosity index: the highest that is to be had; with a low one none of them is thick enough when hot."
        )
    if worst.coldest_start_c < base.limit("cold-start-caution-below"):
        lines += _cold_lines(families, worst, base)
    if worst.copper_parts:
        lines.append(copper_strip_line(base))
    if modifier != DOES_NOT_MATTER:
        lines.append(f"Friction modifier: {modifier}.")
    labels = listed((base.families[family].label for family in families), "or")
    return Window(
        grades=grades,
        kv100_mm2_s=Limits.model_construct(min=least, max=most),
        cold_limit_c=worst.coldest_start_c,
        families=families,
        copper_strip_max=base.copper_strip_wanted if worst.copper_parts else None,
        friction_modifier=modifier,
        on_the_label=(labels, listed(grades, "or")),
        on_the_data_sheet=tuple(lines),
        never_on_the_label=_never(judgement),
    )


@lru_cache(maxsize=4)
def copper_strip_line(base: KnowledgeBase) -> str:
    """The copper strip that proves an oil beside yellow metal, in the words of a data sheet."""
    heat, hours = base.limit("copper-strip-temperature-from"), base.limit("copper-strip-hours-from")
    bath = f"{plain(hours)} hours at {plain(heat)} °C or hotter"
    return f"Copper strip (ASTM D130): {base.copper_strip_wanted} or better, {bath}."


def _never(judgement: Judgement) -> tuple[str, ...]:
    """The labels of the families of which every class is refused in every case."""
    refused: dict[str, bool] = {}
    for index, oil in enumerate(judgement.lubricants):
        label = oil.family.label
        if refused.get(label, True):
            refused[label] = judgement.verdict(index) == "does-not-fit"
    return tuple(label for label, is_refused in refused.items() if is_refused)


def _friction_modifier(oils: Sequence[Lubricant], worst: WorstCase) -> str:
    """What rings and a clutch pack want of it: the rings grip, the pack slip, and both only what the maker names."""
    if worst.limited_slip == {True} or all(oil.limited_slip for oil in oils):
        return AS_SERVICE_DATA_SAYS
    wanted = NO_LIMITED_SLIP if worst.has_rings else DOES_NOT_MATTER
    if worst.surely_wet_clutch:
        wanted = NONE_FOR_A_CLUTCH
    return wanted + UNLESS_A_CLUTCH_PACK if True in worst.limited_slip else wanted


def _kv100_from_mm2_s(oil: Lubricant, worst: WorstCase, base: KnowledgeBase) -> tuple[float, bool]:
    """From which KV100 a class keeps its bearings apart at the hottest sump: comfortably, or just so where it must.

    And whether only a high viscosity index does so.
    """
    least = least_bearing_ratio(oil, base) * worst.bearing_reference_mm2_s
    wanted = ((base.limit("margin-comfortable-from") * least, False), (least, False), (least, True))
    try:
        for viscosity, at_best in wanted:
            needed = oil.kv100_needed_mm2_s(temperature_c=worst.sump_hot_c, viscosity_mm2_s=viscosity, at_best=at_best)
            if needed is not None:
                return needed, at_best
    except OutOfRange:
        return oil.kv100_min_mm2_s, False
    return oil.thickest_kv100_mm2_s, True


def _cold_lines(families: Sequence[str], worst: WorstCase, base: KnowledgeBase) -> Iterator[str]:
    """Engine oils are tested in the cold by methods of their own, and their sheets show no other."""
    coldest = plain(worst.coldest_start_c)
    scales = {scale for family, scale in _scales(base) if family in families}
    if scales - {"sae-j300"}:
        thickest = grouped(base.limit("flow-limit-mpa-s"))
        yield f"Cold viscosity (ASTM D2983): {thickest} mPa·s or less at {coldest} °C or colder."
    if "sae-j300" in scales:
        yield f"Cold viscosity of an engine oil: a W grade of SAE J300 that is tested at {coldest} °C or colder."


@lru_cache(maxsize=4)
def _scales(base: KnowledgeBase) -> frozenset[tuple[str, str]]:
    """Each family with each scale that its grades stand in."""
    return frozenset((row.family, row.scale) for row in base.lubricant_rows.values())
