"""From an error to its problem: the handlers that `create_app` hangs on the app."""

from collections.abc import Callable, Mapping, Sequence
from typing import Any

from fastapi import FastAPI, Request, Response
from fastapi.exceptions import RequestValidationError
from pydantic import BaseModel
from starlette.exceptions import HTTPException

from api.permalink import field_of
from api.problems import LONGEST_GUESS, ProblemError, Refused, problem, problem_errors
from api.wording import mistakes, more_than_it_holds, unknown_id
from knowledge.errors import MoreThanItHolds, UnknownIds
from knowledge.text import nearest

MOST_ERRORS = 20


def handle_problems(app: FastAPI) -> None:
    """Hang the handlers on the app; the catch-all of `middleware.py` does the rest."""
    app.add_exception_handler(Refused, on_refused)
    app.add_exception_handler(RequestValidationError, on_invalid)
    app.add_exception_handler(UnknownIds, on_unknown_ids)
    app.add_exception_handler(MoreThanItHolds, on_more_than_it_holds)
    app.add_exception_handler(HTTPException, on_http_error)


async def on_refused(request: Request, error: Refused) -> Response:
    """A refusal of our own making."""
    return problem(request.scope, error.slug, error.detail, error.errors, status=error.status_code)


async def on_invalid(request: Request, error: RequestValidationError) -> Response:
    """Values that cannot be used."""
    return await on_refused(request, invalid(error.errors(), lambda location: _asked(request, location)))


def invalid(errors: Sequence[Mapping[str, Any]], asked: Callable[[str], type[BaseModel] | None]) -> Refused:
    """The refusal of values that cannot be used, in plain words; what was sent is not repeated."""
    items = []
    for item in errors[:MOST_ERRORS]:
        location, *place = item["loc"]
        items += problem_errors(location, mistakes([{**item, "loc": place}], asked(location)))
    return Refused("invalid-request", _summary(items, len(errors)), items)


async def on_unknown_ids(request: Request, error: UnknownIds) -> Response:
    """Ids in a question that the knowledge does not have."""
    location = "query" if request.method == "GET" else "body"
    found = [unknown_id(item, f"/{field_of(item.pointer)}" if location == "query" else None) for item in error.items]
    items = problem_errors(location, found[:MOST_ERRORS])
    return problem(request.scope, "unknown-id", _summary(items, len(found)), items)


async def on_more_than_it_holds(request: Request, error: MoreThanItHolds) -> Response:
    """A drain that the shop's own capacity of the box does not allow."""
    items = problem_errors("body", [more_than_it_holds(error.pointer, error.holds_l)])
    return problem(request.scope, "invalid-request", _summary(items, 1), items)


async def on_http_error(request: Request, error: HTTPException) -> Response:
    """What the framework refuses by itself: unknown paths, methods, and the rest of HTTP."""
    if error.status_code == 404:
        return problem(request.scope, "unknown-path", f"No route has this path. {_nearest_path(request)}")
    if error.status_code == 405:
        return _on_method(request, (error.headers or {}).get("Allow", ""))
    return problem(request.scope, None, error.detail, status=error.status_code, headers=error.headers)


def _nearest_path(request: Request) -> str:
    path, routes = request.url.path.rstrip("/"), request.app.state.routes
    if path != request.url.path and (same := next((one.path for one in routes if one.path_regex.match(path)), None)):
        return f"Did you mean {same} without a slash at its end?"
    near = nearest(path, (route.path for route in routes)) if len(path) <= LONGEST_GUESS else None
    return f"Did you mean {near}?" if near else "See /docs for every path."


def _on_method(request: Request, allowed: str) -> Response:
    # Two routes may share a path; the framework names the methods of the first one only.
    methods = {name.strip() for name in allowed.split(",") if name.strip()} | {"OPTIONS"}
    for route in request.app.state.routes:
        if route.path_regex.match(request.url.path):
            methods |= route.methods
    if "GET" in methods:
        methods.add("HEAD")
    headers = {"Allow": ", ".join(sorted(methods))}
    if request.method == "OPTIONS":
        return Response(status_code=204, headers=headers)
    return problem(request.scope, "method-not-allowed", f"This path takes {headers['Allow']}.", headers=headers)


def _asked(request: Request, location: str) -> type[BaseModel] | None:
    """The model that the body or the query of this route is read into."""
    route = request.scope.get("route")
    fields = [route.body_field] if location == "body" else [*route.dependant.query_params]
    kinds = (field.field_info.annotation for field in fields if field)
    return next((kind for kind in kinds if isinstance(kind, type) and issubclass(kind, BaseModel)), None)


def _summary(items: list[ProblemError], count: int) -> str:
    if count == 1:
        return f"{items[0].pointer or f'The {items[0].location}'}: {items[0].detail}"
    listed = f" The first {MOST_ERRORS} are listed." if count > MOST_ERRORS else ""
    return f"{count} values need fixing.{listed}"
