"""What a jug must show: grade names first, then what its data sheet must show beyond them."""

from collections.abc import Iterator, Sequence
from functools import lru_cache
from typing import Annotated

from pydantic import Field

from knowledge.base import KnowledgeBase
from knowledge.judging.judgement import Judgement, WorstCase
from knowledge.lubricant import Lubricant
from knowledge.parts.lubricant_name import Limits
from knowledge.parts.provenance import sent
from knowledge.text import Said, listed, plain, reworded, within_a_sentence

YELLOW_METAL = "full-ep-additives-attack-yellow-metal"

NO_LIMITED_SLIP = Said("none of the limited-slip kind", "no-limited-slip")

AS_THE_BOOK_SAYS = Said("as the book says", "as-the-book-says")

DOES_NOT_MATTER = Said("does not matter", "does-not-matter")

# Fuel-saving engine oils have one that lowers friction without being called limited-slip.
NONE_FOR_A_CLUTCH = Said("none of the limited-slip or the fuel-saving kind", "no-limited-slip-and-no-fuel-saving")


@sent
class Window:
    """What a jug must show, grade names first."""

    grades: tuple[str, ...]
    kv100_mm2_s: Limits
    cold_limit_c: float | None
    families: Annotated[tuple[str, ...], Field(description="Ids of /v1/families.")]
    copper_strip_max: str | None
    friction_modifier: str
    on_the_label: tuple[str, ...]
    on_the_data_sheet: Annotated[tuple[str, ...], Field(description="Lines to read to whoever holds the sheet.")]
    never_on_the_label: Annotated[tuple[str, ...], Field(description="Axle oils of which every class is refused.")]


def window(judgement: Judgement, fitting: Sequence[int]) -> Window | None:
    """The union of what is told as fitting, the leader first; None where nothing leads or it still depends."""
    if judgement.leader is None or judgement.lead.outcome != "settled":
        return None
    oils = [judgement.lubricants[index] for index in fitting]
    worst, base = judgement.worst_case, judgement.base
    families = tuple(dict.fromkeys(oil.family.id for oil in oils))
    by_thickness = sorted(oils, key=lambda oil: (oil.kv100_min_mm2_s, oil.kv100_max_mm2_s))
    # A category that limits the strip itself needs no proof of a jug.
    proven = (judgement.outcome(YELLOW_METAL, index) == "category-is-mild" for index in fitting)
    is_full = (oil.family.protection == "full" for oil in oils)
    wants_strip = bool(worst.copper_parts) and any(full > mild for full, mild in zip(is_full, proven, strict=True))
    lines = list(judgement.sheet_lines(judgement.leader))
    if wants_strip:
        lines.append(copper_strip_line(base))
    if len({(oil.family.id, oil.grade) for oil in oils} - {(oils[0].family.id, oils[0].grade)}) and len(families) > 1:
        lines = [reworded(line, f"{oils[0].short_name}: {line}", lubricant=oils[0].id) for line in lines]
    return Window(
        grades=tuple(dict.fromkeys(oil.grade for oil in by_thickness)),
        kv100_mm2_s=Limits.model_construct(
            min=min(oil.kv100_min_mm2_s for oil in oils), max=max(oil.kv100_max_mm2_s for oil in oils)
        ),
        cold_limit_c=worst.coldest_start_c,
        families=families,
        copper_strip_max=base.copper_strip_wanted if wants_strip else None,
        friction_modifier=_friction_modifier(oils, worst),
        on_the_label=tuple(_on_the_label(oils, judgement)),
        on_the_data_sheet=tuple(dict.fromkeys(lines)),
        never_on_the_label=_never(judgement),
    )


def _on_the_label(oils: Sequence[Lubricant], judgement: Judgement) -> Iterator[str]:
    """The kinds that come in the grade of the leader, the grades in which all of these fit, and what else does."""
    leader = oils[0]
    alike = dict.fromkeys(oil.family.label for oil in oils if oil.grade == leader.grade)
    doubtful = {
        oil.grade
        for index, oil in enumerate(judgement.lubricants)
        if oil.family.label in alike and oil.grade != leader.grade and judgement.verdict(index) != "fits"
    }
    yield Said(listed(alike, "or"), "label-kinds", kinds=tuple(alike))
    yield _grades([oil for oil in oils if oil.family.label in alike and oil.grade not in doubtful])
    others: dict[str, list[str]] = {}
    for oil in oils:
        if oil.family.label not in alike or oil.grade in doubtful:
            others.setdefault(oil.family.label, []).append(oil.grade)
    for label, grades in others.items():
        text = f"or {within_a_sentence(label)} {listed(grades, 'or')}"
        yield Said(text, "label-other-kind", kind=label, grades=tuple(grades))


def _grades(oils: Sequence[Lubricant]) -> str:
    """`75W-90, or 75W-80 where the oil stays below 120 °C`."""
    needed_c = oils[0].long_sump_c
    told: dict[float | None, dict[str, None]] = {None: {oils[0].grade: None}}
    for oil in oils:
        bears_c = oil.long_sump_c
        is_less = bears_c is not None and needed_c is not None and bears_c < needed_c
        told.setdefault(bears_c if is_less else None, {}).setdefault(oil.grade)
    always = tuple(told.pop(None))
    less = {plain(bears_c or 0): tuple(grades) for bears_c, grades in told.items()}
    parts = (f"{listed(grades, 'or')} where the oil stays below {below} °C" for below, grades in less.items())
    text = ", or ".join((listed(always, "or"), *parts))
    return Said(text, "label-grades", grades=always, **{f"below_{below}_c": grades for below, grades in less.items()})


@lru_cache(maxsize=4)
def copper_strip_line(base: KnowledgeBase) -> str:
    """The copper strip that proves an oil beside yellow metal, in the words of a data sheet."""
    heat, hours = base.limit("copper-strip-temperature-from"), base.limit("copper-strip-hours-from")
    bath = f"{plain(hours)} hours at {plain(heat)} °C or hotter"
    text = f"Copper strip (ASTM D130): {base.copper_strip_wanted} or better, {bath}."
    return Said(text, "copper-strip", rating=base.copper_strip_wanted, temperature_c=heat, hours=hours)


def _never(judgement: Judgement) -> tuple[str, ...]:
    """The labels of the axle oils of which every class is refused."""
    refused: dict[str, bool] = {}
    for index, oil in enumerate(judgement.lubricants):
        if oil.family.protection == "full":
            is_refused = judgement.verdict(index) == "does-not-fit"
            refused[oil.family.label] = refused.get(oil.family.label, True) and is_refused
    return tuple(label for label, is_refused in refused.items() if is_refused)


def _friction_modifier(oils: Sequence[Lubricant], worst: WorstCase) -> str:
    """What rings and a clutch pack want of it: the rings grip, the pack slip, and both only what the maker names."""
    if worst.limited_slip == {True} or all(oil.limited_slip for oil in oils):
        return AS_THE_BOOK_SAYS
    if worst.surely_wet_clutch:
        return NONE_FOR_A_CLUTCH
    return NO_LIMITED_SLIP if worst.has_rings else DOES_NOT_MATTER
