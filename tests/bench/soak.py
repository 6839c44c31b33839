"""A long day at the counter: `python tests/bench/soak.py [--requests N] [--callers N]`.

Every kind of request there is, wrong ones included, against a real server process. The exit code is 1 when an answer
has another status than it should, when the server logs a fault, or when its memory still grows in the second half.
"""

import argparse
import asyncio
import json
import random
import sys
import time
from collections import Counter
from collections.abc import Iterator
from typing import NamedTuple

import httpx
from real_server import ROOT, Server, serving

from api.settings import MAX_BODY_BYTES

REPORT_EVERY = 5_000
# The caches are full after the first thousand questions; what the allocator keeps moves by about a third of this.
MARGIN_MB = 8.0
# Until about here the bounded caches fill, and growth tells nothing.
FEWEST_TO_TELL = 6_000

CATALOGUES = (
    "facings", "lubricants", "grades", "duties", "rules", "cautions", "symptoms", "suspects", "checks", "sources",
    "faq", "knowledge", "shop/boxes", "shop/shelf", "facings/paper", "lubricants/mtf-75w-80", "grades/75w-90",
)  # fmt: skip
LINKS = (
    *(f"/v1/{name}" for name in CATALOGUES),
    "/v1/fill?facing=bronze&final_drive=none&coldest_start_c=-20&duty=towing", "/v1/fill?facing=none", "/v1/fill",
    "/v1/fill/curves?facing=paper&coldest_start_c=-15", "/v1/viscosity?kv40_mm2_s=90&kv100_mm2_s=14&temperature_c=-20",
    "/", "/?facing=paper&body=steel&duty=street&coldest_start_c=-15", "/?facing=papr", "/slip?facing=bronze", "/faq",
    "/docs", "/docs/assets/swagger-ui.css", "/fillwright.css", "/counter.js", "/favicon.ico", "/openapi.json",
    "/healthz", "/readyz", "/version", "/problems", "/problems/internal",
)  # fmt: skip
JSON = {"Content-Type": "application/json"}


class Ask(NamedTuple):
    """One request and the status that is right for it."""

    method: str
    path: str
    status: int = 200
    content: bytes | None = None
    headers: dict[str, str] = JSON


BAD = (
    Ask("GET", "/v1/nowhere", 404),
    Ask("GET", "/v1/facings/papr", 404),
    Ask("GET", "/docs/assets/%2e%2e/%2e%2e/__init__.py", 404),
    Ask("GET", "/v1/fill?facing=papr", 422),
    Ask("DELETE", "/v1/fill", 405),
    Ask("POST", "/v1/fill", 400, b'{"rings": [NaN]}'),
    Ask("POST", "/v1/fill", 413, b" " * (MAX_BODY_BYTES + 1)),
    Ask("POST", "/v1/fill", 415, b"{}", {"Content-Type": "text/plain"}),
    Ask("POST", "/v1/fill", 422, b'{"duty": "stret", "rings": [{"facing": "papr"}]}'),
    Ask("POST", "/v1/jug", 422, json.dumps({f"field_{n}": n for n in range(200)}).encode()),
)


def demo_questions() -> Iterator[Ask]:
    """Every question of the invented shop."""
    for path in sorted((ROOT / "demo_data" / "questions").glob("*.json")):
        demo = json.loads(path.read_text(encoding="utf-8"))
        yield Ask("POST", f"/v1/{demo['ask']}", content=json.dumps(demo["question"]).encode())


def stated_question(chance: random.Random) -> Ask:
    """A question that nobody asked before, so that the caches of the engine fill up."""
    question = {
        "rings": [{"facing": chance.choice(("bronze", "paper", "carbon", "sintered", "molybdenum")), "cones": 1}],
        "coldest_start_c": round(chance.uniform(-40, 5), 1),
        "sump_hot_c": round(chance.uniform(60, 130), 1),
        "duty": chance.choice(("street", "highway", "towing", "competition")),
        "final_drive": chance.choice(("none", "helical")),
    }
    return Ask("POST", "/v1/fill", content=json.dumps(question).encode())


def asked(count: int) -> Iterator[Ask]:
    """First each of the fixed requests once, then a mixture of them and new questions."""
    chance = random.Random(2270)
    fixed = [*demo_questions(), *BAD, *(Ask("GET", path, 422 if "papr" in path else 200) for path in LINKS)]
    fixed += [Ask("HEAD", "/v1/facings"), Ask("OPTIONS", "/v1/fill", 204), Ask("GET", "/metrics")]
    for number in range(count):
        new = number >= len(fixed) and chance.random() < 0.3
        yield stated_question(chance) if new else fixed[number] if number < len(fixed) else chance.choice(fixed)


class Soak:
    """Callers who share one list of requests, and what they were told."""

    def __init__(self, server: Server, requests: int) -> None:
        self.server = server
        self.requests = requests
        self.asks = asked(requests)
        self.statuses: Counter[int] = Counter()
        self.wrong: list[str] = []
        self.tags: dict[str, str] = {}
        self.memory_mb: dict[int, float] = {}

    async def run(self, callers: int) -> None:
        """Ask everything; a caller asks one thing at a time."""
        async with httpx.AsyncClient(base_url=self.server.address, timeout=60) as client:
            await asyncio.gather(*(self._call(client) for _ in range(callers)))

    async def _call(self, client: httpx.AsyncClient) -> None:
        for ask in self.asks:
            tag = self.tags.get(ask.path) if ask.method == "GET" and ask.path != "/metrics" else None
            headers = {**ask.headers, "If-None-Match": tag} if tag else ask.headers
            try:
                response = await client.request(ask.method, ask.path, content=ask.content, headers=headers)
            except httpx.HTTPError as error:
                self.wrong.append(f"{ask.method} {ask.path}: {error!r}")
                self._count(0)
                continue
            if response.status_code != (304 if tag else ask.status):
                self.wrong.append(f"{ask.method} {ask.path}: {response.status_code} {response.text[:200]}")
            # Every other time a link is followed as if for the first time.
            self.tags[ask.path] = "" if tag else response.headers.get("etag", "")
            self._count(response.status_code)

    def _count(self, status: int) -> None:
        self.statuses[status] += 1
        done = self.statuses.total()
        if done in (self.requests // 10, self.requests // 2, self.requests) or done % REPORT_EVERY == 0:
            self.memory_mb[done] = self.server.memory_mb()
            print(f"{done:7} requests {self.memory_mb[done]:8.1f} MB", flush=True)


def main() -> int:
    """Ask, and print what came of it."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--requests", type=int, default=30_000)
    parser.add_argument("--callers", type=int, default=6)
    given = parser.parse_args()
    with serving("-m", "api", "--port", "0") as server:
        begun = time.monotonic()
        soak = Soak(server, given.requests)
        asyncio.run(soak.run(given.callers))
        seconds = time.monotonic() - begun
        lines = server.log.read_text().splitlines()
        faults = [line for line in lines if '"level": "error"' in line]
    grown_mb = soak.memory_mb[given.requests] - soak.memory_mb[given.requests // 2]
    print(f"{given.requests} requests by {given.callers} callers in {seconds:.0f} s")
    print("statuses:", ", ".join(f"{count} x {status}" for status, count in sorted(soak.statuses.items())))
    tells = given.requests >= FEWEST_TO_TELL
    verdict = f"at most {MARGIN_MB:+.1f} MB" if tells else f"which tells nothing below {FEWEST_TO_TELL} requests"
    print(f"memory of the second half: {grown_mb:+.1f} MB, {verdict}")
    print(f"errors: {len(soak.wrong) + len(faults)}", *soak.wrong[:10], *faults[:3], sep="\n  ")
    return int(bool(soak.wrong or faults) or (tells and grown_mb > MARGIN_MB))


if __name__ == "__main__":
    sys.exit(main())
