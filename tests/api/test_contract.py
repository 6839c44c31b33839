"""Every operation is asked what its own OpenAPI document promises, within and outside of the promise."""

from collections.abc import Iterable
from typing import Any

import pytest
import schemathesis
from fastapi import FastAPI
from schemathesis.config import SchemathesisConfig

from api.problems import KINDS
from knowledge.base import KnowledgeBase
from knowledge.rules import RULES

CONFIG = {"generation": {"max-examples": 15, "deterministic": True, "database": "none"}}


@pytest.fixture(scope="session")
def promises(app: FastAPI, base: KnowledgeBase) -> Any:
    """The document with its open ids narrowed to those this knowledge has.

    Ids are plain strings in the document, so that a new facing breaks no client; a random one is rightly
    refused. Narrowed, nothing that the document allows may be refused, and no check has to be left out.
    """
    document = app.openapi()
    narrowed = {**document, "paths": {}, "components": {"schemas": dict(document["components"]["schemas"])}}
    for model, fields in ids_of_models(base).items():
        schema = narrowed["components"]["schemas"][model]
        properties = {name: only(schema["properties"][name], ids) for name, ids in fields.items()}
        narrowed["components"]["schemas"][model] = {**schema, "properties": schema["properties"] | properties}
    for path, operations in document["paths"].items():
        narrowed["paths"][path] = {
            method: {**operation, "parameters": parameters(path, operation, base)}
            for method, operation in operations.items()
        }
    schema = schemathesis.openapi.from_dict(narrowed, config=SchemathesisConfig.from_dict(CONFIG))
    schema.app = app
    return schema


def only(schema: dict[str, Any], ids: Iterable[str]) -> dict[str, Any]:
    """The schema of an id, narrowed; an id that may be left out stays so."""
    known = {"enum": list(ids)}
    if "anyOf" not in schema:
        return known
    return {"anyOf": [known, {"type": "null"}] if known["enum"] else [{"type": "null"}]}


def ids_of_models(base: KnowledgeBase) -> dict[str, dict[str, Iterable[str]]]:
    """Model to field to the ids the field may hold."""
    return {
        "Ring": {"facing": base.facings, "body": base.bodies},
        "ServiceData": {"family": base.families},
        "Label": {"family": base.families},
        "CopperStrip": {"rating": base.copper_strip},
        "FillQuestion": {"duty": base.duties, "box_ref": ()},
    }


def parameters(path: str, operation: dict[str, Any], base: KnowledgeBase) -> list[dict[str, Any]]:
    """The parameters of an operation, narrowed in the same way."""
    table = path.split("/")[2] if path.startswith("/v1/") else ""
    known = {
        "facing": [*base.facings, "none"],
        "body": base.bodies,
        "duty": base.duties,
        "service_family": base.families,
        "slug": KINDS,
        "id": ["75w-90"] if table == "grades" else [rule.id for rule in RULES] if table == "rules" else None,
    }
    narrowed = []
    for parameter in operation.get("parameters", []):
        ids = known.get(parameter["name"], None)
        if parameter["name"] == "id" and ids is None:
            ids = getattr(base, table)
        narrowed.append(parameter if ids is None else {**parameter, "schema": only(parameter["schema"], ids)})
    return narrowed


contract = schemathesis.pytest.from_fixture("promises")


@contract.parametrize()
def test_every_operation_keeps_its_promises(case: schemathesis.Case) -> None:
    case.call_and_validate()
