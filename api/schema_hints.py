"""What a question allows at a place in it, read from the JSON schema of its own model."""

from collections.abc import Iterator, Mapping, Sequence
from decimal import Decimal
from functools import cache
from typing import Any

from pydantic import BaseModel

from knowledge.parts.units import unit_of

BOUNDS = {"minimum": "from", "exclusiveMinimum": "above", "maximum": "up to", "exclusiveMaximum": "below"}


def allowed_fields(model: type[BaseModel] | None, place: Sequence[str | int]) -> tuple[str, ...]:
    """The fields of the object at a place, none where no object may stand."""
    return next((tuple(shape["properties"]) for shape in _shapes(model, place) if "properties" in shape), ())


def needed_fields(model: type[BaseModel] | None, place: Sequence[str | int] = ()) -> tuple[str, ...]:
    """The fields that a question, or the object at a place in it, cannot do without."""
    return tuple(name for shape in _shapes(model, place) for name in shape.get("required", ()))


def allowed_range(model: type[BaseModel] | None, place: Sequence[str | int]) -> str:
    """Both ends of the range of the number at a place, with its unit; nothing where no number may stand."""
    unit = next((unit for name in _names(place) if (unit := unit_of(name)) != "1"), "")
    for shape in _shapes(model, place):
        ends = [f"{word} {_plain(shape[bound])}" for bound, word in BOUNDS.items() if bound in shape]
        if ends:
            return " ".join((*ends, unit)).rstrip()
    return ""


def _names(place: Sequence[str | int]) -> Iterator[str]:
    return (step for step in reversed(place) if isinstance(step, str))


def _plain(number: float) -> str:
    return f"{Decimal(str(number)).normalize():,f}".replace(",", " ")


def _shapes(model: type[BaseModel] | None, place: Sequence[str | int]) -> Iterator[Mapping[str, Any]]:
    if model is None:
        return iter(())
    schema = _schema(model)
    return _below(schema, place, schema.get("$defs", {}))


@cache
def _schema(model: type[BaseModel]) -> dict[str, Any]:
    return model.model_json_schema()


def _below(
    schema: Mapping[str, Any], place: Sequence[str | int], named: Mapping[str, Any]
) -> Iterator[Mapping[str, Any]]:
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
