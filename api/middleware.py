"""What every response gets, in pure ASGI: headers, problems in one shape, a limit on what is read."""

import asyncio
import logging
from collections.abc import Collection, Mapping
from urllib.parse import unquote_to_bytes

from starlette.datastructures import Headers, MutableHeaders
from starlette.requests import ClientDisconnect
from starlette.responses import Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from api.problems import KINDS, MEDIA_TYPE, ProblemError, Refused, problem

log = logging.getLogger("fillwright")

SECURITY_HEADERS = {
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "no-referrer",
}
NOBODY = "'none'"


def content_policy(*framing: str) -> str:
    """The content security policy of every response; `framing` are the origins whose pages may frame this one."""
    return (
        "default-src 'self'; img-src 'self' data:; base-uri 'none'; form-action 'self'; "
        f"frame-ancestors {' '.join(framing or (NOBODY,))}"
    )


POLICY = content_policy()


class Envelope:
    """Headers on every response, and HEAD answered as GET without its body."""

    def __init__(self, app: ASGIApp, headers: Mapping[str, str]) -> None:
        self.app = app
        self.headers = {**SECURITY_HEADERS, **headers}

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        is_head = scope["method"] == "HEAD"
        if is_head:
            scope["method"] = "GET"

        async def send_enveloped(message: Message) -> None:
            if message["type"] == "http.response.start":
                headers = MutableHeaders(scope=message)
                headers.update({**self.headers, "Request-Id": scope["fillwright.request_id"]})
                headers.setdefault("Content-Security-Policy", POLICY)
                headers.setdefault("Cache-Control", "no-cache" if scope["method"] == "GET" else "no-store")
            elif is_head:
                message = {**message, "body": b""}
            await send(message)

        await self.app(scope, receive, send_enveloped)


class ProblemShape:
    """Turns the plain-text refusals of the layers within (cross-origin, static files) into problems."""

    def __init__(self, app: ASGIApp) -> None:
        self.app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        refusal: Message | None = None

        async def send_shaped(message: Message) -> None:
            nonlocal refusal
            if message["type"] == "http.response.start":
                kind = Headers(scope=message).get("content-type", "")
                is_shaped = kind == MEDIA_TYPE or kind.startswith("text/html")
                refusal = message if message["status"] >= 400 and not is_shaped else None
            elif refusal is not None:
                if not message.get("more_body"):
                    response = _reshaped(scope, refusal, message.get("body", b""))
                    await response(scope, receive, send)
                return
            if refusal is None:
                await send(message)

        await self.app(scope, receive, send_shaped if scope["type"] == "http" else send)


def _reshaped(scope: Scope, start: Message, body: bytes) -> Response:
    headers = {name: value for name, value in Headers(scope=start).items() if not name.startswith("content-")}
    detail = body.decode("utf-8", "replace") or "The request was refused."
    return problem(scope, None, detail, status=start["status"], headers=headers)


class CatchAll:
    """A fault of ours as a problem; inside of the cross-origin headers, so that a web page may read it."""

    def __init__(self, app: ASGIApp) -> None:
        self.app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        started = False

        async def send_watched(message: Message) -> None:
            nonlocal started
            started = True
            await send(message)

        try:
            await self.app(scope, receive, send_watched)
        except ClientDisconnect:
            return
        except asyncio.CancelledError:
            # The server stops, and has waited for as long as it was told to.
            if started or scope["type"] != "http":
                raise
            response = problem(scope, "not-ready", KINDS["not-ready"].meaning)
            await response(scope, receive, send)
        except Exception:
            fields = {"request_id": scope.get("fillwright.request_id")}
            log.exception("fault while answering a request", extra={"fields": fields})
            if started or scope["type"] != "http":
                raise
            response = problem(scope, "internal", KINDS["internal"].meaning)
            await response(scope, receive, send)


class HeadCheck:
    """Refuses a head that is too large, which a server does not count that gets it in one piece, or not readable."""

    def __init__(self, app: ASGIApp, most_bytes: int) -> None:
        self.app = app
        self.most_bytes = most_bytes

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] == "http" and (refusal := self._refusal(scope)):
            await refusal(scope, receive, send)
        else:
            await self.app(scope, receive, send)

    def _refusal(self, scope: Scope) -> Response | None:
        query, headers = scope["query_string"], scope["headers"]
        # Each header has a colon, a space and the end of its line besides.
        size = (
            len(scope.get("raw_path") or b"") + len(query) + sum(len(name) + len(value) + 4 for name, value in headers)
        )
        if size > self.most_bytes:
            detail = f"Address and headers may hold at most {self.most_bytes} bytes."
            return problem(scope, "head-too-large", detail)
        sent = Headers(scope=scope)
        if "transfer-encoding" in sent and "content-length" in sent:
            # What follows could be one request to us and another to a proxy before us.
            detail = "Send either Content-Length or Transfer-Encoding, not both."
            return problem(scope, None, detail, status=400, headers={"Connection": "close"})
        if sent.get("content-encoding", "identity").strip().lower() not in ("", "identity"):
            detail = "Send the body as it is, without Content-Encoding."
            return problem(scope, "unsupported-media-type", detail)
        try:
            unquote_to_bytes(query).decode()
        except UnicodeDecodeError:
            detail = "The query of the address is not UTF-8 text."
            item = ProblemError(location="query", pointer="", code="not_utf8", detail=detail)
            return problem(scope, "invalid-request", detail, [item])
        return None


class BodyLimit:
    """Refuses a body larger than the limit, whether or not its length was announced.

    The paths in `beyond` have limits of their own.
    """

    def __init__(self, app: ASGIApp, most_bytes: int, beyond: Collection[str] = ()) -> None:
        self.app = app
        self.most_bytes = most_bytes
        self.beyond = beyond

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http" or scope["path"] in self.beyond:
            await self.app(scope, receive, send)
            return
        announced = Headers(scope=scope).get("content-length", "0")
        if announced.isdigit() and int(announced) > self.most_bytes:
            response = problem(scope, "body-too-large", self._detail)
            await response(scope, receive, send)
            return
        read = 0

        async def receive_limited() -> Message:
            nonlocal read
            message = await receive()
            read += len(message.get("body", b""))
            if read > self.most_bytes:
                raise Refused("body-too-large", self._detail)
            return message

        await self.app(scope, receive_limited, send)

    @property
    def _detail(self) -> str:
        return f"The body may hold at most {self.most_bytes} bytes."


class BodyPatience:
    """Refuses a body of which nothing comes for too long; one that keeps coming may take as long as it likes."""

    def __init__(self, app: ASGIApp, most_silence_s: float) -> None:
        self.app = app
        self.most_silence_s = most_silence_s

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        is_whole = scope["type"] != "http"
        is_answering = False

        async def send_watched(message: Message) -> None:
            nonlocal is_answering
            is_answering = True
            await send(message)

        async def receive_in_time() -> Message:
            nonlocal is_whole
            if is_whole:
                # All that may still come is the end of the connection, which an answer sent in pieces waits for.
                return await receive()
            try:
                async with asyncio.timeout(self.most_silence_s):
                    message = await receive()
            except TimeoutError:
                if is_answering:
                    # Too late to refuse anything: who is silent for so long counts as gone.
                    scope.get("state", {}).get("hang_up", lambda: None)()
                    return {"type": "http.disconnect"}
                detail = f"Nothing of the body came for {self.most_silence_s:g} s."
                raise Refused("request-too-slow", detail) from None
            is_whole = not message.get("more_body")
            return message

        await self.app(scope, receive_in_time, send_watched)
