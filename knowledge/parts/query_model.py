"""Questions that a link can put: flat fields, and every value is text."""

from collections.abc import Callable
from functools import reduce
from operator import or_
from typing import Annotated, Any, TypeVar, Union, get_args, get_origin

from pydantic import BaseModel, ConfigDict, ValidatorFunctionWrapHandler, create_model, field_validator
from pydantic_core import PydanticKnownError

from knowledge.parts.request_model import STRICT, as_in


class QueryModel(BaseModel):
    """Frozen; a mistyped field is refused, and so is a number or a flag spelled as only a program would."""

    model_config = ConfigDict(extra="forbid", frozen=True)

    @field_validator("*", mode="wrap")
    @classmethod
    def _as_people_write(cls, given: Any, read: ValidatorFunctionWrapHandler) -> Any:
        """No `1_0` for 10, and neither `yes` nor `1` for true; capitals are no matter."""
        value = read(given)
        if isinstance(value, bool) and f"{given}".lower() != f"{value}".lower():
            raise PydanticKnownError("bool_parsing")
        if isinstance(value, (int, float)) and not isinstance(value, bool) and "_" in f"{given}":
            raise PydanticKnownError("int_parsing" if isinstance(value, int) else "float_parsing")
        return value


Flat = TypeVar("Flat", bound=QueryModel)


def linked(question: type[BaseModel], **others: Any) -> Callable[[type[Flat]], type[Flat]]:
    """Give a query model the fields of a question; `others` are the type and default of those that differ."""
    fields = {
        name: (as_text(question.__annotations__[name]), as_in(question, name, ... if field.is_required() else None))
        for name, field in question.model_fields.items()
    } | others

    return lambda model: extended(model, fields)


def extended(model: type[Flat], fields: dict[str, Any]) -> type[Flat]:
    """A query model with more fields, each by its name with its type and its default."""
    return create_model(model.__name__, __base__=model, __doc__=model.__doc__, __module__=model.__module__, **fields)


def as_text(shape: Any) -> Any:
    """The shape of a field whose numbers and flags are text."""
    if get_origin(shape) is Annotated:
        of, *marks = get_args(shape)
        marks = [mark for mark in marks if mark is not STRICT]
        return Annotated[(as_text(of), *marks)] if marks else as_text(of)
    return reduce(or_, map(as_text, get_args(shape))) if get_origin(shape) is Union else shape
