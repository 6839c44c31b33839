"""Strong entity tags: a GET that would send the same bytes again answers 304 instead."""

import hashlib
import sys
import zlib
from functools import cache
from pathlib import Path

from starlette.datastructures import MutableHeaders
from starlette.types import ASGIApp, Message, Receive, Scope, Send

SOURCES = Path(__file__).resolve().parents[2]
PACKAGES = (SOURCES / "api", SOURCES / "knowledge")
KEPT_WHEN_NOT_MODIFIED = {b"content-location", b"etag", b"vary"}


class EntityTags:
    """Tags each complete 200 response to a GET that has no tag yet with a hash of the bytes that are sent.

    It stands outside of the compression, so that each coding has a tag of its own.
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
            if message["type"] == "http.response.start" and message["status"] in (200, 304):
                start = message
                return
            if start is not None:
                head, start = start, None
                if not message.get("more_body"):
                    head, message = _tagged(head, message, tags_known(scope))
                await send(head)
            await send(message)

        await self.app(scope, receive, send_tagged)


def _tagged(head: Message, body: Message, known: set[str]) -> tuple[Message, Message]:
    """A response with its tag, or the 304 in its place; both say that the tag is that of one coding."""
    present = MutableHeaders(raw=[*head["headers"]])
    tag = present.setdefault("etag", f'"{hashlib.sha256(body.get("body", b"")).hexdigest()[:32]}"')
    if "accept-encoding" not in ", ".join(present.getlist("vary")).lower():
        present.add_vary_header("Accept-Encoding")
    if head["status"] == 200 and known.isdisjoint({tag, "*"}):
        return {**head, "headers": present.raw}, body
    kept = [(name, value) for name, value in present.raw if name in KEPT_WHEN_NOT_MODIFIED]
    return {**head, "status": 304, "headers": kept}, {**body, "body": b""}


def tags_known(scope: Scope) -> set[str]:
    """What a request has in its If-None-Match; weak and strong tags compare alike there (RFC 9110, 13.1.2)."""
    given = b",".join(value for name, value in scope["headers"] if name == b"if-none-match").decode("latin-1")
    return {part.strip().removeprefix("W/") for part in given.split(",")}


@cache
def build_of_program() -> str:
    """What changes with every file of this program, and with every library that it runs on."""
    sums = hashlib.sha256(f"{sys.version} {zlib.ZLIB_RUNTIME_VERSION}".encode())
    libraries = {folder.name for path in sys.path for folder in Path(path).glob("*.dist-info")}
    sums.update(" ".join(sorted(libraries)).encode())
    for package in PACKAGES:
        for file in sorted(path for path in package.rglob("*") if path.is_file() and path.suffix != ".pyc"):
            sums.update(f"{file.relative_to(package.parent)} {hashlib.sha256(file.read_bytes()).hexdigest()}".encode())
    return sums.hexdigest()
