"""Base of the questions that a link can put: flat fields, and every value is text."""

from typing import Any

from pydantic import BaseModel, ConfigDict, ValidatorFunctionWrapHandler, field_validator
from pydantic_core import PydanticKnownError


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
        if not isinstance(value, (str, bool)) and "_" in f"{given}":
            raise PydanticKnownError("int_parsing" if isinstance(value, int) else "float_parsing")
        return value
