"""Behind nginx, set up as README says: pages, links, tags, calls from a web page and streamed batches all work."""

import gzip
import http.client
import json
import re
import socket
import ssl
from collections.abc import Callable, Iterator
from contextlib import closing
from html import unescape
from pathlib import Path
from typing import NamedTuple

import httpx
import pytest

from tests.api.square_code import drawn, number_on
from tests.bench.real_server import Server
from tests.proxy import NAME, PUBLIC, proxied, without_nginx

pytestmark = without_nginx()
PAGE = {"Origin": "https://web.example"}
LINKED = "/v1/fill?facing=paper&duty=street"


class Outside(NamedTuple):
    """What a caller from outside needs: the port and the certificate of the proxy; and the server behind it."""

    port: int
    certificate: Path
    server: Server

    def client(self, own_address: str = "127.0.0.1") -> httpx.Client:
        """A client for which the public name leads to the proxy; each address is a caller of its own."""
        port = self.port

        class ByName(httpx.HTTPTransport):
            def handle_request(self, request: httpx.Request) -> httpx.Response:
                assert (request.url.scheme, request.url.host) == ("https", NAME)
                return super().handle_request(
                    httpx.Request(
                        request.method,
                        request.url.copy_with(host="127.0.0.1", port=port),
                        headers=request.headers,
                        stream=request.stream,
                        extensions={**request.extensions, "sni_hostname": NAME},
                    )
                )

        transport = ByName(verify=ssl.create_default_context(cafile=self.certificate), local_address=own_address)
        return httpx.Client(transport=transport, base_url=PUBLIC, timeout=60)


@pytest.fixture(scope="module")
def outside(run_server) -> Iterator[Outside]:
    """The proxy and the server behind it."""
    with (
        run_server("--public-url", PUBLIC, "--origin", PAGE["Origin"]) as server,
        proxied(server.address) as (port, certificate),
    ):
        yield Outside(port, certificate, server)


@pytest.fixture
def new_caller(outside) -> Iterator[Callable[[], httpx.Client]]:
    """Makes clients, each of which has the whole rate that the proxy allows."""
    clients: list[httpx.Client] = []

    def made() -> httpx.Client:
        clients.append(outside.client(f"127.0.1.{next(NUMBERS)}"))
        return clients[-1]

    yield made
    for client in clients:
        client.close()


NUMBERS = iter(range(1, 255))


@pytest.fixture
def web(new_caller) -> httpx.Client:
    """A caller from outside."""
    return new_caller()


@pytest.mark.parametrize("page", ["/?facing=paper", "/faq", "/docs"])
def test_a_page_and_all_that_it_links_to_is_found_under_the_prefix(web, outside, page: str) -> None:
    shown = web.get(page)
    assert shown.status_code == 200
    here = httpx.URL(f"{PUBLIC}{page}")
    links = [here.join(unescape(link)) for link in re.findall(r'(?:href|src|action)="([^"#]+)', shown.text)]
    of_path = {link.path: f"{link}" for link in links}
    assert len(of_path) >= 4
    for link in of_path.values():
        assert link.startswith(f"{PUBLIC}/"), link
        told = [
            (answer.status_code, answer.headers["content-type"])
            for answer in (web.get(link), httpx.get(link.replace(PUBLIC, outside.server.address), timeout=60))
        ]
        assert told[0] == told[1], link


def test_the_prefix_without_its_slash_leads_to_the_counter(web) -> None:
    assert httpx.URL(f"{PUBLIC}").join(web.get(PUBLIC).headers["location"]).path == "/oil/"


def test_the_link_on_a_slip_opens_the_same_answer(web) -> None:
    slip = web.get("/slip?facing=bronze&duty=towing").text
    answer_id = re.search(r"Answer ([0-9a-f]{16})", slip)[1]
    link = unescape(re.search(rf'<a href="({PUBLIC}/slip\?[^"]+)">the same again</a>', slip)[1])
    by_number = f"{PUBLIC}/slip?number={number_on(slip)}"
    assert drawn(by_number) in slip
    for written in (link, by_number):
        assert f"Answer {answer_id}" in web.get(written, follow_redirects=True).text


def test_links_in_answers_and_the_types_of_problems_are_whole_addresses(web) -> None:
    full = web.get(web.get(LINKED).json()["full"]).json()
    assert full["candidates"]
    problem = web.get("/v1/facings/papr").json()
    assert web.get(problem["type"]).json()["slug"] == "unknown-id"
    assert web.get("/openapi.json").json()["servers"] == [{"url": PUBLIC}]


@pytest.mark.parametrize("coding", ["identity", "gzip"])
def test_tags_go_through_and_spare_the_answer(web, coding: str) -> None:
    for path in (LINKED, "/v1/facings", "/", "/fillwright.css"):
        first = web.get(path, headers={"Accept-Encoding": coding})
        assert first.headers.get("content-encoding", "identity") == coding
        assert re.fullmatch(r'"[0-9a-f]{32}"', first.headers["etag"])
        again = web.get(path, headers={"Accept-Encoding": coding, "If-None-Match": first.headers["etag"]})
        assert (again.status_code, again.content, again.headers["etag"]) == (304, b"", first.headers["etag"])


def test_a_web_page_may_call_and_read(web) -> None:
    asked = {"Access-Control-Request-Method": "POST", "Access-Control-Request-Headers": "authorization,traceparent"}
    assert web.options("/v1/fill", headers={**PAGE, **asked}).status_code == 200
    answer = web.post("/v1/fill", json={}, headers=PAGE)
    assert answer.headers["access-control-allow-origin"] == PAGE["Origin"]
    assert "ETag" in answer.headers["access-control-expose-headers"]
    assert web.options("/v1/fill", headers={"Origin": "https://other.example", **asked}).status_code == 400


def test_the_trace_of_the_caller_reaches_the_log(web, outside) -> None:
    trace = "4bf92f3577b34da6a3ce929d0e0e4736"
    web.get("/v1/facings/paper", headers={"traceparent": f"00-{trace}-00f067aa0ba902b7-01"})
    assert outside.server.line(trace_id=trace)["route"] == "/v1/facings/{id}"


def test_each_line_of_a_batch_is_answered_before_the_next_one_is_sent(outside) -> None:
    context = ssl.create_default_context(cafile=outside.certificate)
    plain = socket.create_connection(("127.0.0.1", outside.port), timeout=30)
    with closing(http.client.HTTPConnection(NAME)) as connection:
        connection.sock = context.wrap_socket(plain, server_hostname=NAME)
        connection.putrequest("POST", "/oil/v1/fill/batch")
        connection.putheader("Content-Type", "application/x-ndjson")
        connection.putheader("Transfer-Encoding", "chunked")
        connection.endheaders()
        for index in range(3):
            line = b'{"rings": [{"facing": "paper"}], "key": "%d"}\n' % index
            connection.send(b"%x\r\n%s\r\n" % (len(line), line))
            if index == 0:
                response = connection.getresponse()
                assert (response.status, response.headers["content-type"]) == (200, "application/x-ndjson")
            answered = json.loads(response.readline())
            assert (answered["index"], answered["key"], answered["status"]) == (index, f"{index}", 200)
        connection.send(b"0\r\n\r\n")
        assert response.read() == b""


def test_sizes_are_refused_by_the_service_and_not_by_the_proxy(web) -> None:
    many = web.post("/v1/fill/batch", json={"questions": [{"duty": "d" * 4000}] * 400})
    assert (many.status_code, {result["status"] for result in many.json()["results"]}) == (200, {422})
    refused = web.post("/v1/fill", content=b" " * 300_000, headers={"Content-Type": "application/json"})
    assert (refused.status_code, refused.json()["type"]) == (413, f"{PUBLIC}/problems/body-too-large")


def test_who_asks_too_often_is_slowed_by_the_proxy_and_nobody_else_is(new_caller) -> None:
    greedy, other = new_caller(), new_caller()
    assert 429 in (greedy.get("/favicon.ico").status_code for _ in range(2000))
    assert other.get("/favicon.ico").status_code == 200


def test_what_is_compressed_behind_stays_so(web) -> None:
    with web.stream("GET", "/v1/knowledge", headers={"Accept-Encoding": "gzip"}) as sent:
        assert json.loads(gzip.decompress(b"".join(sent.iter_raw())))["knowledge"]
