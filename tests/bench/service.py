"""What the service costs over HTTP, as ratios of one run: `python tests/bench/service.py [SECONDS]`.

Real servers on this machine, each asked over kept connections for so many seconds (3 unless given). The bare route is a
FastAPI application of one function under the same server. Where the machine is busy with other things too, trust the
column of answers for each second of CPU that the server used; two workers are compared by the clock.
"""

import asyncio
import itertools
import json
import re
import sys
import time
from collections.abc import Iterator
from typing import NamedTuple
from urllib.request import urlopen

from real_server import Server, serving
from stated_box import STATED

from knowledge.box.question import FillQuestion, link_query

CALLERS = 16
LINES_OF_BATCH = 50
LINES_OF_LONG_BATCH = 2000
BARE = """
import uvicorn
from fastapi import FastAPI
from pydantic import BaseModel
class Health(BaseModel):
    status: str
app = FastAPI()
@app.get("/healthz")
async def healthz() -> Health:
    return Health(status="ok")
uvicorn.run(app, port=0, access_log=False)
"""
HEALTH = b"GET /healthz HTTP/1.1\r\nHost: localhost\r\n\r\n"
OURS = ("-m", "api", "--port", "0")
LINK = link_query(FillQuestion.model_validate(STATED))
FILL = ("/v1/fill", "application/json")
BATCH = ("/v1/fill/batch", "application/x-ndjson")


class Rate(NamedTuple):
    """Answers by the clock, and for each second of CPU of the processes that answer."""

    a_second: float
    a_core_second: float


def posts(path: str, kind: str, count: int = 1) -> Iterator[bytes]:
    """Requests of so many stated questions each, whose temperatures were never asked before."""
    numbers = itertools.count()
    while True:
        steps = itertools.islice(numbers, count)
        parts = ({"coldest_start_c": -30 + step % 4201 / 123, "sump_hot_c": 70 + step % 3001 / 61} for step in steps)
        body = b"\n".join(json.dumps(STATED | part).encode() for part in parts)
        head = f"POST {path} HTTP/1.1\r\nHost: localhost\r\nContent-Type: {kind}\r\nContent-Length: {len(body)}\r\n\r\n"
        yield head.encode() + body


def gets(tag: str = "") -> Iterator[bytes]:
    """The stated question as a link, with the tag of its answer where that is known."""
    known = f"If-None-Match: {tag}\r\n" * bool(tag)
    return itertools.repeat(f"GET /v1/fill?{LINK} HTTP/1.1\r\nHost: localhost\r\n{known}\r\n".encode())


async def read(reader: asyncio.StreamReader) -> None:
    """One answer to its end."""
    head = await reader.readuntil(b"\r\n\r\n")
    if head.startswith(b"HTTP/1.1 304"):
        return
    assert head.startswith(b"HTTP/1.1 200"), head
    if found := re.search(rb"content-length: (\d+)", head):
        await reader.readexactly(int(found[1]))
        return
    while (size := int(await reader.readuntil(b"\r\n"), 16)) > 0:
        await reader.readexactly(size + 2)
    await reader.readexactly(2)


async def answered(server: Server, requests: Iterator[bytes], seconds: float, callers: int = 1) -> int:
    """How many of these requests are answered, to several callers who ask one after the other."""
    end, count = time.perf_counter() + seconds, 0

    async def call() -> None:
        nonlocal count
        reader, writer = await asyncio.open_connection("127.0.0.1", server.address.rpartition(":")[2], limit=1 << 20)
        while True:
            writer.write(next(requests))
            await read(reader)
            count += 1
            if time.perf_counter() >= end:
                break
        writer.close()

    await asyncio.gather(*(call() for _ in range(callers)))
    return count


def rate(server: Server, requests: Iterator[bytes], seconds: float, each: int = 1) -> Rate:
    """How fast these requests of so many questions each are answered."""
    cpu, clock = server.cpu_s(), time.perf_counter()
    count = each * asyncio.run(answered(server, requests, seconds, CALLERS))
    return Rate(count / (time.perf_counter() - clock), count / max(server.cpu_s() - cpu, 0.01))


async def health_beside_a_batch_ms(server: Server) -> float:
    """The longest wait for /healthz while a batch runs, in milliseconds."""
    batch = asyncio.create_task(answered(server, posts(*BATCH, LINES_OF_LONG_BATCH), 0))
    waits = []
    while not batch.done():
        begun = time.perf_counter()
        await answered(server, itertools.repeat(HEALTH), 0)
        waits.append(time.perf_counter() - begun)
        await asyncio.sleep(0.05)
    await batch
    return max(waits) * 1000


def show(name: str, value: Rate, of: str = "", by: Rate | None = None) -> None:
    """One row of the table."""
    ratio = f"{value.a_second / by.a_second:6.2f}{value.a_core_second / by.a_core_second:6.2f} x {of}" if by else ""
    print(f"{name:40}{value.a_second:8.0f} a second{value.a_core_second:8.0f} a core second{ratio}", flush=True)


def main() -> None:
    """Print the table."""
    seconds = float(sys.argv[1]) if len(sys.argv) > 1 else 3.0
    with serving("-c", BARE) as bare, serving(*OURS) as ours:
        print(f"start until it listens {ours.start_s:.2f} s, memory at rest {ours.memory_mb('VmRSS'):.0f} MB")
        show("bare FastAPI route", health := rate(bare, itertools.repeat(HEALTH), seconds))
        show("GET /healthz", rate(ours, itertools.repeat(HEALTH), seconds), "bare", health)
        show("stated questions, 1 worker", one := rate(ours, posts(*FILL), seconds), "bare", health)
        batches = rate(ours, posts(*BATCH, LINES_OF_BATCH), seconds, LINES_OF_BATCH)
        show("stated questions in batches, 1 worker", batches, "single", one)
        show("a link", link := rate(ours, gets(), seconds), "single", one)
        tag = urlopen(f"{ours.address}/v1/fill?{LINK}").headers["ETag"]
        show("a link, not modified", rate(ours, gets(tag), seconds), "200", link)
        longest_ms = asyncio.run(health_beside_a_batch_ms(ours))
        print(f"longest /healthz beside a batch of {LINES_OF_LONG_BATCH} lines {longest_ms:.0f} ms")
        print(f"most memory {ours.memory_mb('VmHWM'):.0f} MB")
    with serving(*OURS, "--workers", "2", workers=2) as two:
        show("stated questions, 2 workers", rate(two, posts(*FILL), seconds), "1 worker", one)


if __name__ == "__main__":
    main()
