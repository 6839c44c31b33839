"""Validation errors in plain words: where, what is allowed, and the nearest spelling. Values are never repeated.

What is allowed at a place is read from the JSON schema of the question's own model.
"""

import re
import tomllib
from collections.abc import Iterable, Iterator, Mapping, Sequence
from decimal import Decimal
from functools import cache
from pathlib import Path
from typing import Any, Literal

from pydantic import BaseModel, ConfigDict, Field

from knowledge.errors import MoreThanItHolds, UnknownId
from knowledge.parts.request_model import without_defaults
from knowledge.parts.ring import Ring
from knowledge.parts.units import unit_of
from knowledge.text import nearest

CODES = tomllib.loads(Path(__file__).with_name("codes.toml").read_text(encoding="utf-8"))
CODE_OF = {name: code for code, row in CODES.items() for name in (code, *row.get("of", ()))}
LONGEST_NAME = 60
IN_RANGE = "Must be{range}."
BOUNDS = {"minimum": "from", "exclusiveMinimum": "above", "maximum": "up to", "exclusiveMaximum": "below"}
NO_OBJECT = {"missing", "model_type", "model_attributes_type"}
# For every type of error that a question can raise; {range} begins with its space, where there is one.
SENTENCES = {
    "missing": "This field is needed.",
    "float_type": "Must be a number{range}, without quotes.",
    "float_parsing": "Must be a number{range}.",
    "finite_number": "Must be a number{range}.",
    "int_type": "Must be a whole number{range}, without quotes.",
    "int_parsing": "Must be a whole number{range}.",
    "int_from_float": "Must be a whole number{range}.",
    "int_parsing_size": "Must be a whole number{range}.",
    "bool_type": "Must be true or false, without quotes.",
    "bool_parsing": "Must be true or false.",
    "string_type": "Must be text.",
    "string_unicode": "Must be text in UTF-8.",
    "tuple_type": "Must be a list.",
    "model_type": "Must be a JSON object.",
    "model_attributes_type": "Must be a JSON object.",
    "greater_than_equal": IN_RANGE,
    "greater_than": IN_RANGE,
    "less_than_equal": IN_RANGE,
    "string_too_short": "Must not be empty.",
    "string_pattern_mismatch": "Must be a JSON pointer into the question, such as /rings/0/facing.",
    "says_nothing": "Must be a grade such as 75W-90. Leave it out when it is not known.",
    "string_too_long": "Must be at most {max_length} characters.",
    "too_long": "Must have at most {max_length} entries.",
    "literal_error": "Must be one of: {expected}.",
    "not_thinner_when_hot": "Must be clearly below kv40_mm2_s: oil is thinner when hot. Did the two change places?",
    "no_rings_no_parts": "Leave this out: facing=none says that the box has no rings.",
    "more_than_it_holds": "Must not be above capacity_l: the box holds no more.",
    "radius_or_one_for_each_cone": "Must be a number{range}, or a list of 1 to 3 of them.",
    "one_for_each_cone": "Must be one number for all, or a list with one for each of the {cones} cones.",
    "inertia_or_its_parts": "Must be a number{range}, or an object with gear, layshaft, input, ratio_constant and "
    "ratio_gear.",
    "repeated_parameter": "Give this parameter only once.",
}

NOT_KNOWN = {
    "unknown_id": "This id is not known.",
    "ambiguous_word": "This word means more than one thing.",
    "unreadable_grade": "No grade can be read here.",
}


Location = Literal["body", "query", "path", "header"]
Place = Sequence[str | int]


def is_none(value: object) -> bool:
    """Whether a field of a problem is left out."""
    return value is None


class ProblemError(BaseModel):
    """One thing to put right; what is not known of it is left out."""

    model_config = ConfigDict(json_schema_extra=without_defaults)

    location: Location
    pointer: str = Field(description="JSON pointer into the body, or `/name` of a query parameter; empty is the whole.")
    code: str = Field(
        description="The same for the same fault, whatever the words; /problems lists the codes, new ones may come.",
        json_schema_extra={"x-extensible-enum": [*CODES]},
    )
    detail: str = Field(description="What is allowed here, in plain words.")
    known: tuple[str, ...] | None = Field(None, description="What is allowed here.", exclude_if=is_none)
    did_you_mean: str | None = Field(None, description="The nearest known spelling.", exclude_if=is_none)
    offset: int | None = Field(
        None, description="Characters before the place where the text stops being JSON.", exclude_if=is_none
    )


def mistakes(
    errors: Iterable[Mapping[str, Any]], model: type[BaseModel] | None, location: Location = "body"
) -> Iterator[ProblemError]:
    """The errors of pydantic in words; each `loc` starts at the question, whose model tells what is allowed."""
    for error in errors:
        code, place, known = str(error["type"]), tuple(error["loc"]), []
        if code == "extra_forbidden":
            yield _unknown_field(place, model, location)
            continue
        if not place and code in NO_OBJECT:
            needed = " and ".join(needed_fields(model))
            detail = f"Must be a JSON object{f' with {needed}.' if needed else '; {} is a question too.'}"
        else:
            context = {**(error.get("ctx") or {}), "range": f" {allowed_range(model, place)}".rstrip()}
            known = re.findall(r"'([^']*)'", str(context.get("expected", "")))
            detail = SENTENCES.get(code, "This value cannot be used here.").format(**context).replace("'", "")
            says_nothing = code == "string_too_short" or error.get("input", place) is None
            if says_nothing and place[-1] not in needed_fields(model, place[:-1]):
                detail += " Leave it out when it is not known."
        yield _error(location, pointer(place), code, detail, known)


def unknown_id(item: UnknownId, location: Location = "body", at: str | None = None) -> ProblemError:
    """A word that no id can be made of, or no grade, at its own place or at the one it was asked at."""
    hint = f"Did you mean {item.did_you_mean}?" if item.did_you_mean else item.advice or ""
    place, detail = item.pointer if at is None else at, f"{NOT_KNOWN[item.code]} {hint}".rstrip()
    return _error(location, place, item.code, detail, item.known, item.did_you_mean)


def more_than_it_holds(error: MoreThanItHolds, location: Location = "body") -> ProblemError:
    """More drained from a box of the shop than it holds, or added to it."""
    holds = f"the {error.holds_l:g} litres that this box of the shop holds"
    detail = f"Must not be above {holds}; give capacity_l if it is wrong."
    return _error(location, error.pointer, "more_than_it_holds", detail)


def pointer(place: Place) -> str:
    """The place as a JSON pointer; the whole question is the empty pointer."""
    return "".join("/" + str(step).replace("~", "~0").replace("/", "~1") for step in place)


def allowed_range(model: type[BaseModel] | None, place: Place) -> str:
    """Both ends of the range of the number at a place, with its unit; nothing where no number may stand."""
    names = (step for step in reversed(place) if isinstance(step, str))
    unit = next((unit for name in names if (unit := unit_of(name)) != "1"), "")
    for shape in _shapes(model, place):
        ends = [f"{word} {_plain(shape[bound])}" for bound, word in BOUNDS.items() if bound in shape]
        if ends:
            return " ".join((*ends, unit)).rstrip()
    return ""


def needed_fields(model: type[BaseModel] | None, place: Place = ()) -> tuple[str, ...]:
    """The fields that a question, or the object at a place in it, cannot do without."""
    return tuple(name for shape in _shapes(model, place) for name in shape.get("required", ()))


def _unknown_field(place: Place, model: type[BaseModel] | None, location: Location) -> ProblemError:
    *parents, name = place
    shapes = (shape["properties"] for shape in _shapes(model, parents) if "properties" in shape)
    known = tuple(one for one, field in next(shapes, {}).items() if not field.get("readOnly"))
    near, at, detail = None, place, "There is no such field."
    if len(str(name)) > LONGEST_NAME:
        at, detail = parents, "There is no field with so long a name."
    elif "rings" in known and name in Ring.model_fields:
        detail = f'There is no such field here: it belongs into "rings": [{{"{name}": ...}}].'
    elif near := nearest(str(name), known):
        detail += f" Did you mean {near}?"
    return _error(location, pointer(at), "extra_forbidden", detail, known, near)


def _error(
    location: Location, at: str, code: str, detail: str, known: Sequence[str] = (), near: str | None = None
) -> ProblemError:
    return ProblemError(
        location=location,
        pointer=at,
        code=CODE_OF.get(code, "invalid_value"),
        detail=detail,
        known=tuple(known) or None,
        did_you_mean=near,
    )


def _plain(number: float) -> str:
    return f"{Decimal(str(number)).normalize():,f}".replace(",", " ")


def _shapes(model: type[BaseModel] | None, place: Place) -> Iterator[Mapping[str, Any]]:
    schema = _schema(model) if model else {}
    return _below(schema, place, schema.get("$defs", {}))


@cache
def _schema(model: type[BaseModel]) -> dict[str, Any]:
    return model.model_json_schema()


def _below(schema: Mapping[str, Any], place: Place, named: Mapping[str, Any]) -> Iterator[Mapping[str, Any]]:
    """Every shape that may stand at a place below a schema, seen through references and alternatives."""
    if "$ref" in schema:
        yield from _below(named[schema["$ref"].rpartition("/")[2]], place, named)
    elif "anyOf" in schema:
        for other in schema["anyOf"]:
            yield from _below(other, place, named)
    elif not place:
        yield schema
    elif isinstance(place[0], int):
        yield from _below(schema.get("items", {}), place[1:], named)
    else:
        yield from _below(schema.get("properties", {}).get(place[0], {}), place[1:], named)
