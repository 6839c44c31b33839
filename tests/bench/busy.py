"""What honest callers notice while others ask what costs most: `python tests/bench/busy.py [SECONDS]`.

A real server. Every second 60 callers ask a question of 45 jugs for a box of which nothing is known, either wave by
wave and gone after a tenth of a second, or as many and waiting for their answers. Beside them one caller asks /healthz
and one a page, again and again. The last two rows are the first /openapi.json and a stop with all of them at work.
"""

import asyncio
import itertools
import json
import signal
import statistics
import sys
import time
from collections import Counter
from collections.abc import Iterator

from real_server import Server, serving

CALLERS = 60
GONE_AFTER_S = 0.1
EVERY_S = 1.0
GRACEFUL_S = 3
NUMBERS = itertools.count()
JUGS = 45


def request(path: str, body: bytes | None = None) -> bytes:
    """The bytes of a request."""
    if body is None:
        return f"GET {path} HTTP/1.1\r\nHost: localhost\r\n\r\n".encode()
    kind = f"Content-Type: application/json\r\nContent-Length: {len(body)}"
    return f"POST {path} HTTP/1.1\r\nHost: localhost\r\n{kind}\r\n\r\n".encode() + body


def costly() -> bytes:
    """The costliest question: jugs of which one figure is known, never asked before, for a box that may be any."""
    number = next(NUMBERS)
    jugs = [{"kv100_mm2_s": 4 + (jug + number % 997 / 997) / 2} for jug in range(JUGS)]
    return request("/v1/fill", json.dumps({"on_hand": jugs}).encode())


def pages() -> Iterator[bytes]:
    """The counter, each time for another box."""
    for number in itertools.count():
        cold = f"coldest_start_c={-20 - number % 199 / 10}"
        yield request(f"/?facing=bronze&final_drive=none&wet_clutch=false&limited_slip=false&duty=street&{cold}")


async def status(server: Server, asked: bytes, stay_s: float | None = None) -> int:
    """The status of an answer that is read to its end; 0 where the caller left before."""
    reader, writer = await asyncio.open_connection("127.0.0.1", server.address.rpartition(":")[2], limit=1 << 22)
    try:
        writer.write(asked)
        async with asyncio.timeout(stay_s):
            head = await reader.readuntil(b"\r\n\r\n")
            size = next((line for line in head.lower().split(b"\r\n") if line.startswith(b"content-length:")), b":0")
            await reader.readexactly(int(size.partition(b":")[2]))
            return int(head.split()[1])
    except TimeoutError:
        return 0
    finally:
        writer.close()


async def waits_ms(server: Server, asked: Iterator[bytes], pause_s: float, end: float) -> list[float]:
    """How long one caller waits, who asks again and again."""
    waits = []
    while time.perf_counter() < end:
        begun = time.perf_counter()
        told = await status(server, next(asked))
        waits.append((time.perf_counter() - begun) * 1000)
        assert told == 200, told
        await asyncio.sleep(pause_s)
    return sorted(waits)


async def crowd(server: Server, stay_s: float | None, end: float) -> Counter[int]:
    """Callers with the costliest question, wave after wave; how they were answered."""
    told: Counter[int] = Counter()
    while time.perf_counter() < end:
        begun = time.perf_counter()
        told.update(await asyncio.gather(*(status(server, costly(), stay_s) for _ in range(CALLERS))))
        await asyncio.sleep(max(EVERY_S - (time.perf_counter() - begun), 0))
    return told


async def beside(server: Server, name: str, seconds: float, *others: asyncio.Task) -> None:
    """One row: what is waited for /healthz and a page beside these others."""
    end = time.perf_counter() + seconds
    health = itertools.repeat(request("/healthz"))
    waits = await asyncio.gather(waits_ms(server, health, 0.01, end), waits_ms(server, pages(), 0.1, end))
    for path, found in zip(("/healthz", "a page"), waits, strict=True):
        middle, rare = statistics.median(found), found[int(len(found) * 0.99)]
        print(f"{name:34}{path:10}{middle:8.1f} median{rare:8.1f} p99{found[-1]:8.1f} most, ms, of {len(found)}")
    for other in others:
        print(f"{name:34}answered {dict(await other)}; 0 left before", flush=True)


async def measure(server: Server, seconds: float) -> None:
    """Print the rows of one server."""
    for _ in range(3):
        await status(server, next(pages()))
    await beside(server, "alone", seconds)
    begun = time.perf_counter()
    document = asyncio.create_task(status(server, request("/openapi.json")))
    await beside(server, "beside the first /openapi.json", seconds)
    assert await document == 200
    for name, stay_s in (("60 leave at once", GONE_AFTER_S), ("60 wait", None)):
        end = time.perf_counter() + seconds
        others = asyncio.create_task(crowd(server, stay_s, end))
        await asyncio.sleep(0.05)
        begun = time.perf_counter()
        await beside(server, name, seconds, others)
        print(f"{name:34}and all were answered after {time.perf_counter() - begun:.1f} s")


async def stop(server: Server, number: int) -> float:
    """Seconds until the process ends that is told to stop while it is at work."""
    asking = [asyncio.create_task(status(server, costly())) for _ in range(CALLERS)]
    await asyncio.sleep(0.5)
    begun = time.perf_counter()
    server.process.send_signal(number)
    await asyncio.to_thread(server.process.wait)
    took = time.perf_counter() - begun
    await asyncio.gather(*asking, return_exceptions=True)
    return took


def main() -> None:
    """Print the table."""
    seconds = float(sys.argv[1]) if len(sys.argv) > 1 else 5.0
    with serving("-m", "api", "--port", "0") as server:
        asyncio.run(measure(server, seconds))
    for workers, number in itertools.product((1, 2), (signal.SIGTERM, signal.SIGINT)):
        flags = ("--graceful-timeout", str(GRACEFUL_S), "--workers", str(workers))
        with serving("-m", "api", "--port", "0", *flags, workers=workers) as server:
            took = asyncio.run(stop(server, number))
            print(
                f"{number.name} beside 60, {workers} workers, {GRACEFUL_S} s given: ended after {took:.1f} s",
                flush=True,
            )


if __name__ == "__main__":
    main()
