"""The OpenAPI document: what the framework writes, with our problems and runnable examples put in."""

import json
import logging
from collections.abc import Callable
from pathlib import Path
from typing import Any

from fastapi import FastAPI
from fastapi.openapi.utils import get_openapi

from api.problems import Problem

log = logging.getLogger("fillwright")

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
    problem = Problem.model_json_schema(ref_template=SCHEMA_PATH)
    schemas.update({**problem.pop("$defs"), "Problem": problem})
    for ask in ASKED_BY_POST:
        if examples := question_examples(shop, ask):
            written["paths"][f"/v1/{ask}"]["post"]["requestBody"]["content"]["application/json"]["examples"] = examples
    return written


def question_examples(shop: Path | None, ask: str) -> dict[str, Any]:
    """The demo questions of one kind, as the examples of its request body."""
    examples = {}
    for path in sorted((shop / "questions").glob("*.json")) if shop else ():
        demo = _demo(path)
        if demo.get("ask") == ask and "question" in demo:
            examples[path.stem] = {
                "summary": demo.get("title", path.stem),
                "description": demo.get("about", ""),
                "value": demo["question"],
            }
    return examples


def _demo(path: Path) -> dict[str, Any]:
    """A file of questions; a shop's own folder may hold anything, and the document is written all the same."""
    try:
        demo = json.loads(path.read_bytes())
    except ValueError:
        demo = None
    if not isinstance(demo, dict):
        log.warning("questions/%s is no example: it holds no JSON object", path.name)
        return {}
    return demo
