"""Many questions in one request: each is put to `POST /v1/fill` inside of this process.

So the result of a question cannot differ from what it gets by itself, problems included.
"""

import asyncio
from collections.abc import AsyncIterable, AsyncIterator

import anyio
from fastapi.responses import StreamingResponse
from pydantic import BaseModel, Field
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from api.batch_reading import LINES, lines
from api.connections import caller_is_gone
from api.middleware import BodyLimit, CatchAll
from api.problems import Problem
from api.routes.fill import router as fill_router
from knowledge.fill.answer import FillAnswer
from knowledge.parts.provenance import KnowledgeStamp

FILL = next(route for route in fill_router.routes if route.name == "fill")
# A new connection is accepted, read and answered in as many turns of the event loop.
TURNS_FOR_OTHERS = 6
PIECES_READ_AHEAD = 32
# Blank lines cost little each, but there may be tens of thousands in a piece.
LINES_AT_ONCE = 1000


class BatchResult(BaseModel):
    """What one question of a batch came to: what `POST /v1/fill` says to it."""

    index: int = Field(description="Place of the question, from 0; among lines every line counts, blank ones too.")
    status: int = Field(description="The status that the question would get by itself.")
    answer: FillAnswer | None = Field(None, description="There when the status is 200.")
    problem: Problem | None = Field(None, description="There when it is not; pointers start at the question.")


class BatchAnswer(BaseModel):
    """The results of a batch, in the order of its questions."""

    knowledge: KnowledgeStamp
    results: tuple[BatchResult, ...]


class Asking:
    """Puts the questions of one batch to `POST /v1/fill`, one after the other."""

    def __init__(self, scope: Scope, most_bytes: int) -> None:
        self._scope = {**scope, "route": FILL, "headers": [(b"content-type", b"application/json")]}
        self._fill: ASGIApp = CatchAll(BodyLimit(FILL.app, most_bytes))
        self._most_bytes = most_bytes

    async def of_lines(self, pieces: AsyncIterable[bytes]) -> AsyncIterator[bytes]:
        """A line of result for each line of question; blank lines have none."""
        index = 0
        async for line in lines(pieces, self._most_bytes):
            if caller_is_gone(self._scope):
                return
            if line.strip(b" \t\r") or len(line) > self._most_bytes:
                yield await self._result(index, line) + b"\n"
            index += 1
            if index % LINES_AT_ONCE == 0:
                await asyncio.sleep(0)

    async def of_list(self, questions: list[bytes], stamp: KnowledgeStamp) -> AsyncIterator[bytes]:
        """A `BatchAnswer`, piece by piece."""
        yield b'{"knowledge":%b,"results":[' % stamp.model_dump_json().encode()
        for index, question in enumerate(questions):
            yield (b"," if index else b"") + await self._result(index, question)
        yield b"]}"

    async def _result(self, index: int, question: bytes) -> bytes:
        sent: list[Message] = []

        async def receive() -> Message:
            return {"type": "http.request", "body": question}

        async def send(message: Message) -> None:
            sent.append(message)

        for _ in range(TURNS_FOR_OTHERS):
            await asyncio.sleep(0)
        await self._fill({**self._scope}, receive, send)
        status = sent[0]["status"]
        body = b"".join(message.get("body", b"") for message in sent)
        return b'{"index":%d,"status":%d,"%b":%b}' % (index, status, b"answer" if status == 200 else b"problem", body)


class LinesResponse(StreamingResponse):
    """Results that leave while questions still come in.

    The body is read a few pieces ahead of the work: a caller who goes away is told in place of the next piece, and
    one who sends some megabytes before taking the first result is not stuck. One who takes none is read no further.
    """

    media_type = LINES

    def __init__(self, asking: Asking) -> None:
        self._ahead: asyncio.Queue[bytes | None] = asyncio.Queue(PIECES_READ_AHEAD)
        super().__init__(asking.of_lines(self._pieces()))

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer until the end or until the caller has gone, whichever comes first."""
        async with anyio.create_task_group() as group:

            async def respond() -> None:
                await self.stream_response(send)
                group.cancel_scope.cancel()

            group.start_soon(respond)
            await self._read(receive)
            group.cancel_scope.cancel()

    async def _read(self, receive: Receive) -> None:
        """Take in the body; when that is complete, wait for the caller to go away."""
        while (message := await receive())["type"] == "http.request":
            await self._ahead.put(message.get("body", b""))
            if not message.get("more_body"):
                await self._ahead.put(None)

    async def _pieces(self) -> AsyncIterator[bytes]:
        while (piece := await self._ahead.get()) is not None:
            yield piece
            await asyncio.sleep(0)  # Pieces without the end of a line hold up nobody either.
