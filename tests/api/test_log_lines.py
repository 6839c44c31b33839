"""The log of a real server: one line a request, nothing of the question, and no way to write a line of one's own."""

import io
import json
import logging
import socket
from collections.abc import Iterator
from datetime import datetime

import httpx
import pytest

from api.log_lines import JsonLines

FIELDS = {
    "time", "level", "message", "request_id", "method", "route", "status", "bytes", "duration_ms", "client_gone",
}  # fmt: skip
SECRET = "only-between-us"


@pytest.fixture(scope="module")
def server(run_server) -> Iterator:
    """A server that only these tests ask."""
    with run_server() as running:
        yield running


def told_of(server, response: httpx.Response) -> dict:
    """The one line of the log about this response."""
    line = server.line(request_id=response.headers["request-id"])
    assert [other for other in server.logged if other.get("request_id") == line["request_id"]] == [line]
    return line


@pytest.mark.parametrize(
    ("method", "path", "route", "status"),
    [
        ("GET", "/v1/facings/paper", "/v1/facings/{id}", 200),
        ("HEAD", "/v1/facings", "/v1/facings", 200),
        ("POST", "/v1/fill", "/v1/fill", 422),
        ("PUT", "/v1/fill", "/v1/fill", 405),
        ("GET", "/docs/assets/swagger-ui.css", "/docs/assets", 200),
        ("GET", "/openapi.json", "/openapi.json", 200),
        ("GET", "/nowhere", "/nowhere", 404),
    ],
)
def test_each_request_is_one_line(server, method: str, path: str, route: str, status: int) -> None:
    response = httpx.request(method, server.address + path)
    line = told_of(server, response)
    assert set(line) == FIELDS
    assert (line["message"], line["level"], line["client_gone"]) == ("request", "info", False)
    assert (line["method"], line["route"], line["status"]) == (method, route, status)
    assert line["bytes"] == len(response.content)
    assert 0 < line["duration_ms"] < 60_000
    assert datetime.fromisoformat(line["time"]).tzinfo is not None


def test_nothing_of_the_question_is_logged(server) -> None:
    headers = {"Authorization": SECRET, "Cookie": SECRET, "User-Agent": SECRET, "X-Anything": SECRET}
    question = {"service_data": {"note": SECRET}, "on_hand": [{"name": SECRET}]}
    assert httpx.post(f"{server.address}/v1/fill", json=question, headers=headers).status_code == 200
    assert httpx.post(f"{server.address}/v1/fill", json={SECRET: SECRET}).status_code == 422
    assert httpx.get(f"{server.address}/v1/fill", params={"duty": SECRET, SECRET: "1"}).status_code == 422
    assert httpx.get(f"{server.address}/v1/facings/{SECRET}").status_code == 404
    assert SECRET not in server.log.read_text()


def test_an_id_that_the_caller_made_up_is_not_taken_over(server) -> None:
    mine = "11111111-2222-4333-8444-555555555555"
    response = httpx.get(f"{server.address}/healthz", headers={"Request-Id": mine, "X-Request-Id": mine})
    assert response.headers["request-id"] != mine
    assert told_of(server, response)["status"] == 200
    assert mine not in server.log.read_text()


@pytest.mark.parametrize(
    "path", ["/%0a%0d%7B%22level%22:%22error%22%7D", "/%e2%80%a8%1b[31m", "/%ff%00", "/" + "a" * 9000]
)
def test_a_path_cannot_break_out_of_its_line(server, path: str) -> None:
    line = told_of(server, httpx.get(server.address + path))
    assert line["status"] == 404
    assert len(line["route"]) <= 100
    text = server.log.read_text()
    assert text.isascii()
    assert text.replace("\n", "").isprintable()


def test_a_client_that_leaves_before_it_has_asked_is_told(server) -> None:
    with socket.create_connection(("127.0.0.1", int(server.address.rsplit(":", 1)[1]))) as client:
        head = b"POST /v1/jug HTTP/1.1\r\nHost: x\r\nContent-Type: application/json\r\nContent-Length: 9\r\n\r\n"
        client.sendall(head + b"{")
        httpx.get(f"{server.address}/healthz")
    line = server.line(route="/v1/jug", client_gone=True)
    assert (line["status"], line["bytes"]) == (None, 0)


def test_the_servers_own_messages_have_the_same_shape(server) -> None:
    start = [line for line in server.logged if line["message"].startswith("Uvicorn running on")]
    assert [set(line) for line in start] == [{"time", "level", "message"}]
    assert all({"time", "level", "message"} <= set(line) for line in server.logged)


def test_a_fault_is_one_line_with_its_traceback_and_the_id_of_its_request() -> None:
    stream = io.StringIO()
    handler = logging.StreamHandler(stream)
    handler.setFormatter(JsonLines())
    log = logging.getLogger("a-log-of-this-test")
    log.addHandler(handler)
    log.propagate = False
    try:
        raise RuntimeError("first line\nsecond line\u2028third")
    except RuntimeError:
        log.exception("fault while answering a request", extra={"fields": {"request_id": "an-id"}})
    (text,) = stream.getvalue().splitlines()
    line = json.loads(text)
    assert (line["level"], line["request_id"]) == ("error", "an-id")
    assert line["traceback"].startswith("Traceback (most recent call last)")
    assert line["traceback"].endswith("RuntimeError: first line\nsecond line\u2028third")
