"""Routes that read their body strictly and refuse a query parameter that is given twice or to nobody."""

from collections.abc import Callable, Coroutine
from typing import Any, get_origin

from fastapi import Request, Response
from fastapi.exceptions import RequestValidationError
from fastapi.routing import APIRoute

from api.header_values import media_type_and_parameters
from api.permalink import repeated
from api.problems import ProblemError, Refused
from api.strict_json import MalformedJson, parse
from api.wording import pointer


class StrictRequest(Request):
    """A request whose JSON is read by `strict_json`."""

    async def json(self) -> Any:
        """The value of the body.

        Errors: Refused as malformed-json, with the place where the text breaks.
        """
        return read_json(await self.body())


class StrictRoute(APIRoute):
    """An API route that guesses nothing about what was sent."""

    def get_route_handler(self) -> Callable[[Request], Coroutine[Any, Any, Response]]:
        """The handler of the framework behind our own checks."""
        handle = super().get_route_handler()

        async def handle_strictly(request: Request) -> Response:
            strict = StrictRequest(request.scope, request.receive)
            if self.body_field is not None:
                await _read_body_if_json(strict)
            if twice := _given_twice(strict, self):
                raise RequestValidationError([{"type": "repeated_parameter", "loc": ("query", name)} for name in twice])
            if strict.query_params and not self.dependant.query_params and self.path.startswith("/v1/"):
                names = strict.query_params.keys()
                raise RequestValidationError([{"type": "extra_forbidden", "loc": ("query", name)} for name in names])
            return await handle(strict)

        return handle_strictly


def read_json(body: bytes) -> Any:
    """The value of a body.

    Errors: Refused as malformed-json, with the place where the text breaks.
    """
    try:
        return parse(body)
    except MalformedJson as error:
        where = pointer(error.place)
        item = ProblemError(
            location="body", pointer=where, code="json_invalid", detail=error.reason, offset=error.offset
        )
        raise Refused("malformed-json", f"{where}: {error.reason}" if where else error.reason, [item]) from None


def media_type(request: Request) -> str:
    """What the body is sent as; empty where it is said to be in anything but UTF-8."""
    kind, parameters = media_type_and_parameters(request.headers.get("content-type", ""))
    return kind if parameters.get("charset", "utf-8") in ("utf-8", "utf8") else ""


def is_json(kind: str) -> bool:
    """Whether a media type is JSON by any of its names."""
    return kind == "application/json" or (kind.startswith("application/") and kind.endswith("+json"))


async def _read_body_if_json(request: Request) -> None:
    """Read the body ahead of the framework, which takes a caller who leaves for one who sends what it cannot read."""
    is_wrong = not is_json(media_type(request))
    is_announced = "transfer-encoding" in request.headers or request.headers.get("content-length", "0") != "0"
    if (is_wrong and is_announced) or (await request.body() and is_wrong):
        raise Refused("unsupported-media-type", "Send the body with Content-Type: application/json.")


def _given_twice(request: Request, route: APIRoute) -> list[str]:
    twice = set(repeated(request.query_params.multi_items()))
    if not twice:
        return []
    repeatable = {
        name
        for parameter in route.dependant.query_params
        for name, field in getattr(parameter.field_info.annotation, "model_fields", {}).items()
        if get_origin(field.annotation) in (list, tuple)
    }
    return sorted(twice - repeatable)
