"""The OpenAPI document: what the framework writes, with our problems and runnable examples put in."""

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

from fastapi import FastAPI
from fastapi.openapi.utils import get_openapi

from api.batch_reading import FillBatch
from api.problems import Problem

ASKED_BY_POST = ("fill", "jug", "drain", "symptom", "shift")
SCHEMA_PATH = "#/components/schemas/{model}"
TAGS = [
    {"name": "fill", "description": "What to fill a box with."},
    {"name": "jug", "description": "Whether a jug is right, by itself and for a box."},
    {"name": "drain", "description": "What stays of the old fluid."},
    {"name": "symptom", "description": "Whether it is the fluid at all."},
    {"name": "shift", "description": "What a shift asks of a ring, and which facing stands it."},
    {"name": "viscosity", "description": "How thick an oil is, cold and hot."},
    {"name": "knowledge", "description": "The tables and rules behind every answer."},
    {"name": "shop", "description": "The shop's own boxes and jugs, from its own tables."},
    {"name": "service", "description": "For whoever runs the service."},
]


def openapi_of(app: FastAPI, shop: Path | None) -> Callable[[], dict[str, Any]]:
    """The function that `app.openapi` becomes; the document is written once."""

    def document() -> dict[str, Any]:
        if app.openapi_schema is None:
            app.openapi_schema = _document(app, shop)
        return app.openapi_schema

    return document


def _document(app: FastAPI, shop: Path | None) -> dict[str, Any]:
    written = get_openapi(
        title=app.title, version=app.version, description=app.description, routes=app.routes, tags=TAGS
    )
    schemas = written["components"]["schemas"]
    for model in (Problem, FillBatch):
        schema = model.model_json_schema(ref_template=SCHEMA_PATH)
        for name, part in {**schema.pop("$defs"), model.__name__: schema}.items():
            schemas.setdefault(name, part)
    for ask in ASKED_BY_POST:
        if examples := question_examples(shop, ask):
            written["paths"][f"/v1/{ask}"]["post"]["requestBody"]["content"]["application/json"]["examples"] = examples
    if examples := question_examples(shop, "fill"):
        body = written["paths"]["/v1/fill/batch"]["post"]["requestBody"]["content"]["application/json"]
        body["example"] = {"questions": [example["value"] for example in examples.values()][:3]}
    return written


def question_examples(shop: Path | None, ask: str) -> dict[str, Any]:
    """The demo questions of one kind, as the examples of its request body."""
    examples = {}
    for path in sorted((shop / "questions").glob("*.json")) if shop else ():
        demo = json.loads(path.read_text(encoding="utf-8"))
        if demo.get("ask") == ask:
            examples[path.stem] = {
                "summary": demo.get("title", path.stem),
                "description": demo.get("about", ""),
                "value": demo["question"],
            }
    return examples
