"""What honest callers notice of 400 bodies that never end: `python tests/bench/loris.py [SECONDS]`.

A real server that may have 256 files open. The drippers send one byte a second of a body they announced, and come again
when they are refused. Honest callers open a new connection each time, for /healthz and for a stated question.
"""

import asyncio
import json
import sys
import time
from collections import Counter
from collections.abc import Iterator
from contextlib import suppress
from itertools import repeat

from busy import request, status
from real_server import Server, serving, with_descriptors
from stated_box import STATED

DRIPPERS = 400
DESCRIPTORS = 256
PATIENCE_S = 5.0
FRAMING = b"Content-Type: application/json\r\nContent-Length: 4000"
DRIPPED = b"POST /v1/fill HTTP/1.1\r\nHost: localhost\r\n" + FRAMING + b"\r\n\r\n{"


async def drip(server: Server, told: Counter[bytes]) -> None:
    """One caller whose body never ends."""
    while True:
        try:
            reader, writer = await asyncio.open_connection("127.0.0.1", server.address.rpartition(":")[2])
            try:
                writer.write(DRIPPED)
                while True:
                    with suppress(TimeoutError):
                        async with asyncio.timeout(1):
                            answer = await reader.read(12)
                            break
                    writer.write(b" ")
                told[answer or b"closed"] += 1
            finally:
                writer.close()
        except OSError:
            told[b"no connection"] += 1
        await asyncio.sleep(1)


async def honest(server: Server, asked: Iterator[bytes], end: float) -> list[tuple[float, float, int]]:
    """When one caller asked, how long it took, and what it was told; 0 where nothing came in time."""
    found = []
    while (begun := time.perf_counter()) < end:
        try:
            told = await status(server, next(asked), PATIENCE_S)
        except (OSError, EOFError):
            told = 0
        found.append((begun, time.perf_counter() - begun, told))
        await asyncio.sleep(0.2)
    return found


async def measure(server: Server, seconds: float) -> None:
    """Print what the callers noticed."""
    question = request("/v1/fill", json.dumps({**STATED, "coldest_start_c": -20, "sump_hot_c": 90}).encode())
    assert await status(server, question) == 200
    told: Counter[bytes] = Counter()
    begun = time.perf_counter()
    drippers = [asyncio.create_task(drip(server, told)) for _ in range(DRIPPERS)]
    asked = [repeat(request("/healthz")), repeat(question)]
    found = await asyncio.gather(*(honest(server, one, begun + seconds) for one in asked))
    for name, rows in zip(("/healthz", "a stated question"), found, strict=True):
        counts = Counter(status for _, _, status in rows)
        last = max((at + took - begun for at, took, status in rows if status != 200), default=0.0)
        longest = max((took for _, took, status in rows if status == 200), default=0.0)
        print(f"{name:20}{dict(counts)}; all answered from {last:.1f} s on; longest wait {longest * 1000:.0f} ms")
    for dripper in drippers:
        dripper.cancel()
    await asyncio.gather(*drippers, return_exceptions=True)
    print(f"drippers were told   {dict(told)}")
    requests = sum(line["message"] == "request" for line in server.logged)
    others = Counter(line["message"][:60] for line in server.logged if line["message"] != "request")
    print(f"lines in the log     {requests} requests, in {seconds:.0f} s; others {dict(others)}")


def main() -> None:
    """Print the table."""
    seconds = float(sys.argv[1]) if len(sys.argv) > 1 else 30.0
    with serving(*with_descriptors(DESCRIPTORS)) as server:
        asyncio.run(measure(server, seconds))


if __name__ == "__main__":
    main()
