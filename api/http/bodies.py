"""Bodies that are too large, too slow or too many are refused, and no connection outlives its refusal."""

import asyncio
import logging
import math
from collections.abc import Mapping

from starlette.datastructures import Headers
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from api.http.lanes import BUSY
from api.http.problems import Refused, problem_response
from api.http.strict_json import body_type

FRAMING = {b"content-length", b"transfer-encoding"}
# Told at most once a second, for whatever many bodies.
log = logging.getLogger("fillwright.seldom")


class BodyLimit:
    """Refuses a body that is larger than `max_bytes`, or not complete after `read_timeout_s`.

    `larger` holds the paths that read more, each with its own limit. There a body of the media type `streamed` may be
    of any size, and the timeout is that for each piece of it. Of more than `most_incomplete` bodies the one that began
    first is refused, since an honest one is complete in a moment; half as many may be streamed, the next is refused.
    """

    def __init__(
        self,
        app: ASGIApp,
        max_bytes: int,
        read_timeout_s: float,
        larger: Mapping[str, int],
        streamed: str,
        most_incomplete: int,
    ) -> None:
        self.app = app
        self.max_bytes = max_bytes
        self.read_timeout_s = read_timeout_s
        self.larger = larger
        self.streamed = streamed
        self.most_incomplete = most_incomplete
        self.incomplete: dict[Body, asyncio.Timeout] = {}
        self._streams = 0

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http" or not _may_have_body(scope):
            await self.app(scope, receive, send)
            return
        headers = Headers(scope=scope)
        limit = self.larger.get(scope["path"], self.max_bytes)
        is_streamed = scope["path"] in self.larger and body_type(headers) == self.streamed
        body = Body(self, scope, receive, send, math.inf if is_streamed else limit, is_streamed)
        announced = headers.get("content-length", "0")
        refused = None
        if announced.isdecimal() and int(announced) > body.limit:
            refused = _too_large(limit)
        elif is_streamed and self._streams >= self.most_incomplete // 2:
            refused = Refused("busy", BUSY)
        self._streams += is_streamed
        try:
            answer = problem_response(refused.problem(scope)) if refused else self.app
            await answer(scope, body.receive, body.send)
        finally:
            self._streams -= is_streamed
            self.incomplete.pop(body, None)


class Body:
    """The body of one request, while it comes in and while it is answered."""

    def __init__(
        self, limits: BodyLimit, scope: Scope, receive: Receive, send: Send, limit: float, is_streamed: bool
    ) -> None:
        self.limit = limit
        self.is_refused = False
        self._limits = limits
        self._scope = scope
        self._receive = receive
        self._send = send
        self._is_streamed = is_streamed
        self._is_whole = False
        self._read = 0
        self._now = asyncio.get_running_loop().time
        self._deadline = self._now() + limits.read_timeout_s

    async def receive(self) -> Message:
        """The next piece.

        Errors: Refused, when it does not come in time or too much has come.
        """
        if self._is_whole:  # What may still come is the disconnect.
            return await self._receive()
        if self._is_streamed:
            self._deadline = self._now() + self._limits.read_timeout_s
        try:
            async with asyncio.timeout_at(self._deadline) as timeout:
                if not self._is_streamed:
                    self._limits.incomplete[self] = timeout
                    self._make_room()
                message = await self._receive()
        except TimeoutError:
            self._deadline = 0.0
            raise Refused("request-too-slow", self._why_too_slow()) from None
        self._is_whole = not message.get("more_body")
        if self._is_whole:
            self._limits.incomplete.pop(self, None)
        self._read += len(message.get("body", b""))
        if self._read > self.limit:
            raise _too_large(int(self.limit))
        return message

    def _make_room(self) -> None:
        incomplete = self._limits.incomplete
        if len(incomplete) > self._limits.most_incomplete:
            slowest = next(iter(incomplete))
            slowest.is_refused = True
            if not (timeout := incomplete.pop(slowest)).expired():
                timeout.reschedule(0.0)

    def _why_too_slow(self) -> str:
        if not self.is_refused:
            return f"The body was not complete within {self._limits.read_timeout_s:g} s."
        self._scope["record"].is_logged = False
        detail = "Too many bodies are incomplete, and this one has been for longest."
        log.warning(detail)
        return detail

    async def send(self, message: Message) -> None:
        """Send a part of the answer; one that begins before its body is whole is the last of the connection.

        It is sent without delay, but ended only when the body has ended or its time is over: what is still coming when
        a connection is closed would have the answer lost.
        """
        if self._is_whole:
            await self._send(message)
        elif message["type"] == "http.response.start":
            await self._send({**message, "headers": [*message["headers"], (b"connection", b"close")]})
        elif message.get("more_body"):
            await self._send(message)
        else:
            await self._send({**message, "more_body": True})
            await self._drop_the_rest()
            await self._send({"type": "http.response.body", "body": b""})

    async def _drop_the_rest(self) -> None:
        self.limit, self._is_streamed = math.inf, False
        try:
            while not self._is_whole and self._now() < self._deadline:
                await self.receive()
        except Refused:
            return


def _may_have_body(scope: Scope) -> bool:
    return scope["method"] not in ("GET", "OPTIONS") or any(name in FRAMING for name, _ in scope["headers"])


def _too_large(limit: int) -> Refused:
    return Refused("body-too-large", f"The body may hold at most {limit} bytes.")
