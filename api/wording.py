"""Validation errors in plain words: where, what is allowed, and the nearest spelling. Values are never repeated."""

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Any, NamedTuple

from pydantic import BaseModel

from api.schema_hints import allowed_fields, allowed_range, needed_fields
from knowledge.errors import UnknownId
from knowledge.parts.ring import Ring
from knowledge.text import nearest

LONGEST_NAME = 60
IN_RANGE = "Must be{range}."
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
    "string_too_short": "Must not be empty; leave it out when it is not known.",
    "says_nothing": "Must be a grade such as 75W-90. Leave it out when it is not known.",
    "string_too_long": "Must be at most {max_length} characters.",
    "too_long": "Must have at most {max_length} entries.",
    "literal_error": "Must be one of: {expected}.",
    "not_thinner_when_hot": "Must be clearly below kv40_mm2_s: oil is thinner when hot. Did the two change places?",
    "no_rings_no_parts": "Leave this out: facing=none says that the box has no rings.",
    "more_than_it_holds": "Must not be above capacity_l: no drain brings out more than the box holds.",
    "radius_or_one_for_each_cone": "Must be a number{range}, or a list of 1 to 3 of them.",
    "one_for_each_cone": "Must be one number for all, or a list with one for each of the {cones} cones.",
    "inertia_or_its_parts": "Must be a number{range}, or an object with gear, layshaft, input, ratio_constant and "
    "ratio_gear.",
    "repeated_parameter": "Give this parameter only once.",
}


class Mistake(NamedTuple):
    """One thing to put right in a question."""

    pointer: str
    code: str
    detail: str
    known: tuple[str, ...] = ()
    did_you_mean: str | None = None


def mistakes(errors: Iterable[Mapping[str, Any]], model: type[BaseModel] | None) -> Iterator[Mistake]:
    """The errors of pydantic as mistakes; each `loc` starts at the question, whose model tells what is allowed."""
    for error in errors:
        code, place = str(error["type"]), tuple(error["loc"])
        if code == "extra_forbidden":
            yield _unknown_field(place, model)
        elif not place and code in NO_OBJECT:
            yield Mistake("", code, _object_needed(model))
        else:
            context = {**(error.get("ctx") or {}), "range": f" {allowed_range(model, place)}".rstrip()}
            known = tuple(re.findall(r"'([^']*)'", str(context.get("expected", ""))))
            detail = _sentence(code, context)
            if error.get("input", place) is None and place[-1] not in needed_fields(model, place[:-1]):
                detail += " Leave it out when it is not known."
            yield Mistake(pointer(place), code, detail, known)


def unknown_id(item: UnknownId, pointer: str | None = None) -> Mistake:
    """An id that the knowledge does not have, at its own place or at the one it was asked at."""
    hint = f"Did you mean {item.did_you_mean}?" if item.did_you_mean else item.advice or ""
    place = item.pointer if pointer is None else pointer
    return Mistake(place, "unknown_id", f"This id is not known. {hint}".rstrip(), item.known, item.did_you_mean)


def more_than_it_holds(pointer: str, holds_l: float) -> Mistake:
    """More drained from a box of the shop than it holds."""
    detail = (
        f"Must not be above the {holds_l:g} litres that this box of the shop holds; give capacity_l if it is wrong."
    )
    return Mistake(pointer, "more_than_it_holds", detail)


def pointer(place: Sequence[str | int]) -> str:
    """The place as a JSON pointer; the whole question is the empty pointer."""
    return "".join("/" + str(step).replace("~", "~0").replace("/", "~1") for step in place)


def _sentence(code: str, context: Mapping[str, Any]) -> str:
    return SENTENCES.get(code, "This value cannot be used here.").format(**context).replace("'", "")


def _object_needed(model: type[BaseModel] | None) -> str:
    needed = " and ".join(needed_fields(model))
    return f"Must be a JSON object with {needed}." if needed else "Must be a JSON object; {} is a question too."


def _unknown_field(place: tuple[str | int, ...], model: type[BaseModel] | None) -> Mistake:
    *parents, name = place
    known = allowed_fields(model, parents)
    if len(str(name)) > LONGEST_NAME:
        return Mistake(pointer(parents), "extra_forbidden", "There is no field with so long a name.", known)
    if "rings" in known and name in Ring.model_fields:
        detail = f'There is no such field here: it belongs into "rings": [{{"{name}": ...}}].'
        return Mistake(pointer(place), "extra_forbidden", detail, known)
    near = nearest(str(name), known)
    hint = f" Did you mean {near}?" if near else ""
    return Mistake(pointer(place), "extra_forbidden", f"There is no such field.{hint}", known, near)
