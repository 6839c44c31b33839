"""Headers of every response: security, caching, and the id of the request."""

import re
from collections.abc import Mapping
from typing import Any
from urllib.parse import parse_qsl

from starlette.types import Scope

RawHeaders = list[tuple[bytes, bytes]]
REFUSES_GZIP = re.compile(rb"gzip\s*;\s*q=0(\.0*)?\s*(,|$)", re.IGNORECASE)
CATALOGUE_TAG = "knowledge"
NOBODY = "'none'"
SHOP_FIELDS = {"box_ref", "use_shelf"}


def content_policy(*framing: str) -> str:
    """The content security policy of a response; `framing` are the origins whose pages may frame it."""
    return (
        "default-src 'self'; img-src 'self' data:; base-uri 'none'; form-action 'self'; "
        f"frame-ancestors {' '.join(framing) or NOBODY}"
    )


def fixed_headers(headers: Mapping[str, str]) -> RawHeaders:
    """What every response carries, as ASGI sends it."""
    every = {"x-content-type-options": "nosniff", "referrer-policy": "no-referrer", **headers}
    return [(name.lower().encode(), value.encode()) for name, value in every.items()]


def request_headers(headers: RawHeaders) -> RawHeaders:
    """The headers of a request without an Accept-Encoding that refuses gzip, which the compression would overlook."""
    return [(name, value) for name, value in headers if name != b"accept-encoding" or not REFUSES_GZIP.search(value)]


def cache_control(scope: Scope, status: int) -> str:
    """How long a response may be kept: catalogues for a while, answers about the shop's own boxes not at all."""
    if scope["method"] != "GET":
        return "no-store"
    if scope["query_string"] and SHOP_FIELDS & {name for name, _ in parse_qsl(scope["query_string"].decode("latin-1"))}:
        return "private, no-store"
    route: Any = scope.get("route")
    is_catalogue = status in (200, 304) and CATALOGUE_TAG in getattr(route, "tags", ())
    return "max-age=300" if is_catalogue else "no-cache"
