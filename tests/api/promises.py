"""What the OpenAPI document promises, in short: operations, parameters, fields, their types and what is needed.

`python -m tests.api.promises` keeps what is promised now as the last release, in `tests/golden/promised.json`.
"""

import json
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

LAST = Path(__file__).parents[1] / "golden" / "promised.json"
# Bounds by how a number or a length is refused: below them, or above them.
LOWER, UPPER = ("minimum", "exclusiveMinimum", "minLength", "minItems"), ("maximum", "maxLength", "maxItems")
# The rows of the tables are data: they come and go with an edition.
DATA = "GET /v1/knowledge"
# Asked and answered: what may not be narrowed, and what may not be widened.
ASKED, ANSWERED = "<", ">"

Promise = dict[str, Any]
Promises = dict[str, dict[str, Promise]]


def promises(document: Mapping[str, Any]) -> Promises:
    """Each parameter of an operation and each field of a model, by whose it is and then by its name."""
    schemas: Mapping[str, Any] = document["components"]["schemas"]
    made: Promises = {}

    def atoms(schema: Mapping[str, Any], side: str) -> Iterator[str]:
        """The alternatives a value may be of, words of a list one by one; models on the way are promised too."""
        if "$ref" in schema:
            name = schema["$ref"].rpartition("/")[2]
            if "properties" not in schemas[name]:
                yield from atoms(schemas[name], side)
                return
            yield name
            if (key := f"{side} {name}") not in made:
                made[key] = {}
                needed = schemas[name].get("required", ())
                for field, part in schemas[name]["properties"].items():
                    made[key][field] = promise(part, field in needed, side)
        elif "anyOf" in schema:
            for part in schema["anyOf"]:
                yield from atoms(part, side)
        elif "enum" in schema:
            yield from (repr(word) for word in schema["enum"])
        elif schema.get("type") == "array":
            yield f"[{'|'.join(sorted(atoms(schema.get('items', {}), side)))}]"
        elif isinstance(schema.get("additionalProperties"), dict):
            yield f"{{{'|'.join(sorted(atoms(schema['additionalProperties'], side)))}}}"
        else:
            yield repr(schema["const"]) if "const" in schema else schema.get("type", "any")

    def promise(schema: Mapping[str, Any], needed: bool, side: str) -> Promise:
        shapes = (schema, *schema.get("anyOf", ()))
        bounds = {name: shape[name] for shape in shapes for name in (*LOWER, *UPPER) if name in shape}
        return {"is": sorted(set(atoms(schema, side))), **({"needed": True} if needed else {}), **bounds}

    for path, methods in document["paths"].items():
        for method, operation in methods.items():
            place = f"{method.upper()} {path}"
            made[f"{ASKED} {place}"] = {
                "operationId": {"is": [operation["operationId"]]},
                **{
                    part["name"]: promise(part["schema"], part.get("required", False), ASKED)
                    for part in operation.get("parameters", ())
                },
                **_bodies(operation.get("requestBody", {}), lambda schema: promise(schema, False, ASKED)),
            }
            if place != DATA:
                answer = operation["responses"]["200"]
                made[f"{ANSWERED} {place}"] = _bodies(answer, lambda schema: promise(schema, True, ANSWERED))
    return made


def _bodies(body: Mapping[str, Any], promise: Any) -> dict[str, Promise]:
    return {kind: promise(content["schema"]) for kind, content in body.get("content", {}).items()}


def breaks(old: Promises, new: Promises) -> Iterator[tuple[str, str]]:
    """What would stop a client that keeps to the old promises: the place, and what happens there."""
    for owner, fields in old.items():
        side, _, name = owner.partition(" ")
        if owner not in new:
            if side == ASKED and " " in name:  # A model that is gone is missing in the field that had it.
                yield name, "is gone"
            continue
        for field, was in fields.items():
            now, place = new[owner].get(field), f"{name} {field}"
            if now is None:
                yield place, "is gone"
            elif side == ANSWERED:
                if extra := [kind for kind in now["is"] if not _covers(was["is"], kind)]:
                    yield place, f"may be {', '.join(extra)} too"
                if was.get("needed") and not now.get("needed"):
                    yield place, "may be missing"
            else:
                if lost := [kind for kind in was["is"] if not _covers(now["is"], kind)]:
                    yield place, f"may be {', '.join(lost)} no longer"
                if now.get("needed") and not was.get("needed"):
                    yield place, "is needed"
                for bound in (*LOWER, *UPPER):
                    if bound in now and (now[bound] - was.get(bound, now[bound])) * (1 if bound in LOWER else -1) > 0:
                        yield place, f"has another {bound}"
        for field in new[owner].keys() - fields.keys():
            if side == ASKED and new[owner][field].get("needed"):
                yield f"{name} {field}", "is needed"


def _covers(kinds: list[str], kind: str) -> bool:
    """Whether a value of a kind is of one of some kinds."""
    if kind in kinds or "any" in kinds:
        return True
    if kind.startswith("["):
        lists = [other[1:-1].split("|") for other in kinds if other.startswith("[")]
        return any(all(_covers(inner, part) for part in kind[1:-1].split("|")) for inner in lists)
    wider = "string" if kind.startswith("'") else "object" if kind[0].isupper() else "number"
    return wider in kinds and (wider != "number" or kind == "integer")


def last_release() -> Promises:
    """What the last release promised."""
    kept: Promises = json.loads(LAST.read_text(encoding="utf-8"))
    return kept


def written(made: Promises) -> str:
    """Promises as JSON, a line for each owner."""
    return "{\n" + ",\n".join(f"{json.dumps(owner)}: {json.dumps(made[owner])}" for owner in sorted(made)) + "\n}\n"


if __name__ == "__main__":
    from api.app import app
    from api.openapi import document

    LAST.write_text(written(promises(document(app))), encoding="utf-8")
