"""The circumstances that a caution may belong to: each follows from one fact of the box, or from the question."""

import re
from collections.abc import Callable, Mapping
from typing import Any, NamedTuple

from knowledge.box.question import FillQuestion
from knowledge.parts.jug import Label


class Circumstance(NamedTuple):
    """When it holds, by the value of a fact; without one, by the question."""

    fact: str | None
    holds: Callable[[Any], bool]


# 75W-90, however it is spelled; a grade of one number is of an old book.
TWO_NUMBERS = re.compile(r"\d\s*W\W*\d", re.IGNORECASE)

# What tells of the box itself, and not of where and how it is driven.
OF_THE_BOX = ("box_kind", "rings", "yellow_metal", "final_drive", "limited_slip", "wet_clutch", "service_data")


def knows_nothing(question: FillQuestion) -> bool:
    """Whether nothing at all is known of the box."""
    return all(getattr(question, name) is None for name in OF_THE_BOX)


def _of_question(holds: Callable[[FillQuestion], bool]) -> Circumstance:
    return Circumstance(None, holds)


def _names_a_bare_grade(question: FillQuestion) -> bool:
    grade = question.service_data.grade if question.service_data else None
    return bool(grade and not TWO_NUMBERS.search(grade))


def _may_speak_of_other_rings(question: FillQuestion) -> bool:
    has_rings = question.rings is None or any(ring.replaced is None for ring in question.rings)
    return question.service_data is not None and has_rings


CIRCUMSTANCES: Mapping[str, Circumstance] = {
    "always": _of_question(lambda question: True),
    "synchronized": Circumstance("facings", bool),
    "yellow-metal": Circumstance("copper_parts", bool),
    "lined-rings": Circumstance("facing_kinds", lambda kinds: "lined" in kinds),
    "metal-rings": Circumstance("facing_kinds", lambda kinds: bool(kinds - {"lined"})),
    "worn-rings": Circumstance("lands", lambda lands: any(land.condition == "worn" for land in lands)),
    "mixed-rings": Circumstance("facings", lambda facings: len(facings) > 1),
    "multi-cone": Circumstance("cones", lambda cones: cones > 1),
    "cold-start": Circumstance("is_cold_start", bool),
    "deep-cold": Circumstance("is_deep_cold", bool),
    "hot-sump": Circumstance("is_hot_sump", bool),
    "hypoid": Circumstance("final_drive", lambda drive: drive == "hypoid"),
    "final-drive": Circumstance("final_drive", lambda drive: drive != "none"),
    "limited-slip-clutch": Circumstance("limited_slip", bool),
    "wet-clutch": Circumstance("wet_clutch", bool),
    "leftover-fluid": _of_question(lambda question: question.in_it_now is not None),
    "label-missing": _of_question(lambda question: any(jug.label in (None, Label()) for jug in question.on_hand)),
    "bare-grade": _of_question(_names_a_bare_grade),
    "rings-replaced": _of_question(lambda question: any(ring.replaced for ring in question.rings or ())),
    "nothing-known": _of_question(knows_nothing),
    "service-data-of-old-rings": _of_question(_may_speak_of_other_rings),
}
