"""Strong entity tags: a GET that would send the same bytes again answers 304 instead."""

import hashlib

from starlette.types import ASGIApp, Message, Receive, Scope, Send

KEPT_WHEN_NOT_MODIFIED = {b"content-location", b"etag", b"vary"}


class EntityTags:
    """Tags each complete 200 response to a GET with a hash of the bytes that are sent.

    It stands outside of the compression, so that each coding has a tag of its own. A tag made of versions would call
    an answer unchanged after an edit of the code that forgot its number.
    """

    def __init__(self, app: ASGIApp) -> None:
        self.app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http" or scope["method"] != "GET":
            await self.app(scope, receive, send)
            return
        start: Message | None = None

        async def send_tagged(message: Message) -> None:
            nonlocal start
            if message["type"] == "http.response.start" and message["status"] == 200:
                start = message
                return
            if start is not None:
                head, start = start, None
                if not message.get("more_body"):
                    asked = [value for name, value in scope["headers"] if name == b"if-none-match"]
                    head, message = _tagged(head, message, b",".join(asked).decode("latin-1"))
                await send(head)
            await send(message)

        await self.app(scope, receive, send_tagged)


def _tagged(head: Message, body: Message, if_none_match: str) -> tuple[Message, Message]:
    """A response with its tag, or the 304 in its place."""
    tag = f'"{hashlib.sha256(body.get("body", b"")).hexdigest()[:32]}"'
    headers = [*head["headers"], (b"etag", tag.encode())]
    if not (if_none_match and is_match(if_none_match, tag)):
        return {**head, "headers": headers}, body
    kept = [(name, value) for name, value in headers if name in KEPT_WHEN_NOT_MODIFIED]
    return {**head, "status": 304, "headers": kept}, {**body, "body": b""}


def is_match(if_none_match: str, tag: str) -> bool:
    """Whether an If-None-Match header names this tag; weak and strong compare alike there (RFC 9110, 13.1.2)."""
    tags = {part.strip().removeprefix("W/") for part in if_none_match.split(",")}
    return "*" in tags or tag in tags
