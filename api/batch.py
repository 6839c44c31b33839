"""Many fill questions in one request, each answered or refused by itself and in order.

A JSON list is read whole; lines are answered while more of them come in.
"""

import asyncio
import logging
from collections.abc import AsyncIterable, AsyncIterator, Callable, Sequence
from typing import Any, NamedTuple

import anyio
from fastapi.responses import StreamingResponse
from pydantic import BaseModel, Field, SkipValidation
from pydantic_core import to_json
from starlette.types import Receive, Scope, Send

from api.http.handlers import QUESTION_ERRORS, refusal, validated
from api.http.lanes import Lane
from api.http.of_shop import refuse_of_shop
from api.http.problems import KINDS, Problem, Refused, problem
from api.http.strict_route import read_json
from api.permalink import linked
from api.wording import is_none
from knowledge.base import KnowledgeBase
from knowledge.box.axes import takes_long
from knowledge.box.question import FillQuestion
from knowledge.fill.answer import FillAnswer, FullFillAnswer
from knowledge.fill.compute import compute_fill_answer
from knowledge.parts.provenance import KnowledgeStamp
from knowledge.parts.request_model import Detail, RequestModel
from knowledge.shop.shop import Shop

log = logging.getLogger("fillwright")

LINES = "application/x-ndjson"
MOST_QUESTIONS = 500
# 4 kB for each question; most have a few hundred bytes.
MOST_BYTES = 2_000_000
LONGEST_KEY = 100
# A client that sends all of its lines before it reads a result may send so many bytes.
READ_AHEAD_BYTES = 8_000_000
SLICE_BYTES = 4096
# A new connection is accepted, read and answered in as many turns of the event loop.
TURNS_FOR_OTHERS = 6
# Blank lines cost little each, but there may be many of them.
LINES_AT_ONCE = 1000


class BatchQuestion(FillQuestion):
    """A fill question with the caller's own key."""

    key: str | None = Field(None, max_length=LONGEST_KEY, description="Your own name for the item; its result has it.")


class FillBatch(RequestModel):
    """Many fill questions; a wrong one is refused in its own result and leaves the others alone."""

    questions: tuple[SkipValidation[BatchQuestion | Any], ...] = Field(
        description=f"At most {MOST_QUESTIONS} fill questions.", json_schema_extra={"maxItems": MOST_QUESTIONS}
    )


class BatchResult(BaseModel):
    """The result of one question of a batch: what `POST /v1/fill` answers to it."""

    index: int = Field(description="Place of the question, from 0; among lines every line counts, blank ones too.")
    key: str | None = Field(None, description="The key of the item, null where it has none.")
    status: int = Field(description="The status that the question would get by itself.")
    answer: FullFillAnswer | FillAnswer | None = Field(
        None, description="The answer; there is one when the status is 200.", exclude_if=is_none
    )
    problem: Problem | None = Field(
        None, description="Why it has no answer; pointers start at the question.", exclude_if=is_none
    )


class BatchAnswer(BaseModel):
    """The results of a batch, in the order of its questions."""

    knowledge: KnowledgeStamp
    results: tuple[BatchResult, ...]


def in_lines(model: str) -> dict[str, Any]:
    """How OpenAPI tells of lines that each hold a model; its version 3.1 has no word for them, 3.2 has `itemSchema`."""
    told = f"One `{model}` a line, as JSON in UTF-8; each line ends with a line feed."
    return {
        "schema": {"type": "string", "format": "binary", "description": told},
        "x-itemSchema": {"$ref": f"#/components/schemas/{model}"},
    }


class Batch(NamedTuple):
    """What the questions of one batch are answered from."""

    base: KnowledgeBase
    shop: Callable[[], Shop]
    lane: Lane
    scope: Scope
    max_bytes: int
    detail: Detail

    async def result(self, index: int, given: Any) -> BatchResult:
        """The result of one item: a JSON value, or the bytes of a line."""
        for _ in range(TURNS_FOR_OTHERS):
            await asyncio.sleep(0)
        key = None
        try:
            if isinstance(given, bytes):
                if len(given) > self.max_bytes:
                    raise Refused("body-too-large", f"A line may hold at most {self.max_bytes} bytes.")
                given = read_json(given)
            if self.scope["app"].state.settings.public:
                refuse_of_shop(given, "body")
            if isinstance(given, dict) and "key" in given:
                key = validated(BatchQuestion, {"key": given["key"]}).key
                given = {name: value for name, value in given.items() if name != "key"}
            return BatchResult(index=index, key=key, status=200, answer=await self._answer(given))
        except (Refused, *QUESTION_ERRORS) as error:
            found = refusal(error, "body", lambda _: BatchQuestion).problem(self.scope)
        except Exception:
            log.exception("fault while answering", extra={"fields": {"request_id": self.scope["request_id"]}})
            found = problem("internal", KINDS["internal"].meaning, self.scope)
        return BatchResult(index=index, key=key, status=found.status, problem=found)

    async def _answer(self, given: Any) -> FillAnswer:
        question = validated(FillQuestion, given)
        if takes_long(question):
            answer = await self.lane.run(compute_fill_answer, question, self.base, self.shop(), self.detail)
        else:
            answer = compute_fill_answer(question, self.base, self.shop(), self.detail)
        return linked(answer, self.scope["address"])

    async def of_list(self, questions: Sequence[Any]) -> BatchAnswer:
        """The results of a list of questions."""
        results = [await self.result(index, question) for index, question in enumerate(questions)]
        return BatchAnswer(knowledge=self.base.stamp, results=tuple(results))

    async def of_lines(self, pieces: AsyncIterable[bytes]) -> AsyncIterator[bytes]:
        """A line of result for each line of question; blank lines have none.

        Where the lines end in a refusal, such as a timeout, the last line tells it.
        """
        index = 0
        try:
            async for line in lines(pieces, self.max_bytes):
                if line.strip(b" \t\r"):
                    yield to_json(await self.result(index, line)) + b"\n"
                elif index % LINES_AT_ONCE == 0:
                    await asyncio.sleep(0)
                index += 1
        except Refused as error:
            told = BatchResult(index=index, status=error.status_code, problem=error.problem(self.scope))
            yield to_json(told) + b"\n"


def questions(body: bytes) -> Sequence[Any]:
    """The questions of a batch that is sent as one JSON object, not yet validated.

    Errors: Refused, when it is no batch or holds too many; RequestValidationError.
    """
    found = validated(FillBatch, read_json(body, allow_inf_nan=True)).questions  # Each item is told of its own.
    if len(found) > MOST_QUESTIONS:
        detail = f"A batch in JSON may hold at most {MOST_QUESTIONS} questions. Send more as {LINES}."
        raise Refused("batch-too-large", detail)
    return found


async def lines(pieces: AsyncIterable[bytes], longest: int) -> AsyncIterator[bytes]:
    """The lines of a text that comes in pieces; of a line longer than `longest` its beginning, one byte too long."""
    line = bytearray()
    async for piece in pieces:
        first, *others = piece.split(b"\n")
        line += first
        for other in others:
            yield bytes(line[: longest + 1])
            line[:] = other
        del line[longest + 1 :]
    if line:
        yield bytes(line)


class LinesResponse(StreamingResponse):
    """Results that leave while questions still come in.

    The body is read ahead of the work, so that a client may send some megabytes before it reads the first result, and
    a disconnect stops the work. One that sends more and reads nothing within the timeout is answered what was read
    ahead and then refused; the rest of its body is dropped, so that it can end sending.
    """

    media_type = LINES

    def __init__(self, batch: Batch, read_timeout_s: float) -> None:
        self._read_timeout_s = read_timeout_s
        self._ahead, self._waiting = anyio.create_memory_object_stream[bytes](READ_AHEAD_BYTES // SLICE_BYTES)
        self._refused: Refused | None = None
        self._sent = 0
        super().__init__(self._counted(batch.of_lines(self._pieces())))

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer until the end or until the client disconnects, whichever comes first."""
        with self._ahead, self._waiting:
            async with anyio.create_task_group() as group:

                async def respond() -> None:
                    await self.stream_response(send)
                    group.cancel_scope.cancel()

                group.start_soon(respond)
                try:
                    await self._read(receive)
                except Refused as error:
                    self._end_with(error)
                    await anyio.sleep_forever()
                group.cancel_scope.cancel()

    async def _read(self, receive: Receive) -> None:
        """Take in the body; when that is complete, wait for the disconnect."""
        while (message := await receive())["type"] == "http.request":
            body = message.get("body", b"")
            for start in range(0, len(body), SLICE_BYTES):
                await self._read_ahead(body[start : start + SLICE_BYTES])
            if not message.get("more_body"):
                self._ahead.close()

    async def _read_ahead(self, piece: bytes) -> None:
        """Keep a piece until it is answered; where too many wait, as long as results are read meanwhile."""
        while self._refused is None:
            sent = self._sent
            with anyio.move_on_after(self._read_timeout_s):
                await self._ahead.send(piece)
                return
            if self._sent == sent:
                detail = "Too much was sent before a result was read; read while you send."
                self._end_with(Refused("body-too-large", detail))

    def _end_with(self, error: Refused) -> None:
        self._refused = error
        self._ahead.close()

    async def _pieces(self) -> AsyncIterator[bytes]:
        async for piece in self._waiting:
            yield piece
        if self._refused is not None:
            raise self._refused

    async def _counted(self, results: AsyncIterator[bytes]) -> AsyncIterator[bytes]:
        async for result in results:
            yield result
            self._sent += 1
