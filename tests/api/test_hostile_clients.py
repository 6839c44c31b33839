"""Raw sockets that send what no honest client would: each is refused or dropped, and everybody else is answered."""

import json
import socket
import threading
import time
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import suppress
from typing import NamedTuple

import httpx
import pytest

from api.settings import MAX_BODY_BYTES

PATIENCE_S = 1
HOST = b"Host: fillwright\r\n"
POST = b"POST /v1/fill HTTP/1.1\r\n" + HOST + b"Content-Type: application/json\r\n"
CHUNKED = POST + b"Transfer-Encoding: chunked\r\n\r\n"
RUBBISH = (
    b"\x00\x01\x02\xff\r\n\r\n", b"\x16\x03\x01\x02\x00\x01\x00\x01\xfc\x03\x03" + bytes(300),
    b"GET /healthz\r\n\r\n", b"GET  HTTP/1.1\r\n\r\n", b"GET /healthz HTTP/1.1\r\n\r\n",
    b"GET /healthz HTTP/1.1\r\n" + HOST * 2 + b"\r\n", b"GET /\xff HTTP/1.1\r\n" + HOST + b"\r\n",
    b"GET /healthz HTTP/1.1\r\n" + HOST + b"X-Null: \x00\r\n\r\n",
    POST + b"Content-Length: -2\r\n\r\n{}", POST + b"Content-Length: 2\r\nContent-Length: 3\r\n\r\n{} ",
    POST + b"Content-Length: " + b"9" * 30 + b"\r\n\r\n{}", POST + b"Transfer-Encoding: gzip, chunked\r\n\r\n0\r\n\r\n",
    CHUNKED + b"zz\r\n", CHUNKED + b"-2\r\n{}\r\n0\r\n\r\n", CHUNKED + b"2\r\n{}rubbish",
)  # fmt: skip
OUTSIDE = (
    b"../../../../../../../etc/passwd", b"%2e%2e/%2e%2e/%2e%2e/%2e%2e/%2e%2e/etc/passwd", b"..%2f..%2f..%2fetc%2fpasswd",
    b"%2fetc%2fpasswd", b"/etc/passwd", b"..%5c..%5cetc%5cpasswd", b"../../__init__.py", b"%2e%2e/%2e%2e/__init__.py",
    b"swagger-ui.css%00.js", b"%00", b"%ff%fe", b".", b"", b"a" * 5000,
)  # fmt: skip
BATCH = b"POST /v1/fill/batch HTTP/1.1\r\n" + HOST + b"Connection: close\r\nContent-Type: application/%b\r\n"
IN_LINES = BATCH % b"x-ndjson" + b"Transfer-Encoding: chunked\r\n\r\n"
IN_JSON = BATCH % b"json" + b"Content-Length: 1900000\r\n\r\n"
BUSY_BODIES = {
    "chunks-of-one-byte": IN_LINES + b"1\r\n \r\n" * 200_000 + b"0\r\n\r\n",
    "blank-lines": IN_LINES + (b"10000\r\n" + b"\n" * 65_536 + b"\r\n") * 20 + b"0\r\n\r\n",
    "lists-in-a-question": IN_JSON + (b'{"questions":[[' + b"[]," * 630_000).ljust(1_900_000),
    "lists-in-no-batch": IN_JSON + (b'{"x":[[]' + b",[]" * 630_000 + b"]}").ljust(1_900_000),
}
SHOP_PAGE = "https://shop.example"


class Answer(NamedTuple):
    """A response as it came over the wire."""

    status: int
    headers: dict[str, str]
    body: bytes


@pytest.fixture(scope="module")
def server(run_server) -> Iterator:
    """A server of little patience."""
    with run_server("--patience", str(PATIENCE_S), "--origin", SHOP_PAGE) as running:
        yield running


@pytest.fixture(autouse=True)
def others_are_answered(server) -> Iterator[None]:
    """After each of these clients another one is answered, nobody is left waiting, and the server met no fault."""
    yield
    assert httpx.get(f"{server.address}/v1/fill", params={"facing": "paper"}, timeout=60).status_code == 200
    wait_until_in_flight(server, 1)
    assert [line for line in server.logged if line["level"] == "error" or (line.get("status") or 0) >= 500] == []


def wait_until_in_flight(server, count: int) -> None:
    """Wait until the server is busy with so many requests, the one that asks for the metrics included."""
    for _ in range(400):
        if f"\nfillwright_requests_in_flight {count}.0\n" in httpx.get(f"{server.address}/metrics", timeout=60).text:
            return
        time.sleep(0.025)
    raise AssertionError(f"the server was never busy with {count}")


def connected(server) -> socket.socket:
    """A connection of its own."""
    return socket.create_connection(("127.0.0.1", int(server.address.rsplit(":", 1)[1])), timeout=60)


def said(server, *pieces: bytes, pause_s: float = 0) -> list[Answer]:
    """Send the pieces one by one and read every answer until the server closes the connection."""
    with connected(server) as connection:
        # Who is refused midway cannot send the rest; the refusal is read all the same.
        with suppress(ConnectionError):
            for piece in pieces:
                connection.sendall(piece)
                time.sleep(pause_s)
        return read(connection)


def read(connection: socket.socket) -> list[Answer]:
    """Every answer on a connection until the server closes it."""
    answers = []
    rest = b"".join(iter(lambda: connection.recv(65536), b""))
    while rest:
        head, _, rest = rest.partition(b"\r\n\r\n")
        start, *lines = head.decode("latin-1").split("\r\n")
        headers = {name.lower(): value for name, value in (line.split(": ", 1) for line in lines)}
        length = int(headers.get("content-length", 0))
        answers.append(Answer(int(start.split()[1]), headers, rest[:length]))
        rest = rest[length:]
    return answers


def assert_refused(answer: Answer, status: int, slug: str) -> dict:
    """A whole problem of this kind."""
    body = json.loads(answer.body)
    assert (answer.status, answer.headers["content-type"]) == (status, "application/problem+json")
    assert (body["status"], body["type"]) == (status, f"/problems/{slug}" if slug else "about:blank")
    assert body["instance"] == f"urn:uuid:{answer.headers['request-id']}"
    assert answer.headers["x-content-type-options"] == "nosniff"
    assert answer.headers["knowledge-version"]
    assert answer.headers["content-security-policy"]
    assert answer.headers["cache-control"] in ("no-store", "no-cache")
    return body


@pytest.mark.parametrize("nothing", [b"", b"\r\n", b"\r\n" * 10_000])
def test_a_client_that_never_says_anything_is_let_go(server, nothing: bytes) -> None:
    assert said(server, nothing) == []


@pytest.mark.parametrize("pieces", [(b"\r\n",), (b"\r\n\r\n",), (b"\r", b"\n")])
def test_empty_lines_before_a_request_are_passed_over(server, pieces: tuple[bytes, ...]) -> None:
    ask = b"GET /healthz HTTP/1.1\r\n" + HOST
    first, second = said(server, *pieces, ask + b"\r\n", *pieces, ask + b"Connection: close\r\n\r\n", pause_s=0.1)
    assert (first.status, second.status) == (200, 200)


def test_an_empty_line_still_ends_a_head_that_comes_in_pieces(server) -> None:
    (answer,) = said(server, b"GET /healthz HTTP/1.1\r\nConnection: close\r\n" + HOST, b"\r\n", pause_s=0.1)
    assert answer.status == 200


@pytest.mark.parametrize("head", [b"GET /healthz HTTP/1.1\r\nHo", POST])
def test_a_head_that_never_ends_is_refused(server, head: bytes) -> None:
    (answer,) = said(server, head)
    assert str(PATIENCE_S) in assert_refused(answer, 408, "request-too-slow")["detail"]


def test_a_head_that_comes_byte_by_byte_has_no_more_time_than_any_other(server) -> None:
    (answer,) = said(server, *(bytes([byte]) for byte in b"GET /healthz"), pause_s=PATIENCE_S / 5)
    assert_refused(answer, 408, "request-too-slow")


@pytest.mark.parametrize("begun", [POST + b"Content-Length: 99\r\n\r\n{", CHUNKED, CHUNKED + b"9\r\n{"])
def test_a_body_of_which_nothing_comes_is_refused(server, begun: bytes) -> None:
    begun = begun.replace(HOST, HOST + f"Origin: {SHOP_PAGE}\r\n".encode())
    (answer,) = said(server, begun)
    assert_refused(answer, 408, "request-too-slow")
    assert answer.headers["access-control-allow-origin"] == SHOP_PAGE


def test_a_body_that_comes_byte_by_byte_is_answered_in_the_end(server) -> None:
    head = POST + b"Connection: close\r\nContent-Length: 10\r\n\r\n"
    (answer,) = said(server, head, *[b" "] * 8, b"{", b"}", pause_s=PATIENCE_S / 5)
    assert answer.status == 200
    assert json.loads(answer.body)["summary"]


def test_a_refused_body_that_goes_on_coming_is_cut_off(server) -> None:
    with connected(server) as connection:
        connection.sendall(POST + b"Content-Length: 99999999\r\n\r\n")
        assert connection.recv(65536).startswith(b"HTTP/1.1 413 ")
        with pytest.raises(ConnectionError):
            for _ in range(200):
                connection.sendall(b" ")
                time.sleep(PATIENCE_S / 5)


def test_many_slow_clients_at_once_hold_up_nobody(server) -> None:
    slow = [connected(server) for _ in range(200)]
    for number, connection in enumerate(slow):
        connection.sendall(POST + b"Content-Length: 9\r\n\r\n{" if number % 2 else b"GET /")
    assert httpx.get(f"{server.address}/healthz", timeout=60).status_code == 200
    for connection in slow:
        (answer,) = read(connection)
        assert_refused(answer, 408, "request-too-slow")
        connection.close()


@pytest.mark.parametrize("body", BUSY_BODIES.values(), ids=BUSY_BODIES)
def test_a_client_that_makes_much_work_of_few_bytes_holds_up_nobody(server, body: bytes) -> None:
    is_over = threading.Event()

    def go_on() -> None:
        while not is_over.is_set():
            with suppress(OSError), connected(server) as connection:
                connection.sendall(body)
                connection.recv(100)

    with ThreadPoolExecutor() as others, httpx.Client(base_url=server.address, timeout=60) as client:
        others.submit(go_on)
        begun = time.perf_counter()
        try:
            for _ in range(20):
                assert client.get("/healthz").status_code == 200
                time.sleep(0.01)
        finally:
            is_over.set()
        assert time.perf_counter() - begun < 3


def test_a_client_that_reads_nothing_of_its_answers_is_let_go(server) -> None:
    with socket.socket() as connection:
        connection.setsockopt(socket.SOL_SOCKET, socket.SO_RCVBUF, 4096)
        connection.connect(("127.0.0.1", int(server.address.rsplit(":", 1)[1])))
        connection.sendall((b"GET /v1/knowledge HTTP/1.1\r\n" + HOST + b"\r\n") * 60)
        wait_until_in_flight(server, 2)
        wait_until_in_flight(server, 1)
    assert server.line(route="/v1/knowledge", client_gone=True)["status"] == 200


@pytest.mark.parametrize(
    "head",
    [
        b"GET /healthz HTTP/1.1\r\nX-Long: " + b"a" * 2_000_000,
        b"GET /healthz HTTP/1.1\r\n" + b"X-Many: a\r\n" * 100_000,
        b"GET /" + b"a" * 1_000_000,
        b"GET /v1/fill?facing=" + b"%70" * 400_000,
        b"A" * 300_000,
    ],
    ids=["header", "headers", "address", "query", "method"],
)
def test_a_head_too_large_is_refused(server, head: bytes) -> None:
    (answer,) = said(server, head)
    assert_refused(answer, 431, "head-too-large")
    assert answer.headers["connection"] == "close"


@pytest.mark.parametrize(
    "target", [b"/" + b"a" * 15_000, b"/v1/fill?" + b"a=&" * 5_000, b"/v1/fill?x=" + b"%00" * 5_000]
)
def test_a_long_address_is_answered_like_a_short_one(server, target: bytes) -> None:
    (answer,) = said(server, b"GET " + target + b" HTTP/1.1\r\nConnection: close\r\n" + HOST + b"\r\n")
    assert answer.status in (404, 422)
    assert len(answer.body) < 10_000


@pytest.mark.parametrize("rubbish", RUBBISH)
def test_what_is_no_http_is_refused(server, rubbish: bytes) -> None:
    (answer,) = said(server, rubbish)
    assert_refused(answer, 400, "")
    assert server.line(request_id=answer.headers["request-id"])["status"] == 400
    assert [line for line in server.logged if line["level"] != "info"] == []
    assert answer.headers["connection"] == "close"


@pytest.mark.parametrize(
    "lengths",
    [b"Content-Length: %d\r\nTransfer-Encoding: chunked", b"Transfer-Encoding: chunked\r\nContent-Length: %d"],
    ids=["length-first", "length-last"],
)
def test_a_body_of_two_lengths_is_refused_and_nothing_behind_it_is_read(server, lengths: bytes) -> None:
    hidden = b"GET /healthz HTTP/1.1\r\n" + HOST + b"\r\n"
    (answer,) = said(server, POST + lengths % (5 + len(hidden)) + b"\r\n\r\n0\r\n\r\n" + hidden)
    assert "not both" in assert_refused(answer, 400, "")["detail"]
    assert answer.headers["connection"] == "close"


def test_rubbish_behind_a_request_is_refused_by_itself(server) -> None:
    sound, refusal = said(server, b"GET /healthz HTTP/1.1\r\n" + HOST + b"\r\n\x00rubbish\r\n\r\n")
    assert (sound.status, json.loads(sound.body)) == (200, {"status": "ok"})
    assert_refused(refusal, 400, "")


def test_requests_in_a_row_are_answered_in_a_row(server) -> None:
    facings = (b"paper", b"carbon", b"none")
    requests = b"".join(b"GET /v1/fill?facing=" + facing + b" HTTP/1.1\r\n" + HOST + b"\r\n" for facing in facings)
    answers = said(server, requests)
    assert [json.loads(each.body)["question"]["rings"] for each in answers[2:]] == [[]]
    assert [each.status for each in answers] == [200, 200, 200]
    assert json.loads(answers[1].body)["question"]["rings"][0]["facing"] == "carbon"


def test_the_old_protocol_is_answered(server) -> None:
    (answer,) = said(server, b"GET /healthz HTTP/1.0\r\n\r\n")
    assert (answer.status, answer.headers["connection"].lower()) == (200, "close")


def test_a_client_that_asks_whether_to_go_on_is_told_to(server) -> None:
    with connected(server) as connection:
        connection.sendall(POST + b"Connection: close\r\nExpect: 100-continue\r\nContent-Length: 2\r\n\r\n")
        assert connection.recv(65536).startswith(b"HTTP/1.1 100 ")
        connection.sendall(b"{}")
        (answer,) = read(connection)
        assert answer.status == 200


def test_a_client_that_asks_whether_to_go_on_with_too_much_is_told_not_to(server) -> None:
    (answer,) = said(server, POST + b"Expect: 100-continue\r\nContent-Length: %d\r\n\r\n" % (MAX_BODY_BYTES + 1))
    assert_refused(answer, 413, "body-too-large")


@pytest.mark.parametrize("length", [b"Content-Length: 99", b"Transfer-Encoding: chunked"])
def test_a_body_sent_as_anything_else_is_refused_before_it_has_come(server, length: bytes) -> None:
    (answer,) = said(server, POST.replace(b"json", b"xml") + length + b"\r\n\r\n")
    assert_refused(answer, 415, "unsupported-media-type")


def test_a_body_in_pieces_over_the_limit_is_refused(server) -> None:
    pieces = [b"10000\r\n" + b" " * 65536 + b"\r\n"] * (MAX_BODY_BYTES // 65536 + 2)
    (answer,) = said(server, CHUNKED, *pieces)
    assert_refused(answer, 413, "body-too-large")


@pytest.mark.parametrize(
    ("request_line", "status"),
    [
        (b"GET http://elsewhere.example/healthz HTTP/1.1", 404),
        (b"OPTIONS * HTTP/1.1", 404),
        (b"CONNECT elsewhere.example:443 HTTP/1.1", 404),
        (b"TRACE / HTTP/1.1", 405),
        (b"METHOD'S / HTTP/1.1", 405),
        (b"GET healthz HTTP/1.1", 404),
        (b"GET /%0d%0aSet-Cookie:%20a=b HTTP/1.1", 404),
        (b"GET //elsewhere.example/%2e%2e HTTP/1.1", 404),
    ],
)
def test_an_odd_request_line_is_an_ordinary_mistake(server, request_line: bytes, status: int) -> None:
    (answer,) = said(server, request_line + b"\r\nConnection: close\r\n" + HOST + b"\r\n")
    assert_refused(answer, status, "unknown-path" if status == 404 else "method-not-allowed")
    assert "set-cookie" not in answer.headers


@pytest.mark.parametrize("header", [b"Host: [", b"Host: \xff", b"Host: <script>", b"Host: a:b:c"])
@pytest.mark.parametrize("target", [b"/v1/nowhere", b"/slip?facing=bronze", b"/faq/grinding", b"/?facing=paper&body="])
def test_a_host_that_is_none_breaks_nothing(server, header: bytes, target: bytes) -> None:
    (answer,) = said(server, b"GET " + target + b" HTTP/1.1\r\nConnection: close\r\n" + header + b"\r\n\r\n")
    assert answer.status in (200, 307, 404)
    assert b"<script>" not in answer.body


@pytest.mark.parametrize(
    "header",
    [
        b"Accept: \xff;q=zz,,,/;",
        b'If-None-Match: \xff"",,W/',
        b"Origin: \xff",
        b"Range: bytes=9-1,-,x",
        b"Cookie: " + b"a=b;" * 1000,
        b"Connection: Upgrade\r\nUpgrade: websocket\r\nSec-WebSocket-Key: x\r\nSec-WebSocket-Version: 13",
    ],
)
@pytest.mark.parametrize("target", [b"/v1/facings", b"/docs/assets/swagger-ui.css"])
def test_headers_that_make_no_sense_are_passed_over(server, header: bytes, target: bytes) -> None:
    # The first Connection header counts, so the upgrade is asked for and the connection closed all the same.
    (answer,) = said(server, b"GET " + target + b" HTTP/1.1\r\nConnection: close\r\n" + HOST + header + b"\r\n\r\n")
    assert answer.status in (200, 400, 416)


@pytest.mark.parametrize("path", OUTSIDE)
def test_no_path_leaves_the_folder_of_the_assets(server, path: bytes) -> None:
    (answer,) = said(server, b"GET /docs/assets/" + path + b" HTTP/1.1\r\nConnection: close\r\n" + HOST + b"\r\n")
    assert_refused(answer, 404, "unknown-path")


def test_a_batch_that_stalls_is_broken_off_and_logged_once(server) -> None:
    with connected(server) as connection:
        connection.sendall(IN_LINES + b'a\r\n{"no": 1}\n\r\n')
        answer = b"".join(iter(lambda: connection.recv(65536), b""))
    assert b'"index":0' in answer
    assert not answer.endswith(b"0\r\n\r\n")
    assert server.line(route="/v1/fill/batch", status=200, client_gone=True)
    assert [line for line in server.logged if line["level"] != "info"] == []


def test_a_client_that_leaves_in_the_middle_is_no_fault(server) -> None:
    for _ in range(5):
        with connected(server) as connection:
            connection.sendall(POST + b"Content-Length: 2\r\n\r\n{}")
        with connected(server) as connection:
            connection.sendall(CHUNKED + b"1\r\n{\r\n")
