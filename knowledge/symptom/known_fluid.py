"""What is in the box now, as the classes it can be."""

from collections.abc import Sequence
from typing import Literal, NamedTuple

from knowledge.base import KnowledgeBase
from knowledge.box.named import Named
from knowledge.box.question import FillQuestion
from knowledge.fluids.data_sheet import Sheet
from knowledge.fluids.possible_lubricants import possible_lubricants
from knowledge.lubricant import Lubricant
from knowledge.parts.jug import Jug, Label
from knowledge.text import listed

NAMED_AT_MOST = 3


class KnownFluid(NamedTuple):
    """The fluid in the box: where the question has it, the lubricants it can be, and whether the book names it."""

    status: Literal["stated", "taken-from-service-data", "not-known"] = "not-known"
    text: str = "What is in the box is not known, so the fluid is not judged."
    lubricants: tuple[Lubricant, ...] = ()
    pointer: str = ""
    as_service_data: bool | None = None


def known_fluid(box: FillQuestion | None, base: KnowledgeBase) -> KnownFluid:
    """The fluid that the caller states, or else the one that the service data names."""
    if box is not None and box.in_it_now is not None:
        if lubricants := _lubricants(box.in_it_now, base):
            text = f"In it now, as stated: {_named(lubricants)}."
            as_service_data = _is_named(box, lubricants, base)
            return KnownFluid("stated", text, lubricants, "/question/in_it_now", as_service_data)
    elif box is not None and box.service_data is not None:
        label = Label(family=box.service_data.family, grade=box.service_data.grade)
        if lubricants := _lubricants(Jug(label=label), base):
            text = f"Nobody says what is in it; taken to be what the service data names: {_named(lubricants)}."
            return KnownFluid("taken-from-service-data", text, lubricants, "/question/service_data")
    return KnownFluid()


def _lubricants(jug: Jug, base: KnowledgeBase) -> tuple[Lubricant, ...]:
    """What a jug may hold; nothing where it states nothing, or nothing that can be computed."""
    stated = jug.model_dump(exclude={"name"}, exclude_defaults=True)
    return possible_lubricants(Sheet(jug, base)) if any(value != {} for value in stated.values()) else ()


def _is_named(box: FillQuestion, lubricants: Sequence[Lubricant], base: KnowledgeBase) -> bool | None:
    """Whether it is what the service data names; None when that cannot be compared."""
    if box.service_data is None or box.service_data.family is None:
        return None
    wanted = Named.of(box.service_data, base)
    named = {wanted.names(lubricant) for lubricant in lubricants} if wanted.is_listed else {None}
    return named.pop() if len(named) == 1 else None


def _named(lubricants: Sequence[Lubricant]) -> str:
    names = list(dict.fromkeys(lubricant.name for lubricant in lubricants))
    return listed(names, "or") if len(names) <= NAMED_AT_MOST else f"one of {len(names)} classes"
