"""The questions in the body of a batch, each as the bytes that it would be sent in by itself."""

import json
import re
from collections.abc import AsyncIterable, AsyncIterator
from typing import Any

from fastapi.concurrency import run_in_threadpool
from pydantic import Field, ValidationError

from api.handlers import invalid
from api.problems import Refused
from api.strict_route import read_json
from knowledge.box.question import FillQuestion
from knowledge.parts.request_model import RequestModel

LINES = "application/x-ndjson"
MOST_QUESTIONS = 500
# 4 kB for each question; most have a few hundred bytes.
MOST_BYTES = 2_000_000
# Lists and objects in a body that is no batch; more are not read for what is wrong, which nothing could interrupt.
MOST_PARTS = 50_000

SPACE = rb"[ \t\r\n]*"
TEXT = rb'"(?:[^"\\]|\\.)*+"?'
OPENING = re.compile(rb"%b\{%b(%b)%b:%b\[" % (SPACE, SPACE, TEXT, SPACE, SPACE), re.DOTALL)
CLOSING = re.compile(rb"%b\}%b" % (SPACE, SPACE))
MARK = re.compile(rb"%b|[\[\]{},]" % TEXT, re.DOTALL)


class FillBatch(RequestModel):
    """Many fill questions; a wrong one is told in its own result and leaves the others alone."""

    questions: tuple[FillQuestion | Any, ...] = Field(
        description=f"At most {MOST_QUESTIONS} fill questions.", json_schema_extra={"maxItems": MOST_QUESTIONS}
    )


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


async def questions(pieces: AsyncIterable[bytes]) -> list[bytes]:
    """The text of each question of a batch that is sent as one JSON object.

    Errors: Refused, when it is too large or no batch.
    """
    body = bytearray()
    async for piece in pieces:
        body += piece
        if len(body) > MOST_BYTES:
            raise _too_large(f"{MOST_BYTES} bytes")
    # Beside the event loop: many brackets take a second, in which others are answered.
    found = await run_in_threadpool(entries, bytes(body), MOST_QUESTIONS)
    if found is None:
        raise await run_in_threadpool(_not_a_batch, bytes(body))
    if len(found) > MOST_QUESTIONS:
        raise _too_large(f"{MOST_QUESTIONS} questions")
    return found


def entries(body: bytes, most: int) -> list[bytes] | None:
    """The text of each question in `{"questions": [...]}`, one too many where there are more than `most`.

    None where the body is anything else. It is cut at its brackets and commas and not parsed, so that one question
    which cannot be read leaves the others alone.
    """
    opening = OPENING.match(body)
    if opening is None or not _is_name(opening[1]):
        return None
    found, depth, begun = [], 0, opening.end()
    for mark in MARK.finditer(body, begun):
        depth += {b"[": 1, b"{": 1, b"]": -1, b"}": -1}.get(mark[0], 0)
        if depth < 0 or (depth == 0 and mark[0] == b","):
            found.append(body[begun : mark.start()].strip(b" \t\r\n"))
            begun = mark.end()
        if len(found) > most:
            return found
        if depth < 0:
            found = [] if found == [b""] else found
            return found if CLOSING.fullmatch(body, begun) and all(found) else None
    return None


def _is_name(text: bytes) -> bool:
    try:
        return json.loads(text) == "questions"
    except ValueError:
        return False


def _too_large(most: str) -> Refused:
    return Refused("batch-too-large", f"A batch in JSON may hold at most {most}. Send more as {LINES}.")


def _not_a_batch(body: bytes) -> Refused:
    misshapen = Refused("malformed-json", 'Write the batch as {"questions": [...]}.')
    if body.count(b"[") + body.count(b"{") > MOST_PARTS:
        return misshapen
    value = read_json(body)
    if isinstance(value, dict) and isinstance(value.get("questions"), list):
        if len(value["questions"]) > MOST_QUESTIONS:
            return _too_large(f"{MOST_QUESTIONS} questions")
        # They are not what is wrong.
        value["questions"] = []
    try:
        FillBatch.model_validate(value)
    except ValidationError as error:
        found = [{**item, "loc": ("body", *item["loc"])} for item in error.errors(include_url=False)]
        return invalid(found, lambda _: FillBatch)
    return misshapen
