"""Validation errors in plain words: where, what is allowed, and the nearest spelling. Values are never repeated."""

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Any, NamedTuple, get_args

from pydantic import BaseModel

from knowledge.spelling import nearest

LONGEST_NAME = 60
PATTERNS = {
    "^[a-z0-9]+(-[a-z0-9]+)*$": "Must be an id: small letters and digits, with single hyphens between them. "
    "Leave it out when it is not known.",
    "^[1-4][a-e]$": "Must be a copper strip rating from 1a to 4e.",
}
SENTENCES = {
    "missing": "This field is needed.",
    "float_type": "Must be a number, without quotes.",
    "float_parsing": "Must be a number.",
    "finite_number": "Must be a number that ends.",
    "int_type": "Must be a whole number, without quotes.",
    "int_parsing": "Must be a whole number.",
    "int_from_float": "Must be a whole number.",
    "int_parsing_size": "Must be a whole number of ordinary size.",
    "bool_type": "Must be true or false, without quotes.",
    "bool_parsing": "Must be true or false.",
    "string_type": "Must be text.",
    "string_unicode": "Must be text in UTF-8.",
    "tuple_type": "Must be a list.",
    "list_type": "Must be a list.",
    "model_type": "Must be a JSON object.",
    "model_attributes_type": "Must be a JSON object.",
    "dict_type": "Must be a JSON object.",
    "greater_than_equal": "Must be {ge:g} or more.",
    "greater_than": "Must be more than {gt:g}.",
    "less_than_equal": "Must be {le:g} or less.",
    "less_than": "Must be less than {lt:g}.",
    "string_too_short": "Must not be empty; leave it out when it is not known.",
    "string_too_long": "Must be at most {max_length} characters.",
    "too_long": "Must be at most {max_length} entries.",
    "too_short": "Must be at least {min_length} entries.",
    "literal_error": "Must be one of: {expected}.",
    "enum": "Must be one of: {expected}.",
    "not_thinner_when_hot": "Must be below kv40_mm2_s: oil is thinner when hot. Perhaps the two changed places.",
    "no_rings_no_parts": "Leave this out: facing=none says that the box has no rings.",
    "more_than_it_holds": "Must not be above capacity_l: no drain brings out more than the box holds.",
    "radius_or_one_for_each_cone": "Must be a number from 10 to 300, or a list of 1 to 3 of them.",
    "one_for_each_cone": "Must be one number for all, or a list with one for each of the {cones} cones.",
    "inertia_or_its_parts": "Must be a number from 0.000001 to 10, or an object with gear, layshaft, input, "
    "ratio_constant and ratio_gear.",
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
    """The errors of pydantic as mistakes; each `loc` starts at the question, whose model gives the known names."""
    for error in errors:
        code, place = str(error["type"]), tuple(error["loc"])
        if code == "extra_forbidden":
            yield _unknown_field(place, model)
        else:
            context = error.get("ctx") or {}
            known = tuple(re.findall(r"'([^']*)'", str(context.get("expected", ""))))
            yield Mistake(pointer(place), code, _sentence(code, context), known)


def unknown_id(pointer: str, known: Iterable[str], did_you_mean: str | None) -> Mistake:
    """An id that the knowledge does not have."""
    hint = f" Did you mean {did_you_mean}?" if did_you_mean else ""
    return Mistake(pointer, "unknown_id", f"This id is not known.{hint}", tuple(known), did_you_mean)


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
    if code == "string_pattern_mismatch":
        return PATTERNS.get(context["pattern"], "Is not written in the way this field needs.")
    return SENTENCES.get(code, "This value cannot be used here.").format(**context).replace("'", "")


def _unknown_field(place: tuple[str | int, ...], model: type[BaseModel] | None) -> Mistake:
    *parents, name = place
    owner = _model_at(model, parents)
    known = tuple(owner.model_fields) if owner else ()
    near = nearest(str(name), known) if len(str(name)) <= LONGEST_NAME else None
    shown = place if len(str(name)) <= LONGEST_NAME else tuple(parents)
    hint = f" Did you mean {near}?" if near else ""
    return Mistake(pointer(shown), "extra_forbidden", f"There is no such field.{hint}", known, near)


def _model_at(annotation: Any, place: Sequence[str | int]) -> type[BaseModel] | None:
    """The model that stands at a place below an annotation, seen through `Annotated`, `| None` and tuples."""
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        if not place:
            return annotation
        field = annotation.model_fields.get(str(place[0]))
        return _model_at(field.annotation, place[1:]) if field else None
    rest = place[1:] if place and isinstance(place[0], int) and Ellipsis in get_args(annotation) else place
    found = (_model_at(part, rest) for part in get_args(annotation))
    return next((model for model in found if model), None)
