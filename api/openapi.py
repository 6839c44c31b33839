"""The OpenAPI document: what the framework writes, with our problems, headers and true examples put in."""

import json
import logging
from collections.abc import Callable
from pathlib import Path
from typing import Any

from fastapi import FastAPI
from fastapi.openapi.utils import get_openapi
from fastapi.routing import APIRoute

from api.batch import FillBatch
from api.examples import PROBLEMS, answer_example
from api.http.problems import MEDIA_TYPE, Problem

log = logging.getLogger("fillwright")

SCHEMA_PATH = "#/components/schemas/{model}"
HEADERS = {
    "Knowledge-Version": ("The edition of the knowledge that spoke.", "2026.12.0"),
    "Request-Id": ("Names this request in the log of the service.", "6f0a2c1e-8d53-4b7f-9a41-3c5e7d90b268"),
    "ETag": (
        "Send it back in `If-None-Match`: as long as the answer is the same, you get a 304 without a body.",
        '"7d0e1c62a1b54f0f8f3d2b6a9c4e5f10"',
    ),
}
ANYWHERE = {405, 408, 500, 503}
ON_EVERY_RESPONSE = ("Knowledge-Version", "Request-Id")
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
    for route in app.state.routes:
        for method in route.methods if route.include_in_schema else ():
            operation = written["paths"][route.path][method.lower()]
            question = _complete_request(operation, route, shop, schemas)
            _complete_answer(operation, answer_example(route, app, question), schemas)
            _complete_responses(operation["responses"], is_tagged=method == "GET")
    written["components"] |= _components()
    return written


def _components() -> dict[str, Any]:
    return {
        "examples": {
            name: {"summary": example.title, "value": example.model_dump(mode="json", exclude_none=True)}
            for name, example in PROBLEMS.items()
        },
        "headers": {
            name: {"description": words, "schema": {"type": "string"}, "example": example}
            for name, (words, example) in HEADERS.items()
        },
    }


def _complete_request(
    operation: dict[str, Any], route: APIRoute, shop: Path | None, schemas: dict[str, Any]
) -> dict[str, Any]:
    """Say what the body of a request is, with examples; the first of them, or nothing asked, is given back."""
    asked = operation.get("requestBody", {}).get("content", {}).get("application/json")
    if asked is None:
        return {}
    operation["requestBody"].setdefault("description", _described(asked, schemas))
    examples = question_examples(shop, route.path.removeprefix("/v1/"))
    if examples:
        asked["examples"] = examples
    return next((example["value"] for example in examples.values()), {})


def _complete_answer(operation: dict[str, Any], example: Any, schemas: dict[str, Any]) -> None:
    """Say what the answer is where the route leaves that to us, and show one."""
    response = operation["responses"]["200"]
    answer = response.get("content", {}).get("application/json")
    if answer and response["description"] == "Successful Response":
        response["description"] = _described(answer, schemas) or operation["description"]
    if answer and example is not None:
        answer["example"] = example


def _complete_responses(responses: dict[str, Any], *, is_tagged: bool) -> None:
    """Put in the headers, the examples of problems, and the answer that is not sent again."""
    if is_tagged:
        responses["304"] = {"description": "The answer is the one whose `ETag` was sent in `If-None-Match`."}
    for status, response in responses.items():
        names = (*ON_EVERY_RESPONSE, "ETag") if is_tagged and status in ("200", "304") else ON_EVERY_RESPONSE
        response["headers"] = {name: {"$ref": f"#/components/headers/{name}"} for name in names}
        if problem := response.get("content", {}).get(MEDIA_TYPE):
            response["content"] = {MEDIA_TYPE: {**problem, "examples": _problem_examples(status)}}


def _problem_examples(status: str) -> dict[str, Any]:
    """The problems of one status; the default's are those that any route may answer with."""
    statuses = ANYWHERE if status == "default" else {int(status)}
    return {
        name: {"$ref": f"#/components/examples/{name}"}
        for name, example in PROBLEMS.items()
        if example.status in statuses
    }


def _described(content: dict[str, Any], schemas: dict[str, Any]) -> str | None:
    """What the model says of itself; one that is made for a table says nothing."""
    return schemas.get(content["schema"].get("$ref", "").rpartition("/")[2], {}).get("description")


def question_examples(shop: Path | None, ask: str) -> dict[str, Any]:
    """The demo questions of one kind, as the examples of its request body."""
    if ask == "fill/batch":
        several = [example["value"] for example in question_examples(shop, "fill").values()][:3]
        return {"several-boxes": {"summary": "Several boxes", "value": {"questions": several}}} if several else {}
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
