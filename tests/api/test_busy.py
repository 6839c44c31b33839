"""Many callers at once, slow ones and some who leave: each is answered or told why not, and nobody keeps the others."""

import asyncio
import json
import logging
import signal
import socket
import threading
from collections import Counter
from collections.abc import Iterator

import httpx
import pytest
from starlette.requests import ClientDisconnect

from api.http.lanes import BUSY, Lane, Share, while_waited_for
from api.http.observability import Seldom
from api.http.problems import Refused
from tests.bench.real_server import Server, serving, with_descriptors

# Of the box nothing is known, and of each jug one figure.
COSTLY = {"on_hand": [{"kv100_mm2_s": 4 + jug / 2} for jug in range(45)]}
CALLERS = 100
PATIENCE_S = 60


def test_work_beyond_the_queue_is_refused_and_what_is_cancelled_in_it_never_begins() -> None:
    begun: list[str] = []
    may_end = threading.Event()

    def work(name: str) -> str:
        begun.append(name)
        may_end.wait(PATIENCE_S)
        return name

    async def run() -> None:
        lane = Lane("test", Share(at_once=1, waiting=2))
        first, left, last = (asyncio.create_task(lane.run(work, name)) for name in ("first", "left", "last"))
        while not begun:
            await asyncio.sleep(0.01)
        with pytest.raises(Refused, match=BUSY):
            await lane.run(work, "one too many")
        left.cancel()
        await asyncio.wait((left,))
        may_end.set()
        assert await asyncio.gather(first, last) == ["first", "last"]
        assert await lane.run(work, "later") == "later"

    asyncio.run(run())
    assert begun == ["first", "last", "later"]


def test_work_that_nobody_waits_for_keeps_its_place_until_it_ends() -> None:
    may_end, has_begun = threading.Event(), threading.Event()

    def work() -> None:
        has_begun.set()
        may_end.wait(PATIENCE_S)

    async def run() -> None:
        lane = Lane("test", Share(at_once=1, waiting=0))
        left = asyncio.create_task(lane.run(work))
        await asyncio.to_thread(has_begun.wait, PATIENCE_S)
        left.cancel()
        await asyncio.wait((left,))
        with pytest.raises(Refused):
            await lane.run(work)
        may_end.set()

    asyncio.run(run())


def test_a_caller_who_leaves_ends_the_answering() -> None:
    async def receive() -> dict[str, str]:
        await asyncio.sleep(0)
        return {"type": "http.disconnect"}

    async def run() -> None:
        endless = asyncio.Event()
        with pytest.raises(ClientDisconnect):
            await while_waited_for(receive, endless.wait())
        async with asyncio.timeout(PATIENCE_S):
            while asyncio.all_tasks() != {asyncio.current_task()}:
                await asyncio.sleep(0)

    asyncio.run(run())


async def _look(address: str, callers: int) -> list[httpx.Response]:
    limits = httpx.Limits(max_connections=None)
    async with httpx.AsyncClient(base_url=address, limits=limits, timeout=PATIENCE_S) as client:
        return await asyncio.gather(*(client.get("/why", headers={"Accept": "text/html"}) for _ in range(callers)))


async def _ask(address: str, callers: int) -> list[httpx.Response]:
    limits = httpx.Limits(max_connections=None)
    async with httpx.AsyncClient(base_url=address, limits=limits, timeout=PATIENCE_S) as client:
        return await asyncio.gather(*(client.post("/v1/fill", json=COSTLY) for _ in range(callers)))


@pytest.fixture(scope="module")
def own_server(run_server) -> Iterator[Server]:
    """A server that nobody else asks."""
    with run_server() as server:
        yield server


def test_of_many_costly_questions_the_queue_is_answered_and_the_rest_told_when_to_come_again(own_server) -> None:
    responses = asyncio.run(_ask(own_server.address, CALLERS))
    counts = Counter(response.status_code for response in responses)
    assert set(counts) == {200, 503}
    refused = next(response for response in responses if response.status_code == 503)
    assert refused.json()["type"] == "/problems/busy"
    told = httpx.get(f"{own_server.address}/problems/busy", timeout=PATIENCE_S).json()
    assert refused.json()["title"] == told["title"]
    assert int(refused.headers["retry-after"]) > 0  # RFC 9110, 10.2.3: seconds


def test_people_who_come_while_too_much_is_asked_are_told_on_a_page(own_server) -> None:
    responses = asyncio.run(_look(own_server.address, CALLERS))
    assert {response.status_code for response in responses} == {200, 503}
    refused = next(response for response in responses if response.status_code == 503)
    assert refused.headers["content-type"].startswith("text/html")
    assert int(refused.headers["retry-after"]) > 0
    assert f'href="{own_server.address}/why">Try again' in refused.text


def connected(address: str) -> socket.socket:
    """A connection to a server."""
    host, port = address.removeprefix("http://").split(":")
    return socket.create_connection((host, int(port)), timeout=PATIENCE_S)


def whole(connection: socket.socket) -> bytes:
    """What a connection brings until the other side closes it."""
    told = b""
    while piece := connection.recv(65536):
        told += piece
    return told


def head(path: str, length: int) -> bytes:
    """The head of a question whose body is of this length."""
    framing = f"Content-Type: application/json\r\nContent-Length: {length}"
    return f"POST {path} HTTP/1.1\r\nHost: localhost\r\n{framing}\r\n\r\n".encode()


def test_callers_who_leave_are_not_answered(own_server) -> None:
    body = json.dumps(COSTLY).encode()
    for _ in range(20):
        with connected(own_server.address) as connection:
            connection.sendall(head("/v1/fill", len(body)) + body)
    assert own_server.line(route="/v1/fill", status=None)["client_disconnected"] is True
    assert httpx.get(f"{own_server.address}/?facing=paper", timeout=PATIENCE_S).status_code == 200


@pytest.mark.parametrize("number", [signal.SIGTERM, signal.SIGINT])
def test_callers_in_the_queue_are_told_when_the_server_stops(run_server, number: int) -> None:
    async def ask(server: Server) -> list[httpx.Response]:
        asking = asyncio.create_task(_ask(server.address, CALLERS))
        await asyncio.to_thread(server.line, status=503)
        server.process.send_signal(number)
        return await asking

    with run_server("--graceful-timeout", "1") as server:
        responses = asyncio.run(ask(server))
        assert server.process.wait(timeout=PATIENCE_S) == (0 if number == signal.SIGINT else -number)
    problems = {response.json()["type"] for response in responses if response.status_code == 503}
    assert "/problems/busy" in problems <= {"/problems/busy", "/problems/not-ready"}
    assert {response.status_code for response in responses} <= {200, 503}


def test_bodies_that_never_end_give_way_to_those_that_do() -> None:
    question = {"rings": [{"facing": "paper"}], "duty": "street"}
    with serving(*with_descriptors(256)) as server:
        drippers = [connected(server.address) for _ in range(150)]
        for dripper in drippers:
            dripper.sendall(head("/v1/fill", 4000) + b"{")
        assert httpx.post(f"{server.address}/v1/fill", json=question, timeout=PATIENCE_S).status_code == 200
        told = whole(drippers[0])
        assert told.startswith(b"HTTP/1.1 408")
        assert b"has been for longest" in told
        server.line(level="warning", message="Too many bodies are incomplete, and this one has been for longest.")
        assert not [line for line in server.logged if line.get("status") == 408]
        drippers[-1].sendall(b"}" + b" " * 3998)
        assert drippers[-1].recv(12) == b"HTTP/1.1 200"
        for dripper in drippers:
            dripper.close()


def test_a_refusal_ends_the_connection_whose_body_never_ends(run_server) -> None:
    with run_server("--read-timeout", "1") as server:
        for path, status in (("/nowhere", b"404"), ("/v1/fill", b"408")):
            with connected(server.address) as dripper:
                dripper.sendall(head(path, 1000) + b"{")
                told = whole(dripper)
            assert told.startswith(b"HTTP/1.1 " + status)
            assert b"\r\nconnection: close\r\n" in told.lower()


def test_a_client_that_sends_all_of_what_is_too_large_still_reads_why(live_server: str) -> None:
    with connected(live_server) as connection:
        connection.sendall(head("/v1/fill", 20_000_000))
        for _ in range(20):
            connection.sendall(b" " * 1_000_000)
        told = whole(connection)
    assert told.startswith(b"HTTP/1.1 413")
    assert told.endswith(b"}")


def test_what_many_callers_cause_is_logged_once_a_second() -> None:
    seldom = Seldom()
    log = logging.getLogger("asyncio")
    records = [log.makeRecord("asyncio", logging.ERROR, "", 0, f"no room\n{n}", (), None) for n in range(400)]
    for index, record in enumerate(records):
        record.created = 1000 + index / 100
    assert sum(map(seldom.filter, records)) == 4
