"""From an error to its problem: the exception handlers of the app."""

from collections.abc import Callable, Mapping
from typing import Any, TypeVar

from fastapi import FastAPI, Request, Response
from fastapi.exceptions import RequestValidationError
from pydantic import BaseModel, ValidationError
from starlette.exceptions import HTTPException

from api.http.of_shop import refuse_of_shop
from api.http.problems import LONGEST_GUESS, Problem, Refused, passing_headers, problem, problem_response
from api.http.strict_route import model_of
from api.permalink import field_of, repeated
from api.wording import Location, mistakes, more_than_it_holds, unknown_id
from knowledge.box.linked import FlatQuestion
from knowledge.errors import MoreThanItHolds, UnknownIds
from knowledge.rings.shift_question import FlatShiftQuestion
from knowledge.text import nearest

MOST_ERRORS = 20
QUESTION_ERRORS = (RequestValidationError, UnknownIds, MoreThanItHolds)
Model = TypeVar("Model", bound=BaseModel)
ModelOf = Callable[[str], type[BaseModel] | None]
AsPage = Callable[[Request, Problem], Response]


def handle_problems(app: FastAPI, as_page: AsPage) -> None:
    """Add the handlers to the app, people being told on a page; faults of our own are caught by `middleware.Faults`."""
    app.state.as_page = as_page
    for error in (Refused, *QUESTION_ERRORS):
        app.add_exception_handler(error, _on_refused)
    app.add_exception_handler(HTTPException, _on_http_error)


def validated(model: type[Model], given: Any, location: Location = "body") -> Model:
    """A value as this model, read as the framework reads a body.

    Errors: RequestValidationError.
    """
    try:
        return model.model_validate(given, from_attributes=True)
    except ValidationError as error:
        raise RequestValidationError([{**part, "loc": (location, *part["loc"])} for part in error.errors()]) from None


def of_link(link: FlatQuestion | FlatShiftQuestion) -> Any:
    """The question that a link puts.

    Errors: RequestValidationError, where two of its fields contradict each other.
    """
    try:
        return link.question()
    except ValidationError as error:
        found = error.errors()
    places = (field_of("".join(f"/{step}" for step in part["loc"])) for part in found)
    raise RequestValidationError([{**part, "loc": ("query", place)} for part, place in zip(found, places, strict=True)])


def asked_by_link(model: type[Any], given: Mapping[str, Any]) -> Any:
    """The question that the fields of a link put.

    Errors: RequestValidationError, where a field cannot be used or two contradict each other.
    """
    return of_link(validated(model, given, "query"))


def check_address(request: Request) -> None:
    """Let the address of a page pass where a question can be made of it.

    Errors: RequestValidationError, where a field is given twice; Refused, where it asks the public service of the shop.
    """
    given = request.query_params.multi_items()
    if request.app.state.settings.public:
        refuse_of_shop(given, "query")
    if twice := repeated(given):
        raise RequestValidationError([{"type": "repeated_parameter", "loc": ("query", name)} for name in twice])


def refusal(error: Exception, location: Location, model_of: ModelOf) -> Refused:
    """The refusal that an error of a question becomes; values that were sent are not repeated.

    `location` is `body` or `query`; `model_of` gives the model that is read from there.
    """
    match error:
        case Refused():
            return error
        case UnknownIds():
            count, slug = len(error.items), "unknown-id"
            found = [
                unknown_id(item, location, f"/{field_of(item.pointer)}" if location == "query" else None)
                for item in error.items[:MOST_ERRORS]
            ]
        case MoreThanItHolds():
            count, slug, found = 1, "invalid-request", [more_than_it_holds(error, location)]
        case RequestValidationError():
            count, slug, found = len(error.errors()), "invalid-request", []
            for part in error.errors()[:MOST_ERRORS]:
                where, *place = part["loc"]
                found += mistakes([{**part, "loc": place}], model_of(where), where)
        case _:
            raise error
    if count == 1:
        summary = f"{found[0].pointer or f'The {found[0].location}'}: {found[0].detail}"
    else:
        summary = f"{count} values need fixing.{f' The first {MOST_ERRORS} are listed.' * (count > MOST_ERRORS)}"
    return Refused(slug, summary, found)


async def _on_refused(request: Request, error: Exception) -> Response:
    location: Location = "query" if request.method == "GET" else "body"
    refused = refusal(error, location, lambda location: _model(request, location))
    return _told(request, refused.problem(request.scope))


def _told(request: Request, body: Problem) -> Response:
    """A problem as a page for people who asked for a page, as a problem for programs."""
    route: Any = request.scope.get("route")
    is_page = not getattr(route, "include_in_schema", False) and request.method == "GET"
    if not is_page or "text/html" not in request.headers.get("accept", ""):
        return problem_response(body)
    shown: Response = request.app.state.as_page(request, body)
    shown.headers.update({**passing_headers(body.status), "Vary": "Accept"})
    return shown


async def _on_http_error(request: Request, error: Exception) -> Response:
    """What the framework refuses by itself: unknown paths, methods, and the rest of HTTP."""
    assert isinstance(error, HTTPException)
    if error.status_code == 404:
        detail = f"No route has this path. {_nearest_path(request)}"
        return _told(request, problem("unknown-path", detail, request.scope))
    if error.status_code == 405:
        return _on_method(request, (error.headers or {}).get("Allow", ""))
    return problem_response(problem(None, error.detail, request.scope, status=error.status_code), error.headers)


def _nearest_path(request: Request) -> str:
    path, routes, service = request.url.path.rstrip("/"), request.app.state.routes, request.scope["address"]
    if path != request.url.path and (same := next((one.path for one in routes if one.path_regex.match(path)), None)):
        return f"Did you mean {service}{same} without a slash at its end?"
    near = nearest(path, (route.path for route in routes)) if len(path) <= LONGEST_GUESS else None
    return f"Did you mean {service}{near}?" if near else f"See {service}/docs for every path."


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
    detail = f"This path takes {headers['Allow']}."
    return problem_response(problem("method-not-allowed", detail, request.scope), headers)


def _model(request: Request, location: str) -> type[BaseModel] | None:
    """The model that the body or the query of this route is read into."""
    route: Any = request.scope.get("route")
    return model_of([route.body_field] if location == "body" else route.dependant.query_params)
