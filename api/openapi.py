"""The OpenAPI document: what the framework writes, with our problems, headers and true examples put in."""

import asyncio
import json
import logging
import re
import tomllib
from collections.abc import Mapping
from pathlib import Path
from typing import Any
from urllib.parse import urlencode

from fastapi import FastAPI
from fastapi.exceptions import RequestValidationError
from fastapi.middleware.asyncexitstack import AsyncExitStackMiddleware
from fastapi.openapi.utils import get_openapi
from fastapi.routing import APIRoute
from pydantic_core import from_json
from starlette.types import Message

from api.batch import FillBatch
from api.http.lanes import Lanes
from api.http.of_shop import SHOP_FIELDS, in_body
from api.http.problems import MEDIA_TYPE, Problem, Refused
from api.http.problems import examples as problem_examples
from knowledge.errors import FillwrightError
from knowledge.parts.units import unit_of

log = logging.getLogger("fillwright")

REQUEST_ID = "6f0a2c1e-8d53-4b7f-9a41-3c5e7d90b268"
EXAMPLES = problem_examples({"request_id": REQUEST_ID, "address": ""})
HEADERS = {
    "Knowledge-Version": ("The edition of the knowledge that spoke.", "2026.12.0"),
    "Request-Id": ("Names this request in the log of the service.", REQUEST_ID),
    "ETag": (
        "Send it back in `If-None-Match`: as long as the answer is the same, you get a 304 without a body.",
        '"7d0e1c62a1b54f0f8f3d2b6a9c4e5f10"',
    ),
}
FIELDS = tomllib.loads(Path(__file__).with_name("fields.toml").read_text(encoding="utf-8"))
NOT_MODIFIED = {"description": "The answer is the one whose `ETag` was sent in `If-None-Match`."}
ANYWHERE = {403, 405, 421, 500}
TAGS = {
    "fill": "What to fill a box with.",
    "jug": "Whether a jug is right, by itself and for a box.",
    "drain": "What stays of the old fluid.",
    "symptom": "Whether it is the fluid at all.",
    "shift": "What a shift asks of a ring, and which facing stands it.",
    "viscosity": "How thick an oil is, cold and hot.",
    "knowledge": "The tables and rules behind every answer.",
    "shop": "The shop's own boxes and jugs, from its own tables.",
    "service": "For whoever runs the service.",
}


def document(app: FastAPI) -> dict[str, Any]:
    """The document of an app, written at the first call."""
    if app.openapi_schema is None:
        app.openapi_schema = _written(app)
    return app.openapi_schema


def _written(app: FastAPI) -> dict[str, Any]:
    address = app.state.settings.address
    tags = [{"name": name, "description": words} for name, words in TAGS.items()]
    written = get_openapi(
        title=app.title,
        version=app.version,
        description=app.description,
        routes=app.routes,
        tags=tags,
        servers=[{"url": address or "/"}],
    )
    schemas = written["components"]["schemas"]
    for model in (Problem, FillBatch):
        schema = model.model_json_schema(ref_template="#/components/schemas/{model}")
        for name, part in {**schema.pop("$defs"), model.__name__: schema}.items():
            schemas.setdefault(name, part)
    for name, schema in schemas.items():
        _explain(name, schema)
    if app.state.settings.public:
        _leave_out_the_shop(written)
    for route in app.state.routes:
        for method in route.methods if route.include_in_schema else ():
            _complete(written["paths"][route.path][method.lower()], route, method, app, schemas)
    written["components"] |= {
        "examples": {
            name: {"summary": example.title, "value": example.model_dump(mode="json", exclude_none=True)}
            for name, example in problem_examples({"request_id": REQUEST_ID, "address": address}).items()
        },
        "headers": {
            name: {"description": words, "schema": {"type": "string"}, "example": example}
            for name, (words, example) in HEADERS.items()
        },
    }
    return written


def _leave_out_the_shop(written: dict[str, Any]) -> None:
    """Take out what is refused where the service is open to the public."""
    for schema in written["components"]["schemas"].values():
        for name in SHOP_FIELDS & schema.get("properties", {}).keys():
            del schema["properties"][name]
            schema["required"] = [other for other in schema.get("required", ()) if other != name]
    for operations in written["paths"].values():
        for operation in operations.values():
            parameters = operation.get("parameters", [])
            parameters[:] = [parameter for parameter in parameters if parameter["name"] not in SHOP_FIELDS]


def _explain(model: str, schema: dict[str, Any]) -> None:
    """Say of a model and of each of its fields what it is, where it does not say so itself."""
    if words := FIELDS["models"].get(model.partition("_")[0]):
        schema.setdefault("description", words)
    words_of = FIELDS["anywhere"] | FIELDS.get(model, {})
    for name, field in schema.get("properties", {}).items():
        words = words_of.get(name, "")
        if {"type": "null"} not in field.get("anyOf", ()):
            words = re.sub(r"; null[^.]*", "", words)
        if words := field.get("description", words):
            field["description"] = _with_unit(words, name)


def _with_unit(words: str, name: str) -> str:
    """A description that names the unit its field ends in."""
    unit = "degrees" if unit_of(name) == "°" else unit_of(name)
    is_named = unit == "1" or "[" in words or re.search(rf"(?<![\w·/]){re.escape(unit)}(?![\w·/²³])", words)
    return words if is_named else f"{words} In {unit}."


def _complete(
    operation: dict[str, Any], route: APIRoute, method: str, app: FastAPI, schemas: dict[str, dict[str, Any]]
) -> None:
    """Say what is asked and answered, by example, and put in headers and problems."""
    responses, is_get, question = operation["responses"], method == "GET", None
    folder, public = app.state.shop_folder, app.state.settings.public
    answer = responses["200"].get("content", {}).get("application/json")
    if answer and responses["200"]["description"] == "Successful Response":
        responses["200"]["description"] = _described(answer, schemas) or operation["description"]
    if asked := operation.get("requestBody", {}).get("content", {}).get("application/json"):
        operation["requestBody"].setdefault("description", _described(asked, schemas))
        if examples := question_examples(folder, route.path.removeprefix("/v1/"), public=public):
            asked["examples"] = examples
            question = next(iter(examples.values()))["value"]
    for part in operation.get("parameters", ()):
        part["description"] = part["schema"]["description"] = _with_unit(part["description"], part["name"])
    given = {part["name"]: part["schema"]["examples"][0] for part in operation.get("parameters", ())}
    if answer and (is_get or question) and (shown := _answer_to(app, method, route.path, given, question)):
        answer["example"] = shown
    if is_get:
        responses["304"] = {**NOT_MODIFIED}
    for status, response in responses.items():
        names = HEADERS if is_get and status in ("200", "304") else ("Knowledge-Version", "Request-Id")
        response["headers"] = {name: {"$ref": f"#/components/headers/{name}"} for name in names}
        if problem := response.get("content", {}).get(MEDIA_TYPE):
            statuses = ANYWHERE if status == "default" else {int(status)}
            shown = [name for name, example in EXAMPLES.items() if example.status in statuses]
            examples = {name: {"$ref": f"#/components/examples/{name}"} for name in shown}
            response["content"] = {MEDIA_TYPE: {**problem, "examples": examples}}


def _described(content: dict[str, Any], schemas: dict[str, dict[str, Any]]) -> str | None:
    """What the model says of itself; one that is made for a table says nothing."""
    described: str | None = schemas.get(content["schema"].get("$ref", "").rpartition("/")[2], {}).get("description")
    return described


def question_examples(shop: Path | None, ask: str, *, public: bool = False) -> dict[str, Any]:
    """The demo questions of one kind, as the examples of its request body; where several are asked, several of fill.

    For the public only those that speak of nothing of the shop.
    """
    if ask in ("fill/batch", "stock"):
        several = list(question_examples(shop, "fill", public=public).values())[:3]
        questions = [example["value"] for example in several]
        boxes = [{"name": example["summary"], "asked": 4, "question": example["value"]} for example in several]
        value = {"questions": questions} if ask == "fill/batch" else {"boxes": boxes}
        return {"several-boxes": {"summary": "Several boxes", "value": value}} if several else {}
    if ask == "fill/firmness":
        asked = question_examples(shop, "fill", public=public)
        return {id: {**example, "value": {"question": example["value"]}} for id, example in asked.items()}
    examples = {}
    for file in sorted((shop / "questions").glob("*.json")) if shop else ():
        try:
            demo = json.loads(file.read_bytes())
            if demo["ask"] == ask.partition("/")[0] and not (public and any(in_body(demo["question"]))):
                about = {"summary": demo.get("title", file.stem), "description": demo.get("about", "")}
                examples[file.stem] = {**about, "value": demo["question"]}
        except (ValueError, KeyError, TypeError):  # A shop's own folder may hold anything.
            log.warning("questions/%s is no example: it holds no question", file.name)
    return examples


def _answer_to(app: FastAPI, method: str, path: str, given: Mapping[str, Any], question: Any) -> Any:
    """What is answered in short, with each list cut to one entry; None where it is refused or is no JSON."""
    query = {name: str(value).lower() if isinstance(value, bool) else value for name, value in given.items()}
    told: list[Message] = []

    pieces = iter([json.dumps(question).encode()])

    async def receive() -> Message:
        for piece in pieces:
            return {"type": "http.request", "body": piece}
        return await asyncio.Future()  # Nobody leaves.

    async def send(message: Message) -> None:
        told.append(message)

    scope = {
        "type": "http",
        "app": app,
        "method": method,
        "path": path.format(**given),
        "query_string": b"" if "{" in path else urlencode(query, doseq=True).encode(),
        "headers": [(b"content-type", b"application/json")],
        "request_id": REQUEST_ID,
        "lanes": Lanes(),  # Its own, in which nobody waits.
        "address": app.state.settings.address,
    }
    try:
        asyncio.run(AsyncExitStackMiddleware(app.router)(scope, receive, send))
    except (RequestValidationError, FillwrightError, Refused):  # A shop's own folder may hold anything, or nothing.
        return None
    return _cut(from_json(b"".join(message.get("body", b"") for message in told)))


def _cut(value: Any) -> Any:
    if isinstance(value, dict):
        return {name: _cut(part) for name, part in value.items()}
    return [_cut(part) for part in value[:1]] if isinstance(value, list) else value
