"""The pure ASGI layers around the routes, from the outside in: `Envelope`, `Faults`; then come `bodies` and `etags`."""

import asyncio
import logging
import re
import time
import uuid
from collections.abc import Mapping
from urllib.parse import parse_qsl

from starlette.requests import ClientDisconnect
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from api.http.deprecation import deprecation_headers
from api.http.lanes import Lanes
from api.http.observability import Metrics, RequestRecord
from api.http.of_shop import SHOP_FIELDS
from api.http.problems import KINDS, problem, problem_response

log = logging.getLogger("fillwright")

RawHeaders = list[tuple[bytes, bytes]]
REFUSES_GZIP = re.compile(rb"gzip\s*;\s*q=0(\.0*)?\s*(,|$)", re.IGNORECASE)
CATALOGUE_TAG = "knowledge"
# Of a page that judges the jugs of the shelf without being asked for them.
SHELF_TAG = "shelf"
NOBODY = "'none'"
# Whoever watches the service does not wait in line.
WATCHED = "/healthz"


def content_policy(*framing: str) -> str:
    """The content security policy of a response; `framing` are the origins whose pages may frame it."""
    return (
        "default-src 'self'; img-src 'self' data:; base-uri 'none'; form-action 'self'; "
        f"frame-ancestors {' '.join(framing) or NOBODY}"
    )


def request_headers(headers: RawHeaders) -> RawHeaders:
    """The headers of a request without an Accept-Encoding that refuses gzip, which the compression would overlook."""
    return [(name, value) for name, value in headers if name != b"accept-encoding" or not REFUSES_GZIP.search(value)]


def cache_control(scope: Scope, status: int) -> str:
    """How long a response may be kept: catalogues for a while, what is of the shop's own boxes or jugs not at all."""
    if scope["method"] != "GET":
        return "no-store"
    if scope["query_string"] and SHOP_FIELDS & {name for name, _ in parse_qsl(scope["query_string"].decode("latin-1"))}:
        return "private, no-store"
    tags = getattr(scope.get("route"), "tags", ())
    if SHELF_TAG in tags and scope["app"].state.shop.now.shop.shelf:
        return "private, no-store"
    is_catalogue = status in (200, 304) and CATALOGUE_TAG in tags
    return "max-age=300" if is_catalogue else "no-cache"


POLICY = content_policy().encode()


class Envelope:
    """Outermost: gives each request its id, each response its headers, answers HEAD as GET, and logs and counts.

    A plain-text refusal of the cross-origin layer becomes a problem here. Behind a proxy, `address` is what links to
    the service begin with, and `prefix` what it puts before paths; whether it takes that off again is no matter.
    """

    def __init__(
        self,
        app: ASGIApp,
        headers: Mapping[str, str],
        metrics: Metrics,
        lanes: Lanes,
        prefix: str = "",
        address: str = "",
    ) -> None:
        self.app = app
        self.lanes = lanes
        self.prefix = prefix
        self.address = address
        every = {"x-content-type-options": "nosniff", "referrer-policy": "no-referrer", **headers}
        self.headers = [(name.lower().encode(), value.encode()) for name, value in every.items()]
        self.metrics = metrics

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        record = RequestRecord(scope["method"], str(uuid.uuid4()), time.perf_counter())
        is_head = scope["method"] == "HEAD"
        method, headers = "GET" if is_head else scope["method"], request_headers(scope["headers"])
        scope = {
            **scope,
            "record": record,
            "request_id": record.request_id,
            "lanes": self.lanes,
            "address": self.address,
            "method": method,
            "path": self._path(scope["path"]),
            "headers": headers,
        }
        is_plain_refusal = False

        async def send_enveloped(message: Message) -> None:
            nonlocal is_plain_refusal
            if message["type"] == "http.response.start":
                record.status, headers = message["status"], dict(message["headers"])
                is_plain_refusal = record.status >= 400 and headers.get(b"content-type", b"").startswith(b"text/plain")
                if not is_plain_refusal:
                    added = self._added(scope, record, headers)
                    await send({**message, "headers": [*message["headers"], *added]})
                return
            body = message.get("body", b"")
            if is_plain_refusal:
                response = problem_response(problem(None, body.decode(), scope, status=record.status))
                added, body = self._added(scope, record, {}), bytes(response.body)
                await send(
                    {"type": "http.response.start", "status": record.status, "headers": [*response.raw_headers, *added]}
                )
            body = b"" if is_head else body
            record.bytes += len(body)
            record.is_complete = not message.get("more_body")
            await send({**message, "body": body})

        try:
            with self.metrics.in_flight.track_inprogress():
                await self.app(scope, receive, send_enveloped)
        finally:
            record.end(scope, self.metrics)

    def _path(self, path: str) -> str:
        return path.removeprefix(self.prefix) if path.startswith(f"{self.prefix}/") else path

    def _added(self, scope: Scope, record: RequestRecord, present: Mapping[bytes, bytes]) -> list[tuple[bytes, bytes]]:
        added = [*self.headers, (b"request-id", record.request_id.encode())]
        added += deprecation_headers(scope.get("route"))
        if b"content-security-policy" not in present and record.status != 304:  # The browser keeps that of the page.
            added.append((b"content-security-policy", POLICY))
        if b"cache-control" not in present:
            added.append((b"cache-control", cache_control(scope, record.status or 0).encode()))
        return added


def may_still_be_told(scope: Scope) -> bool:
    """Whether this is a request whose response has not begun."""
    return scope["type"] == "http" and not scope["record"].status


class Faults:
    """A fault of ours as a problem, logged; inside of the cross-origin headers, so that a web page may read it.

    Here each request waits for its turn to begin, so that one that is told to stop meanwhile is told so too.
    """

    def __init__(self, app: ASGIApp) -> None:
        self.app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        try:
            if scope["type"] == "http" and scope["path"] != WATCHED:
                await scope["lanes"].turn()
            await self.app(scope, receive, send)
            return
        except ClientDisconnect:
            return
        except asyncio.CancelledError:  # The server stops, and its graceful timeout is over.
            slug = "not-ready"
            if not may_still_be_told(scope):
                raise
        except Exception:
            slug = "internal"
            log.exception("fault while answering", extra={"fields": {"request_id": scope.get("request_id")}})
            if not may_still_be_told(scope):
                raise
        body = problem(slug, KINDS[slug].meaning, scope)
        await problem_response(body)(scope, receive, send)
