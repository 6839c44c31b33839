"""Short wire parts that several answers share."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import fields, is_dataclass
from functools import cache
from typing import Annotated, Any, TypeVar

from pydantic import BaseModel, Field

from knowledge.parts.provenance import Caution, Finding, ResponseModel, Severity, sent
from knowledge.text import Said

Short = TypeVar("Short", bound=ResponseModel)
CAUTIONS_AT_MOST = 5


@sent
class RuleNote:
    """What one rule says, in one sentence."""

    rule: Annotated[str, Field(description="An id of /v1/rules.")]
    severity: Severity
    text: str


@sent
class CautionNote:
    """A caution that belongs to this question."""

    id: Annotated[str, Field(description="An id of /v1/cautions.")]
    severity: Severity
    text: str


class Sentence(ResponseModel):
    """What a sentence says, whatever its words."""

    code: str = Field(description="Stays the same for the same sentence, whatever its words; of a rule `rule/outcome`.")
    params: Mapping[str, bool | float | str | tuple[str, ...] | None] = Field(
        description="What fills the places of the sentence, by name; a unit stands in the name."
    )


class Message(Sentence):
    """What a sentence of the answer says, for whoever shows it in another language."""

    at: str = Field(description="JSON pointer to the sentence in this answer.")
    parts: tuple[Sentence, ...] = Field(
        description="The sentences that it repeats, in their order, each before those that it repeats itself; with the "
        "code `sentences` it is these and no more."
    )


# What has nothing below it.
LEAVES = frozenset({str, int, float, bool, type(None)})


def messages_of(part: Any, at: str = "") -> Iterator[Message]:
    """The sentences with a code in a part of an answer, in their order."""
    for name, below in _below(part):
        if isinstance(below, Said):
            parts = tuple(_parts(below))
            yield Message.model_construct(at=f"{at}/{name}", code=below.code, params=below.params, parts=parts)
        elif type(below) not in LEAVES:
            yield from messages_of(below, f"{at}/{name}")


def _parts(said: Said) -> Iterator[Sentence]:
    for one in said.parts:
        yield Sentence.model_construct(code=one.code, params=one.params)
        yield from _parts(one)


def _below(part: Any) -> Iterable[tuple[Any, Any]]:
    if isinstance(part, Mapping):
        return part.items()
    if isinstance(part, tuple):
        return enumerate(part)
    kind: Any = type(part)
    names = _names_sent(kind)
    if isinstance(part, BaseModel):
        return ((names[name], below) for name, below in vars(part).items())
    return ((name, getattr(part, name)) for name in names)


@cache
def _names_sent(kind: type) -> Mapping[str, str]:
    """The names under which the fields of a part of an answer are sent; none of what is no such part."""
    if issubclass(kind, BaseModel):
        return {name: field.alias or name for name, field in kind.model_fields.items()}
    return {field.name: field.name for field in fields(kind)} if is_dataclass(kind) else {}


def rule_notes(findings: Iterable[Finding]) -> tuple[RuleNote, ...]:
    """What cautions or excludes, without figures and sources."""
    return tuple(
        RuleNote(rule=item.rule, severity=item.severity, text=item.in_full)
        for item in findings
        if item.effect in ("cautions", "excludes")
    )


def caution_notes(cautions: tuple[Caution, ...]) -> tuple[CautionNote, ...]:
    """The first, which are the gravest, of cautions in their order."""
    return tuple(
        CautionNote(id=item.id, severity=item.severity, text=item.in_full) for item in cautions[:CAUTIONS_AT_MOST]
    )


def shortened(full: Short, model: type[Short], **changes: Any) -> Short:
    """A full answer as its short model: the fields of that model, some of them changed."""
    return model(**{name: getattr(full, name) for name in model.model_fields} | changes)
