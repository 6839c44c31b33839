"""A real server is told to stop while it is asked: nothing that it accepted is lost, and it does not wait for ever."""

import json
import signal
import socket
import sys
import threading
import time
from collections.abc import Callable, Iterator
from http.client import HTTPConnection

import httpx
import pytest

from api.serving import drop_new_connections

QUESTION = {"rings": [{"facing": "paper", "body": "steel"}], "coldest_start_c": -15, "duty": "street"}
BODY = json.dumps(QUESTION).encode()
HEAD = b"POST /v1/fill HTTP/1.1\r\nHost: x\r\nContent-Type: application/json\r\nContent-Length: %d\r\n\r\n" % len(BODY)
CALLERS = 8


class Callers:
    """Several at once, each asking until nobody listens any more."""

    def __init__(self, address: str, *, keep_alive: bool) -> None:
        self.address = address
        self.keep_alive = keep_alive
        self.told: list[bytes] = []
        self.lost: list[str] = []
        self._threads = [threading.Thread(target=self._ask) for _ in range(CALLERS)]

    def start(self) -> None:
        """Begin, and come back when the server has its hands full."""
        for thread in self._threads:
            thread.start()
        while len(self.told) < 5 * CALLERS and not self.lost:
            time.sleep(0.025)

    def join(self) -> None:
        """Wait until the last one has been refused."""
        for thread in self._threads:
            thread.join(timeout=30)

    def _ask(self) -> None:
        for post in self._posts():
            try:
                response = post("/v1/fill", content=BODY, headers={"Content-Type": "application/json"}, timeout=30)
            except httpx.ConnectError:
                return
            except httpx.HTTPError as error:
                self.lost.append(repr(error))
                return
            self.told.append(response.content)
            if response.status_code != 200:
                self.lost.append(response.text)

    def _posts(self) -> Iterator[Callable[..., httpx.Response]]:
        headers = {} if self.keep_alive else {"Connection": "close"}
        with httpx.Client(base_url=self.address, headers=headers) as client:
            while True:
                yield client.post


def opened(address: str, *pieces: bytes) -> socket.socket:
    """A connection on which this much of a request was sent."""
    connection = socket.create_connection(("127.0.0.1", int(address.rsplit(":", 1)[1])), timeout=20)
    for piece in pieces:
        connection.sendall(piece)
    return connection


def rest_of(connection: socket.socket) -> bytes:
    """All that is still told on a connection until the server closes it."""
    return b"".join(iter(lambda: connection.recv(65536), b""))


@pytest.mark.parametrize("keep_alive", [True, False], ids=["connections kept", "a connection each"])
@pytest.mark.parametrize(
    ("number", "workers"), [(signal.SIGTERM, "1"), (signal.SIGINT, "1"), (signal.SIGTERM, "2")], ids=str
)
def test_a_stop_under_load_loses_no_accepted_request(run_server, client, number, workers, keep_alive) -> None:
    expected = client.post("/v1/fill", json=QUESTION).content
    with run_server("--workers", workers) as server:
        callers = Callers(server.address, keep_alive=keep_alive)
        callers.start()
        server.process.send_signal(number)
        callers.join()
        assert server.process.wait(timeout=20) == 0
    assert callers.lost == []
    assert set(callers.told) == {expected}
    requests = [line for line in server.logged if line["message"] == "request" and line["route"] == "/v1/fill"]
    assert len(requests) == len(callers.told)
    assert not [line for line in server.logged if line["level"] not in ("info", "debug")]


@pytest.mark.skipif(sys.platform != "linux", reason="only there does the system take a filter")
def test_a_listener_that_drops_new_connections_keeps_those_it_has() -> None:
    with socket.create_server(("127.0.0.1", 0)) as door, socket.create_connection(door.getsockname()) as caller:
        drop_new_connections([door])
        with pytest.raises(TimeoutError):
            socket.create_connection(door.getsockname(), timeout=0.3)
        taken_in, _ = door.accept()
        with taken_in:
            caller.sendall(HEAD)
            assert taken_in.recv(len(HEAD)) == HEAD


def test_a_request_of_which_half_has_come_is_answered_before_the_end(run_server, client) -> None:
    with run_server() as server, opened(server.address, HEAD, BODY[:5]) as connection:
        server.process.terminate()
        server.line(message="Shutting down")
        connection.sendall(BODY[5:])
        head, _, body = rest_of(connection).partition(b"\r\n\r\n")
        assert server.process.wait(timeout=20) == 0
    assert head.startswith(b"HTTP/1.1 200 OK")
    assert b"\r\nconnection: close" in head.lower()
    assert body == client.post("/v1/fill", json=QUESTION).content


def test_a_request_on_its_way_over_a_kept_connection_is_answered(run_server) -> None:
    with run_server() as server:
        kept = HTTPConnection(server.address.removeprefix("http://"), timeout=20)
        kept.request("GET", "/healthz")
        assert kept.getresponse().read()
        server.process.terminate()
        server.line(message="Shutting down")
        kept.request("POST", "/v1/fill", BODY, {"Content-Type": "application/json"})
        response = kept.getresponse()
        assert (response.status, response.getheader("connection")) == (200, "close")
        assert json.loads(response.read())["summary"]
        assert server.process.wait(timeout=20) == 0


def test_a_server_about_to_stop_says_that_it_is_not_ready(run_server, assert_problem) -> None:
    with run_server() as server, httpx.Client(base_url=server.address) as kept:
        assert kept.get("/readyz").json()["status"] == "ready"
        server.process.terminate()
        server.line(message="Shutting down")
        assert_problem(kept.get("/readyz"), 503, "not-ready")
        with pytest.raises(httpx.ConnectError):
            kept.get("/readyz")


def test_the_wait_for_open_requests_has_an_end(run_server) -> None:
    with run_server("--stop-within", "1") as server, opened(server.address, HEAD, BODY[:5]) as connection:
        server.process.terminate()
        head, _, body = rest_of(connection).partition(b"\r\n\r\n")
        assert server.process.wait(timeout=20) == 0
    assert head.startswith(b"HTTP/1.1 503 ")
    assert json.loads(body)["type"] == "/problems/not-ready"


@pytest.mark.parametrize("number", [signal.SIGTERM, signal.SIGINT])
def test_a_second_signal_stops_at_once(run_server, number: signal.Signals) -> None:
    with run_server() as server, opened(server.address, HEAD, BODY[:5]):
        server.process.send_signal(number)
        server.line(message="Shutting down")
        assert server.process.poll() is None
        server.process.send_signal(number)
        assert server.process.wait(timeout=5) == -number
    assert "Traceback" not in server.log.read_text()
