"""What a batch in lines costs, as ratios of one run: `python tests/bench/batch.py [LINES]`.

Real servers on this machine. Work is counted in seconds of CPU of the server's processes, so that whoever else is
busy here changes little; LINES is the length of the longest batch whose peak memory is taken, by default 10 000.
"""

import http.client
import json
import re
import socket
import statistics
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from pathlib import Path
from typing import NamedTuple

from stated_box import STATED

CALLERS = 8
STREAMS = 48
LINES_OF_STREAM = 20
HEAD = "POST /v1/fill/batch HTTP/1.1\r\nHost: bench\r\nContent-Type: application/x-ndjson\r\nConnection: close\r\n"


class Server(NamedTuple):
    """A server of ours: its port, the processes that answer, and how long the first answer took."""

    port: int
    answering: tuple[int, ...]
    cold_start_s: float

    def cpu_s(self) -> float:
        """Seconds of CPU that its answering processes have used."""
        stats = (Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split() for pid in self.answering)
        return sum(int(fields[11]) + int(fields[12]) for fields in stats) / 100

    def memory_mb(self, what: str) -> float:
        """Memory of an answering process: VmRSS is now, VmHWM the most it ever was."""
        status = Path(f"/proc/{self.answering[0]}/status").read_text()
        return int(re.search(rf"{what}:\s+(\d+)", status)[1]) / 1024


@contextmanager
def serving(workers: int) -> Iterator[Server]:
    """A server with so many workers, warm."""
    start = time.perf_counter()
    command = [sys.executable, "-m", "api", "--port", "0", "--workers", str(workers)]
    process = subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True)
    try:
        port = next(
            int(found[1]) for line in process.stdout if (found := re.search(r"http://127\.0\.0\.1:(\d+)", line))
        )
        threading.Thread(target=process.stdout.read, daemon=True).start()
        while not is_answered(port):
            time.sleep(0.01)
        cold_start_s = time.perf_counter() - start
        answering = (process.pid,) if workers == 1 else workers_of(process.pid, workers)
        yield Server(port, answering, cold_start_s)
    finally:
        process.terminate()
        process.wait()


def is_answered(port: int) -> bool:
    """Whether a question gets its answer."""
    try:
        return stream(port, lines(1)) == 1
    except ConnectionRefusedError:
        return False


def workers_of(pid: int, count: int) -> tuple[int, ...]:
    """The worker processes, when all have read their tables."""
    time.sleep(2)
    children = Path(f"/proc/{pid}/task/{pid}/children").read_text().split()
    found = [int(child) for child in children if b"spawn_main" in Path(f"/proc/{child}/cmdline").read_bytes()]
    assert len(found) == count
    return tuple(found)


def lines(count: int) -> bytes:
    """Fully stated questions that differ in their temperatures, so that no cache answers for the engine."""
    temperatures = (
        {"coldest_start_c": -30 + step % 300 / 7, "sump_hot_c": 70 + step % 170 / 3} for step in range(count)
    )
    return b"".join(json.dumps({**STATED, **part}).encode() + b"\n" for part in temperatures)


def stream(port: int, body: bytes) -> int:
    """Send a batch and count its results as they come."""
    with socket.create_connection(("127.0.0.1", port)) as connection:
        request = f"{HEAD}Content-Length: {len(body)}\r\n\r\n".encode() + body
        sending = threading.Thread(target=connection.sendall, args=(request,))
        sending.start()
        count, last = 0, b""
        while piece := connection.recv(1_000_000):
            count += (last + piece).count(b'{"index":')
            last = piece[-8:]
        sending.join()
    return count


def single(port: int, questions: list[bytes]) -> int:
    """Ask the same questions one by one over one connection."""
    connection = http.client.HTTPConnection("127.0.0.1", port)
    for question in questions:
        connection.request("POST", "/v1/fill", question, {"Content-Type": "application/json"})
        assert len(connection.getresponse().read()) > 1000
    connection.close()
    return len(questions)


def measured(server: Server, work: Callable[[], int]) -> tuple[float, float]:
    """Questions a second of work, by the clock and by the CPU of the server."""
    cpu, clock = server.cpu_s(), time.perf_counter()
    count = work()
    return count / (time.perf_counter() - clock), count / (server.cpu_s() - cpu)


def streams(server: Server) -> int:
    """Several callers, each with one batch after the other; no question stands in two of them."""
    questions = lines(STREAMS * LINES_OF_STREAM).splitlines(keepends=True)
    bodies = [b"".join(questions[start::STREAMS]) for start in range(STREAMS)]
    with ThreadPoolExecutor(CALLERS) as callers:
        return sum(callers.map(lambda body: stream(server.port, body), bodies))


def health_ms(server: Server) -> float:
    """Median time of GET /healthz, each over a connection of its own."""
    times = []
    for _ in range(40):
        start = time.perf_counter()
        connection = http.client.HTTPConnection("127.0.0.1", server.port)
        connection.request("GET", "/healthz")
        connection.getresponse().read()
        connection.close()
        times.append(time.perf_counter() - start)
    return statistics.median(times) * 1000


def health_beside_a_batch_ms(server: Server, body: bytes) -> float:
    """The same while a batch runs."""
    running = threading.Thread(target=stream, args=(server.port, body))
    running.start()
    time.sleep(0.2)
    found = health_ms(server)
    assert running.is_alive()
    running.join()
    return found


def show(name: str, value: float, unit: str, of: str = "", by: float = 1) -> None:
    """One row of the table."""
    print(f"{name:58}{value:9.1f} {unit:14}" + (f"{value / by:6.2f} x {of}" if of else ""))


def main() -> None:
    """Print the table."""
    longest = int(sys.argv[1]) if len(sys.argv) > 1 else 10_000
    with serving(1) as server:
        show("process start to first answer", server.cold_start_s * 1000, "ms")
        show("memory of a server at rest", at_rest := server.memory_mb("VmRSS"), "MB")
        for count in (1000, longest):
            assert stream(server.port, lines(count)) == count
            show(f"peak memory after {count} lines in one batch", server.memory_mb("VmHWM"), "MB", "rest", at_rest)
        _, alone = measured(server, lambda: single(server.port, lines(300).splitlines()))
        show("one question a request", alone, "a core second")
        clock, core = measured(server, lambda: streams(server))
        show(f"{CALLERS} batches at once, 1 worker", core, "a core second", "single", alone)
        show(f"{CALLERS} batches at once, 1 worker, by the clock", clock, "a second")
        show("GET /healthz at rest", rest := health_ms(server), "ms")
        # A note changes no answer, but none is kept for a question with another note.
        stated, nothing = lines(800), b"".join(b'{"service_data": {"note": "%d"}}\n' % number for number in range(200))
        show("GET /healthz beside a batch, stated", health_beside_a_batch_ms(server, stated), "ms", "rest", rest)
        show(
            "GET /healthz beside a batch, nothing stated", health_beside_a_batch_ms(server, nothing), "ms", "rest", rest
        )
    with serving(2) as server:
        show("memory of one of two workers at rest", server.memory_mb("VmRSS"), "MB", "one server", at_rest)
        clock_of_two, core = measured(server, lambda: streams(server))
        show(f"{CALLERS} batches at once, 2 workers", core, "a core second", "single", alone)
        show(f"{CALLERS} batches at once, 2 workers, by the clock", clock_of_two, "a second", "1 worker", clock)


if __name__ == "__main__":
    main()
