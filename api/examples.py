"""Examples in the OpenAPI document: a problem of each kind, and what the routes themselves answer."""

from asyncio import iscoroutine
from collections.abc import Coroutine, Mapping
from typing import Any

from fastapi import FastAPI
from fastapi.routing import APIRoute
from pydantic import BaseModel, ValidationError

from api.batch import LINES, MOST_QUESTIONS
from api.http.problems import KINDS, Problem, ProblemError, Refused
from api.pictures import Wanted, wanted
from api.routes.dependencies import base_of_app, current_shop, shop_of_app
from api.settings import MAX_BODY_BYTES
from knowledge.errors import UnknownIds

INSTANCE = "urn:uuid:6f0a2c1e-8d53-4b7f-9a41-3c5e7d90b268"
BROKEN = "The text stops being JSON at line 1, column 11: expected value."
NEAR_DUTY = "This id is not known. Did you mean street?"
NEAR_FACING = "This id is not known. Did you mean paper?"


def _example(slug: str, detail: str, *errors: ProblemError, status: int | None = None) -> Problem:
    kind = KINDS[slug]
    return Problem(
        type=f"/problems/{slug}",
        title=kind.title,
        status=status or kind.status,
        detail=detail,
        instance=INSTANCE,
        errors=errors,
    )


PROBLEMS: Mapping[str, Problem] = {
    "malformed-json": _example(
        "malformed-json",
        BROKEN,
        ProblemError(location="body", pointer="", code="json_invalid", detail=BROKEN, offset=10),
    ),
    "invalid-request": _example(
        "invalid-request",
        "/coldest_start_c: Must be from -50 up to 50 °C.",
        ProblemError(
            location="body",
            pointer="/coldest_start_c",
            code="less_than_equal",
            detail="Must be from -50 up to 50 °C.",
        ),
    ),
    "unknown-id": _example(
        "unknown-id",
        f"/duty: {NEAR_DUTY}",
        ProblemError(
            location="body",
            pointer="/duty",
            code="unknown_id",
            detail=NEAR_DUTY,
            known=("street", "highway", "towing", "competition"),
            did_you_mean="street",
        ),
    ),
    "unknown-id-in-path": _example(
        "unknown-id",
        NEAR_FACING,
        ProblemError(
            location="path",
            pointer="",
            code="unknown_id",
            detail=NEAR_FACING,
            known=("bronze", "molybdenum", "sintered", "paper", "carbon"),
            did_you_mean="paper",
        ),
        status=404,
    ),
    "unknown-path": _example("unknown-path", "No route has this path. Did you mean /v1/fill?"),
    "method-not-allowed": _example("method-not-allowed", "This path takes GET, HEAD, OPTIONS, POST."),
    "body-too-large": _example("body-too-large", f"The body may hold at most {MAX_BODY_BYTES} bytes."),
    "batch-too-large": _example(
        "batch-too-large", f"A batch in JSON may hold at most {MOST_QUESTIONS} questions. Send more as {LINES}."
    ),
    "request-too-slow": _example("request-too-slow", "The body was not complete within 20 s."),
    "not-ready": _example("not-ready", KINDS["not-ready"].meaning),
    "unsupported-media-type": _example("unsupported-media-type", "Send the body with Content-Type: application/json."),
    "internal": _example("internal", KINDS["internal"].meaning),
}


def answer_example(route: APIRoute, app: FastAPI, question: Any) -> Any:
    """What a route answers to a question, or to the examples of its parameters, with each list cut to one entry.

    None where it reads the request itself, answers with no model, or not to this: a shop's own folder may lack the
    box of the example.
    """
    if route.dependant.request_param_name:
        return None
    try:
        answer = route.endpoint(**_arguments(route, app, question))
        if iscoroutine(answer):
            answer = _at_once(answer)
    except (Refused, UnknownIds, ValidationError):
        return None
    return _cut(answer.model_dump(mode="json")) if isinstance(answer, BaseModel) else None


def _arguments(route: APIRoute, app: FastAPI, question: Any) -> dict[str, Any]:
    now = app.state.shop.now
    given = {
        base_of_app: app.state.base,
        shop_of_app: now,
        current_shop: now.shop,
        wanted: Wanted(as_picture=False),
    }
    takes = route.dependant
    return {
        **{part.name: given[part.call] for part in takes.dependencies},
        **{part.name: part.field_info.examples[0] for part in takes.path_params},
        **{part.name: _asked(part, _first_examples(part.field_info.annotation)) for part in takes.query_params},
        **{part.name: _asked(part, question) for part in takes.body_params},
    }


def _asked(part: Any, question: Any) -> Any:
    return part.field_info.annotation.model_validate(question)


def _first_examples(model: type[BaseModel]) -> dict[str, Any]:
    return {name: field.examples[0] for name, field in model.model_fields.items() if field.examples}


def _at_once(answer: Coroutine[Any, Any, Any]) -> Any:
    """The result of a route that waits for nothing."""
    try:
        answer.send(None)
    except StopIteration as done:
        return done.value
    raise RuntimeError("a route with an example may not wait")


def _cut(value: Any) -> Any:
    if isinstance(value, dict):
        return {name: _cut(part) for name, part in value.items()}
    return [_cut(part) for part in value[:1]] if isinstance(value, list) else value
