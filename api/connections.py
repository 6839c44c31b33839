"""Connections that neither a slow nor a broken client can hold, and that a stop does not cut off.

The server's own connection waits for the head of a request for as long as the client likes, refuses what is no HTTP in
plain text, and when the server stops closes what it takes for idle, requests on their way included.
"""

import asyncio
import logging
import socket
import sys
import uuid
from collections.abc import Callable
from http import HTTPStatus

import h11
from starlette.types import Scope
from uvicorn.protocols.http.flow_control import CLOSE_HEADER
from uvicorn.protocols.http.h11_impl import H11Protocol

from api.middleware import POLICY, SECURITY_HEADERS
from api.problems import KINDS, problem
from api.settings import MAX_HEAD_BYTES

log = logging.getLogger("fillwright")

# Long enough for a request on its way to arrive and for a refused client to read why; nobody waits for it otherwise.
LINGER_S = 1.0
# All that is read at once is parsed at once, and 256 KiB of one-byte chunks would hold up others for a second.
READ_AT_ONCE = 4096


def caller_is_gone(scope: Scope) -> bool:
    """Whether the caller is known to have gone; other servers do not say so."""
    return scope.get("state", {}).get("caller_is_gone", False)


class Connection(H11Protocol):
    """One client's connection; the server's time for keeping an idle one is also that for the head of a request."""

    def connection_made(self, transport: asyncio.Transport) -> None:
        """Begin to wait for a request."""
        super().connection_made(transport)
        # Of what a client gets wrong the server would warn in a line beside that of the request.
        self.logger = log.getChild("connection")
        if hasattr(transport, "max_size"):
            transport.max_size = READ_AT_ONCE
        self._is_refused = False
        self._deadline = self.loop.call_later(self.timeout_keep_alive, self._give_up)
        if self._is_stopping:
            self.shutdown()
        if hasattr(socket, "TCP_USER_TIMEOUT"):
            # The system itself ends a connection whose client takes nothing of its answer for as long.
            patience_ms = int(self.timeout_keep_alive * 1000)
            transport.get_extra_info("socket").setsockopt(socket.IPPROTO_TCP, socket.TCP_USER_TIMEOUT, patience_ms)

    def connection_lost(self, exc: Exception | None) -> None:
        """Nobody is there to be waited for; an application that is not reading the body can see it in its scope."""
        self._deadline.cancel()
        super().connection_lost(exc)
        if self._is_answering:
            self.cycle.scope["state"]["caller_is_gone"] = True

    def data_received(self, data: bytes) -> None:
        """Read on, unless all has been said; empty lines before a request are passed over (RFC 9112, 2.2)."""
        if self.conn.their_state is h11.IDLE and data[:1] in (b"\r", b"\n") and not self.conn.trailing_data[0]:
            data = data.lstrip(b"\r\n")
        if data and not self._is_refused:
            super().data_received(data)

    def handle_events(self) -> None:
        """A whole head has come: from here on the application says how long it waits."""
        super().handle_events()
        if self._is_answering:
            self._deadline.cancel()
            self.cycle.scope["state"]["hang_up"] = self._hang_up
            if self._is_stopping:
                self._close_after_answer()

    def on_response_complete(self) -> None:
        """Wait for the next request; what is left of the body of this one must come within the same time."""
        self._wait(self.timeout_keep_alive, self._give_up)
        super().on_response_complete()

    def shutdown(self) -> None:
        """Answer what has come and what is on its way, then close."""
        self.app_state["is_stopping"] = True
        if self._is_answering:
            self._close_after_answer()
        else:
            self._wait(LINGER_S, self.transport.close)

    def send_400_response(self, msg: str) -> None:
        """What came is no HTTP, or too much of it."""
        if getattr(sys.exception(), "error_status_hint", 400) == KINDS["head-too-large"].status:
            self._refuse("head-too-large", f"Address and headers may hold at most {MAX_HEAD_BYTES} bytes.")
        else:
            self._refuse(None, "This cannot be read as HTTP.")

    @property
    def _is_stopping(self) -> bool:
        return "is_stopping" in self.app_state

    @property
    def _is_answering(self) -> bool:
        return self.cycle is not None and not self.cycle.response_complete

    def _close_after_answer(self) -> None:
        if self.cycle.keep_alive:
            self.cycle.default_headers = [*self.cycle.default_headers, CLOSE_HEADER]
            super().shutdown()

    def _hang_up(self) -> None:
        """Break off an answer that has begun, so that nobody takes it for whole."""
        self.cycle.disconnected = True
        self.transport.close()

    def _give_up(self) -> None:
        has_begun, _ = self.conn.trailing_data
        if has_begun:
            self._refuse("request-too-slow", f"The head of a request must come within {self.timeout_keep_alive} s.")
        else:
            self.transport.close()

    def _refuse(self, slug: str | None, detail: str) -> None:
        """Say why, and close a little later: what still comes is dropped, lest the client be cut off."""
        self._is_refused = True
        if self._is_answering:
            self.cycle.disconnected = True
            self.cycle.message_event.set()
        if self.conn.our_state not in (h11.IDLE, h11.SEND_RESPONSE):
            self.transport.close()
            return
        request_id = str(uuid.uuid4())
        headers = {
            **SECURITY_HEADERS,
            "Content-Security-Policy": POLICY,
            "Cache-Control": "no-store",
            "Knowledge-Version": self.app_state["knowledge_version"],
            "Request-Id": request_id,
            "Connection": "close",
        }
        scope = {"fillwright.request_id": request_id}
        response = problem(scope, slug, detail, status=None if slug else 400, headers=headers)
        status = HTTPStatus(response.status_code)
        log.info("request", extra={"fields": {"request_id": request_id, "status": status, "route": None}})
        head = h11.Response(status_code=status, headers=response.raw_headers, reason=status.phrase.encode())
        for event in (head, h11.Data(data=response.body), h11.EndOfMessage()):
            self.transport.write(self.conn.send(event))
        self.transport.write_eof()
        self._wait(LINGER_S, self.transport.close)

    def _wait(self, seconds: float, then: Callable[[], None]) -> None:
        self._deadline.cancel()
        self._deadline = self.loop.call_later(seconds, then)
