"""The circumstances a caution may belong to; each reads the facts its parameters name.

A caution goes with an answer when one of its circumstances can occur in any world still open; where it does not occur
in all of them, the answer says on what it depends.
"""

from collections.abc import Callable, Mapping
from inspect import signature
from typing import NamedTuple

from knowledge.box.facts import FACTS
from knowledge.box.mating import Land
from knowledge.box.question import FillQuestion
from knowledge.box.worlds import Worlds
from knowledge.parts.jug import Label


def _always() -> bool:
    return True


def _synchronized(facings: tuple[str, ...]) -> bool:
    return bool(facings)


def _yellow_metal(copper_parts: tuple[str, ...]) -> bool:
    return bool(copper_parts)


def _lined_rings(facing_kinds: frozenset[str]) -> bool:
    return "lined" in facing_kinds


def _metal_rings(facing_kinds: frozenset[str]) -> bool:
    return bool(facing_kinds - {"lined"})


def _worn_rings(lands: tuple[Land, ...]) -> bool:
    return any(land.condition == "worn" for land in lands)


def _mixed_rings(facings: tuple[str, ...]) -> bool:
    return len(facings) > 1


def _multi_cone(cones: int) -> bool:
    return cones > 1


def _cold_start(is_cold_start: bool) -> bool:
    return is_cold_start


def _hot_sump(is_hot_sump: bool) -> bool:
    return is_hot_sump


def _hypoid(final_drive: str) -> bool:
    return final_drive == "hypoid"


def _final_drive(final_drive: str) -> bool:
    return final_drive != "none"


def _limited_slip_clutch(limited_slip: bool) -> bool:
    return limited_slip


def _wet_clutch(wet_clutch: bool) -> bool:
    return wet_clutch


def _leftover_fluid(question: FillQuestion) -> bool:
    return question.in_it_now is not None


def _label_missing(question: FillQuestion) -> bool:
    return any(jug.label in (None, Label()) for jug in question.on_hand)


def _grade_name(question: FillQuestion) -> bool:
    return question.service_data is not None and question.service_data.grade is not None


def _service_data_given(question: FillQuestion) -> bool:
    return question.service_data is not None


def _service_data_missing(question: FillQuestion) -> bool:
    return question.service_data is None


class Occasion(NamedTuple):
    """The worlds in which a circumstance holds, and the axes of the unknown that decide it."""

    worlds: int
    axes: frozenset[str]


class Circumstance(NamedTuple):
    """What must hold, and the facts it is read from."""

    reads: tuple[str, ...]
    holds: Callable[..., bool]


CIRCUMSTANCES: Mapping[str, Circumstance] = {
    holds.__name__.removeprefix("_").replace("_", "-"): Circumstance(tuple(signature(holds).parameters), holds)
    for holds in (
        _always,
        _synchronized,
        _yellow_metal,
        _lined_rings,
        _metal_rings,
        _worn_rings,
        _mixed_rings,
        _multi_cone,
        _cold_start,
        _hot_sump,
        _hypoid,
        _final_drive,
        _limited_slip_clutch,
        _wet_clutch,
        _leftover_fluid,
        _label_missing,
        _grade_name,
        _service_data_given,
        _service_data_missing,
    )
}


def occasions(worlds: Worlds) -> Mapping[str, Occasion]:
    """Every circumstance with the worlds in which it holds and the axes of the unknown that decide it."""
    found = {}
    for name, (reads, holds) in CIRCUMSTANCES.items():
        held = 0
        for facts, worlds_of_it in worlds.cells(reads):
            if holds(**facts):
                held |= worlds_of_it
        axes = frozenset(axis for fact in reads for axis in FACTS[fact].reads) if held else frozenset()
        found[name] = Occasion(held, axes)
    return found
