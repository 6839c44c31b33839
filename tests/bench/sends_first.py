"""A client that sends all before it reads: `python -m tests.bench.sends_first [MEGABYTES ...]`.

httpx sends a batch in lines as a stream to a server, larger than what the server reads ahead and both sockets hold, and
only then reads. It has to get every result, or those of what was read ahead and a last line that says why no more.
"""

import sys
import time
from collections.abc import Iterator

import httpx
from pydantic_core import from_json

from tests.bench.real_server import serving

LINES = {"Content-Type": "application/x-ndjson"}
# A refusal is longer than the line, so that the results fill the sockets before the body has been read.
PIECE = 100 * (b'{"no": 1}' + b" " * 290 + b"\n")


def pieces(count: int) -> Iterator[bytes]:
    """So much of one line after another."""
    return (PIECE for _ in range(count))


def main() -> None:
    """Print for each size how many results came, how the last one ends, and after how long."""
    sizes = [int(text) for text in sys.argv[1:]] or [9, 40]
    with serving("-m", "api", "--port", "0", "--read-timeout", "2") as server, httpx.Client(timeout=None) as client:
        for megabytes in sizes:
            begun, count, last = time.monotonic(), 0, ""
            sent = pieces(megabytes * 1_000_000 // len(PIECE))
            with client.stream("POST", f"{server.address}/v1/fill/batch", content=sent, headers=LINES) as response:
                for line in response.iter_lines():
                    count, last = count + 1, line
            status = from_json(last)["status"]
            print(f"{megabytes} MB: {count} results, the last {status}, {time.monotonic() - begun:.0f} s", flush=True)


if __name__ == "__main__":
    main()
