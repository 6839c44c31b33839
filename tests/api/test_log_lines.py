"""The log: one line a request, nothing of the question, and no way to write a line of one's own."""

import asyncio
import io
import json
import logging
from collections.abc import Callable, Iterator
from datetime import datetime
from typing import Any

import pytest

from api.http.observability import JsonLines

FIELDS = {
    "time", "level", "message", "request_id", "trace_id", "method", "route", "status", "bytes", "duration_ms",
    "client_disconnected",
}  # fmt: skip
SECRET = "only-between-us"


@pytest.fixture
def written() -> Iterator[io.StringIO]:
    """What is logged during a test, as the server would write it."""
    stream = io.StringIO()
    handler = logging.StreamHandler(stream)
    handler.setFormatter(JsonLines())
    log = logging.getLogger("fillwright")
    level = log.level
    log.addHandler(handler)
    log.setLevel("INFO")
    yield stream
    log.removeHandler(handler)
    log.setLevel(level)


@pytest.fixture
def line(written: io.StringIO) -> Callable[[], dict[str, Any]]:
    """The one line that was logged."""

    def read() -> dict[str, Any]:
        (text,) = written.getvalue().splitlines()
        return json.loads(text)

    return read


@pytest.mark.parametrize(
    ("method", "path", "route", "status"),
    [
        ("GET", "/v1/facings/paper", "/v1/facings/{id}", 200),
        ("HEAD", "/v1/facings", "/v1/facings", 200),
        ("POST", "/v1/fill", "/v1/fill", 415),
        ("PUT", "/v1/fill", "/v1/fill", 405),
        ("GET", "/docs/assets/swagger-ui.css", "/docs/assets/{name}", 200),
        ("GET", "/openapi.json", "/openapi.json", 200),
        ("GET", "/nowhere", "/nowhere", 404),
    ],
)
def test_each_request_is_one_line(client, line, method: str, path: str, route: str, status: int) -> None:
    response = client.request(method, path, headers={"Accept-Encoding": "identity"})
    told = line()
    assert set(told) == FIELDS
    assert (told["message"], told["level"], told["client_disconnected"]) == ("request", "info", False)
    assert (told["method"], told["route"], told["status"]) == (method, route, status)
    assert told["bytes"] == len(response.content)
    assert told["request_id"] == response.headers["request-id"]
    assert datetime.fromisoformat(told["time"]).tzinfo is not None


def test_nothing_of_the_question_is_logged(client, written) -> None:
    headers = {"Authorization": SECRET, "Cookie": SECRET, "User-Agent": SECRET, "X-Anything": SECRET}
    question = {"service_data": {"note": SECRET}, "on_hand": [{"name": SECRET}]}
    assert client.post("/v1/fill", json=question, headers=headers).status_code == 200
    assert client.post("/v1/fill", json={SECRET: SECRET}).status_code == 422
    assert client.get("/v1/fill", params={"duty": SECRET, SECRET: "1"}).status_code == 422
    assert client.get(f"/v1/facings/{SECRET}").status_code == 404
    assert written.getvalue().count("\n") == 4
    assert SECRET not in written.getvalue()


def test_an_id_that_the_caller_made_up_is_not_taken_over(client, line) -> None:
    mine = "11111111-2222-4333-8444-555555555555"
    response = client.get("/healthz", headers={"Request-Id": mine, "X-Request-Id": mine})
    assert response.headers["request-id"] == line()["request_id"] != mine


@pytest.mark.parametrize(
    ("given", "logged"),
    [
        # The example of W3C Trace Context, 3.2.3, and one of a version to come, as 3.2.2.1 wants it read.
        (["00-4bf92f3577b34da6a3ce929d0e0e4736-00f067aa0ba902b7-01"], "4bf92f3577b34da6a3ce929d0e0e4736"),
        (["cc-4bf92f3577b34da6a3ce929d0e0e4736-00f067aa0ba902b7-01-more"], "4bf92f3577b34da6a3ce929d0e0e4736"),
        (["00-4bf92f3577b34da6a3ce929d0e0e4736-00f067aa0ba902b7-01-more"], None),
        (["ff-4bf92f3577b34da6a3ce929d0e0e4736-00f067aa0ba902b7-01"], None),
        (["00-4BF92F3577B34DA6A3CE929D0E0E4736-00f067aa0ba902b7-01"], None),
        (["00-00000000000000000000000000000000-00f067aa0ba902b7-01"], None),
        (["00-4bf92f3577b34da6a3ce929d0e0e4736-0000000000000000-01"], None),
        (["00-4bf92f3577b34da6a3ce929d0e0e4736-00f067aa0ba902b7-01"] * 2, None),
        ([f"00-{SECRET}-00f067aa0ba902b7-01"], None),
        ([], None),
    ],
)
def test_the_trace_of_a_caller_is_logged_where_it_is_sound(client, written, line, given, logged) -> None:
    client.get("/healthz", headers=[("traceparent", value) for value in given])
    assert line()["trace_id"] == logged
    assert SECRET not in written.getvalue()


@pytest.mark.parametrize(
    "path", ["/%0a%0d%7B%22level%22:%22error%22%7D", "/%e2%80%a8%1b[31m", "/%ff%00", "/" + "a" * 9000]
)
def test_a_path_cannot_break_out_of_its_line(client, written, line, path: str) -> None:
    client.get(path)
    assert line()["status"] == 404
    assert len(line()["route"]) <= 100
    assert written.getvalue().isascii()
    assert written.getvalue().removesuffix("\n").isprintable()


def test_a_client_that_disconnects_before_it_has_asked_is_logged_as_that(app, line) -> None:
    messages = iter([{"type": "http.request", "body": b"{", "more_body": True}, {"type": "http.disconnect"}])

    async def receive() -> dict[str, Any]:
        return next(messages)

    async def send(message: dict[str, Any]) -> None:
        raise AssertionError("nobody is there")

    scope = {
        "type": "http", "asgi": {"version": "3.0", "spec_version": "2.3"}, "http_version": "1.1", "method": "POST",
        "scheme": "http", "path": "/v1/jug", "raw_path": b"/v1/jug", "query_string": b"", "root_path": "",
        "headers": [(b"content-type", b"application/json")], "server": ("here", 80), "client": None,
    }  # fmt: skip
    asyncio.run(app(scope, receive, send))
    assert (line()["route"], line()["status"], line()["bytes"]) == ("/v1/jug", None, 0)
    assert line()["client_disconnected"] is True


def test_the_servers_own_messages_have_the_same_shape(run_server) -> None:
    with run_server() as server:
        start = [line for line in server.logged if line["message"].startswith("Uvicorn running on")]
        assert [set(line) for line in start] == [{"time", "level", "message"}]
        assert all({"time", "level", "message"} <= set(line) for line in server.logged)


def test_a_fault_is_one_line_with_its_traceback_and_the_id_of_its_request(written, line) -> None:
    try:
        raise RuntimeError("first line\nsecond line\u2028third")
    except RuntimeError:
        logging.getLogger("fillwright").exception("fault", extra={"fields": {"request_id": "an-id"}})
    assert (line()["level"], line()["request_id"]) == ("error", "an-id")
    assert line()["traceback"].startswith("Traceback (most recent call last)")
    assert line()["traceback"].endswith("RuntimeError: first line\nsecond line\u2028third")
