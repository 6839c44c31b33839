"""One thing that would turn an answer, and who leads then."""

from typing import Annotated, Literal

from pydantic import Field

from knowledge.base import KnowledgeBase
from knowledge.judging.usual import is_twin
from knowledge.parts.provenance import sent

NO_CLASS = "no class leads"


@sent
class Turning:
    """A value of a field, or a temperature from where on, with which another class leads."""

    at: Annotated[
        float | None,
        Field(description="Of a number: from there on, in its unit, of °C a whole one; else null."),
    ]
    side: Annotated[
        Literal["below", "above"] | None,
        Field(description="Whether it holds from there down or up, to the next change; null where `at` is."),
    ]
    value: Annotated[
        bool | int | str | None,
        Field(description="The other value of the field; null for a number, and where the field is left out."),
    ]
    leader: Annotated[str | None, Field(description="The id of the class that then leads; null where none does.")]
    words: Annotated[str, Field(description="The same in words, temperatures in steps of 5 °C.")]


@sent
class Turn:
    """A field of the question and what of it turns the answer, the nearest first."""

    pointer: Annotated[str, Field(description="JSON pointer to the field in the question.")]
    stated: Annotated[bool, Field(description="Whether it is stated, by the caller or by a box of the shop.")]
    changes: Annotated[
        tuple[Turning, ...], Field(description="Each change of the leader; empty where no value of it changes that.")
    ]


def name_of_leader(leader: str | None, now: str | None, base: KnowledgeBase) -> str:
    """Who leads instead of the leader now, in words."""
    classes = {oil.id: oil for oil in base.lubricants}
    if leader is None:
        return NO_CLASS
    name, before = classes[leader].short_name, classes.get(now or "")
    return f"{name}, much the same oil" if before and is_twin(classes[leader], before, base) else name
