"""Strong entity tags: a GET that would send the same bytes again answers 304 instead."""

import hashlib

from starlette.datastructures import Headers, MutableHeaders
from starlette.types import ASGIApp, Message, Receive, Scope, Send

KEPT_WHEN_NOT_MODIFIED = {"cache-control", "content-location", "date", "etag", "expires", "vary"}


class EntityTags:
    """Tags each complete 200 answer to a GET with a hash of its bytes.

    The bytes and not the version of the knowledge are hashed: a tag made of versions would call an
    answer unchanged after an edit of the code that forgot its number.
    """

    def __init__(self, app: ASGIApp) -> None:
        self.app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http" or scope["method"] != "GET":
            await self.app(scope, receive, send)
            return
        asked = ",".join(Headers(scope=scope).getlist("if-none-match"))
        start: Message | None = None

        async def send_tagged(message: Message) -> None:
            nonlocal start
            if message["type"] == "http.response.start":
                if message["status"] == 200 and "etag" not in MutableHeaders(scope=message):
                    start = message
                    return
            elif start is not None:
                await _send_with_tag(start, message, asked, send)
                start = None
                return
            await send(message)

        await self.app(scope, receive, send_tagged)


async def _send_with_tag(start: Message, body: Message, asked: str, send: Send) -> None:
    """Send the head that was held back and the first piece of the body; a body in pieces gets no tag."""
    if not body.get("more_body"):
        headers = MutableHeaders(scope=start)
        kind = headers.get("content-type", "").encode("latin-1")
        headers["ETag"] = tag = f'"{hashlib.sha256(kind + b" " + body.get("body", b"")).hexdigest()[:32]}"'
        if is_match(asked, tag):
            kept = [(name, value) for name, value in start["headers"] if name.decode() in KEPT_WHEN_NOT_MODIFIED]
            start, body = {**start, "status": 304, "headers": kept}, {**body, "body": b""}
    await send(start)
    await send(body)


def is_match(asked: str, tag: str) -> bool:
    """Whether an If-None-Match header names this tag; weak and strong compare alike there (RFC 9110, 13.1.2)."""
    tags = {part.strip().removeprefix("W/") for part in asked.split(",")}
    return "*" in tags or tag in tags
