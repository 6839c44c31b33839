"""API routes that read their body as strict JSON and refuse query parameters that are repeated or not known."""

from collections import Counter
from collections.abc import Callable, Coroutine, Iterable
from typing import Any, get_origin
from urllib.parse import unquote_to_bytes

from fastapi import Request, Response
from fastapi.exceptions import RequestValidationError
from fastapi.routing import APIRoute
from pydantic import BaseModel, ValidationError

from api.http.moment import shop_now
from api.http.of_shop import SHOP_FIELDS, refuse_of_shop
from api.http.problems import Refused
from api.http.strict_json import MalformedJson, body_type, is_json, parse
from api.http.tagged_route import TaggedRoute
from api.wording import ProblemError


class StrictRequest(Request):
    """A request whose JSON is read by `strict_json`."""

    async def json(self) -> Any:
        """The value of the body.

        Errors: Refused as malformed-json, or as not-public.
        """
        value = read_json(await self.body())
        if self.app.state.settings.public:
            refuse_of_shop(value, "body")
        return value


class StrictRoute(TaggedRoute):
    """An API route that checks the query and the media type before the framework reads them."""

    def get_route_handler(self) -> Callable[[Request], Coroutine[Any, Any, Response]]:
        """The framework's handler behind these checks."""
        handle = super().get_route_handler()
        known, repeatable = _query_names(self)

        async def handle_strictly(request: Request) -> Response:
            if request.scope["query_string"]:
                _check_query(request, known if self.path.startswith("/v1/") else None, repeatable)
                if request.app.state.settings.public:
                    refuse_of_shop(request.query_params.multi_items(), "query")
            if self.body_field is not None:
                request = StrictRequest(request.scope, request.receive)
                if not is_json(body_type(request.headers)):
                    raise Refused("unsupported-media-type", "Send the body with Content-Type: application/json.")
                await request.body()  # The framework takes a client that disconnects for one that sends bad JSON.
            return await handle(request)

        return handle_strictly

    def asked(self, request: Request) -> object:
        """The question that the query comes to, and the shop's tables where it speaks of them.

        None for what tells of the moment, and for what is no question; its refusal has no tag.
        """
        if not self.path.startswith("/v1/") or self.path.startswith("/v1/shop/"):
            return None
        query = request.query_params
        model = model_of(self.dependant.query_params)
        if model is None:
            return ""
        repeatable = _query_names(self)[1]
        try:
            question = model.model_validate(
                {name: query.getlist(name) if name in repeatable else query[name] for name in query}
            )
        except ValidationError:
            return None
        return question.model_dump_json(), shop_now(request).shop.digest if SHOP_FIELDS & query.keys() else ""


def read_json(body: bytes, *, allow_inf_nan: bool = False) -> Any:
    """The value of a body.

    Errors: Refused as malformed-json.
    """
    try:
        return parse(body, allow_inf_nan=allow_inf_nan)
    except MalformedJson as error:
        item = ProblemError(
            location="body", pointer="", code="malformed_json", detail=error.reason, offset=error.offset
        )
        raise Refused("malformed-json", error.reason, [item]) from None


def model_of(fields: Iterable[Any]) -> type[BaseModel] | None:
    """The model that the body or the query of a route is read into; `fields` are the framework's own, or None."""
    kinds = (field.field_info.annotation for field in fields if field)
    return next((kind for kind in kinds if isinstance(kind, type) and issubclass(kind, BaseModel)), None)


def _query_names(route: APIRoute) -> tuple[frozenset[str] | None, frozenset[str]]:
    """The query parameters of a route, None where a model of its own refuses unknown ones; and the repeatable ones."""
    model = model_of(route.dependant.query_params)
    annotations: dict[str, Any] = (
        {name: field.annotation for name, field in model.model_fields.items()}
        if model
        else {parameter.alias: parameter.field_info.annotation for parameter in route.dependant.query_params}
    )
    repeatable = frozenset(name for name, kind in annotations.items() if get_origin(kind) in (list, tuple))
    return None if model else frozenset(annotations), repeatable


def _check_query(request: Request, known: frozenset[str] | None, repeatable: frozenset[str]) -> None:
    try:
        unquote_to_bytes(request.scope["query_string"]).decode()
    except UnicodeDecodeError:
        raise Refused.parameter("", "not_utf8", "The query of the address is not UTF-8 text.") from None
    given = Counter(name for name, _ in request.query_params.multi_items())
    repeated = sorted(name for name, count in given.items() if count > 1 and name not in repeatable)
    unknown = [name for name in given if known is not None and name not in known]
    if repeated:
        raise RequestValidationError([{"type": "repeated_parameter", "loc": ("query", name)} for name in repeated])
    if unknown:
        raise RequestValidationError([{"type": "extra_forbidden", "loc": ("query", name)} for name in unknown])
