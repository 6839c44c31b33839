"""Short wire parts that several answers share."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import fields, is_dataclass
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


class Message(ResponseModel):
    """What a sentence of the answer says, for whoever shows it in another language."""

    at: str = Field(description="JSON pointer to the sentence in this answer.")
    code: str = Field(description="Stays the same for the same sentence, whatever its words; of a rule `rule/outcome`.")
    params: Mapping[str, bool | float | str | tuple[str, ...] | None] = Field(
        description="What fills the places of the sentence, by name; a unit stands in the name."
    )


def messages_of(part: Any, at: str = "") -> Iterator[Message]:
    """The sentences with a code in a part of an answer, in their order."""
    if isinstance(part, Said):
        yield Message.model_construct(at=at, code=part.code, params=part.params)
    elif isinstance(part, Mapping):
        for name, below in part.items():
            yield from messages_of(below, f"{at}/{name}")
    elif isinstance(part, tuple):
        for place, below in enumerate(part):
            yield from messages_of(below, f"{at}/{place}")
    elif isinstance(part, BaseModel):
        names = {name: field.alias or name for name, field in type(part).model_fields.items()}
        yield from messages_of({names[name]: below for name, below in vars(part).items()}, at)
    elif is_dataclass(part):
        yield from messages_of({field.name: getattr(part, field.name) for field in fields(part)}, at)


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
