"""The base of every question, and the types of its fields."""

import re
from collections.abc import Mapping
from typing import Annotated, Any, ClassVar, Literal

from pydantic import (
    AfterValidator,
    BaseModel,
    BeforeValidator,
    ConfigDict,
    Field,
    GetCoreSchemaHandler,
    ValidationError,
    ValidatorFunctionWrapHandler,
    WrapValidator,
    field_validator,
    model_validator,
)
from pydantic_core import PydanticCustomError, PydanticKnownError, core_schema
from typing_extensions import TypeAliasType

from knowledge.parts.ranges import CONES, TEMPERATURE, VISCOSITY


def whole(value: Any) -> Any:
    """A whole number by either of its spellings in JSON, `2` and `2.0`."""
    return int(value) if isinstance(value, float) and value.is_integer() else value


class AtMost:
    """A list of no more than so many entries, counted before any is read: every wrong one costs time."""

    def __init__(self, count: int) -> None:
        self.count = count

    def __get_pydantic_core_schema__(self, source: Any, handler: GetCoreSchemaHandler) -> core_schema.CoreSchema:
        """The schema of the list behind the count."""
        return core_schema.no_info_before_validator_function(
            self._counted, {**handler(source), "max_length": self.count}
        )

    def _counted(self, given: Any) -> Any:
        if isinstance(given, (list, tuple)) and len(given) > self.count:
            context = {"field_type": "List", "max_length": self.count, "actual_length": len(given)}
            raise PydanticKnownError("too_long", context)
        return given


SAYS_NOTHING = {"", "na", "none", "null", "unknown", "notknown", "dontknow", "idontknow"}


def says_nothing(text: str) -> bool:
    """Whether a text means only that nothing is known: `unknown`, `n/a`, `?`, blanks, signs that cannot be seen."""
    return re.sub("[^0-9a-z]", "", text.lower()) in SAYS_NOTHING


def says_something(text: str) -> str:
    if says_nothing(text):
        raise PydanticCustomError("says_nothing", "must be a grade; leave it out when it is not known")
    return text


LONGEST_ID = 60

Identifier = Annotated[str, Field(min_length=1, max_length=LONGEST_ID)]
Words = Annotated[str, Field(max_length=200)]

# In JSON a number is a number; in a link everything is text, and `query_model` takes this mark away.
STRICT = Field(strict=True)

Flag = Annotated[bool, STRICT]
Number = Annotated[float, STRICT, Field(allow_inf_nan=False)]
Plain = Annotated[float, Field(allow_inf_nan=False)]

Temperature = Annotated[Number, TEMPERATURE]
Viscosity = Annotated[Number, VISCOSITY]
DynamicViscosity = Annotated[Number, Field(gt=0, le=10_000_000)]
Density = Annotated[Number, Field(ge=700, le=1200)]
Hours = Annotated[Number, Field(gt=0, le=1000)]

Grade = Annotated[
    str,
    # A generator of clients or of tests learns as much of the check as a pattern holds.
    Field(min_length=1, max_length=40, json_schema_extra={"pattern": "[0-9A-Za-z]"}),
    AfterValidator(says_something),
]

Cones = Annotated[int, STRICT, CONES]

Detail = TypeAliasType("Detail", Literal["short", "full"])
Condition = TypeAliasType("Condition", Literal["new", "worn"])
FinalDrive = TypeAliasType("FinalDrive", Literal["none", "helical", "hypoid"])


def _or_a_word(given: Any, read: ValidatorFunctionWrapHandler) -> Any:
    try:
        return read(given)
    except ValidationError:
        if isinstance(given, str) and 0 < len(given) <= LONGEST_ID:
            return given
        raise


# A field of a few words takes any word as yet: `knowledge.ids` makes one of the few of it, or refuses it.
OR_A_WORD = WrapValidator(_or_a_word)


# The few words of a field that has no table, in capitals or not.
ANY_CASE = BeforeValidator(lambda given: given.lower() if isinstance(given, str) else given)


def without_defaults(schema: dict[str, Any]) -> None:
    """Leave the defaults out of a schema: some clients take a field with one for a field that must be sent."""
    for field in schema["properties"].values():
        field.pop("default", None)


class RequestModel(BaseModel):
    """Base of every part of a question: frozen, and a mistyped field is refused."""

    model_config = ConfigDict(extra="forbid", frozen=True, json_schema_extra=without_defaults)

    @field_validator("*")
    @classmethod
    def _plain_zero(cls, value: Any) -> Any:
        """Minus zero is zero: equal questions read the same."""
        return value + 0.0 if isinstance(value, float) else value


class Echoed(RequestModel):
    """Base of what answers and the shop's lists tell of too: what they add to it is ignored where it is sent back."""

    read_only: ClassVar[Mapping[str, str]] = {}

    model_config = ConfigDict(json_schema_extra=lambda schema, model: _as_sent_back(schema, model))

    @model_validator(mode="before")
    @classmethod
    def _as_sent_out(cls, given: Any) -> Any:
        if not isinstance(given, dict) or cls.read_only.keys().isdisjoint(given):
            return given
        return {name: given[name] for name in given if name in cls.model_fields or name not in cls.read_only}


def _as_sent_back(schema: dict[str, Any], model: type[Echoed]) -> None:
    without_defaults(schema)
    for name, words in model.read_only.items():
        field = schema["properties"].setdefault(name, {"description": f"{words} Ignored in a question."})
        field["readOnly"] = True


def optional(description: str, *examples: Any) -> Any:
    """A field that may be left out."""
    return Field(None, description=description, examples=list(examples) or None)


def as_in(model: type[BaseModel], name: str, default: Any = None) -> Any:
    """A flat field in the words of the field it stands for."""
    field = model.model_fields[name]
    return Field(default, description=field.description, examples=field.examples)
