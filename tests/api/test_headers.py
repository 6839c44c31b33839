"""Entity tags, compression, caching, HEAD, cross-origin calls, and the headers every response carries."""

import asyncio
import gzip
import shutil
import subprocess
import sys
from collections.abc import Callable
from datetime import date
from pathlib import Path
from typing import NamedTuple

import httpx
import pytest
from fastapi import APIRouter

from api.app import create_app
from api.http.deprecation import deprecated
from api.settings import Settings
from tests.conftest import Client

ROOT = Path(__file__).resolve().parents[2]
OWN = {"Origin": "https://shop.example"}
OTHER = {"Origin": "https://elsewhere.example"}
ANSWERS = ("/v1/fill?facing=paper", "/v1/facings", "/v1/lubricants/mtf-75w-80", "/v1/knowledge")
GETS = (*ANSWERS, "/openapi.json", "/docs", "/docs/assets/swagger-ui.css", "/")


class Sent(NamedTuple):
    """A response as it was sent, not decompressed."""

    status_code: int
    headers: httpx.Headers
    content: bytes


@pytest.fixture(scope="module")
def raw(app) -> Callable[..., Sent]:
    """Asks with the given headers and no others."""

    def ask(
        path: str, *, method: str = "GET", body: bytes | None = None, on: date | None = None, **headers: str
    ) -> Sent:
        async def that_day(scope, receive, send) -> None:
            await app({**scope, "today": on} if on else scope, receive, send)

        async def send() -> Sent:
            given = {name.replace("_", "-"): value for name, value in headers.items()}
            request = httpx.Request(method, f"http://localhost{path}", headers=given, content=body)
            response = await httpx.ASGITransport(that_day).handle_async_request(request)
            content = b"".join([part async for part in response.stream])
            return Sent(response.status_code, response.headers, content)

        return asyncio.run(send())

    return ask


@pytest.mark.parametrize("path", GETS)
def test_a_get_that_would_send_the_same_again_is_not_modified(client, path: str) -> None:
    first = client.get(path)
    tag = first.headers["etag"]
    assert first.status_code == 200
    assert tag.startswith('"')
    for asked in (tag, f"W/{tag}", f'"other", {tag}', "*"):
        again = client.get(path, headers={"If-None-Match": asked})
        assert (again.status_code, again.content, again.headers["etag"]) == (304, b"", tag)
        assert "content-type" not in again.headers
    assert client.get(path, headers={"If-None-Match": '"other"'}).status_code == 200


@pytest.mark.parametrize("path", GETS)
@pytest.mark.parametrize("method", ["GET", "HEAD"])
def test_each_coding_of_a_body_has_a_tag_of_its_own(raw, method: str, path: str) -> None:
    plain, small = (raw(path, method=method, accept_encoding=coding) for coding in ("identity", "gzip"))
    assert "content-encoding" not in plain.headers
    if method == "GET" and len(plain.content) > 1024:
        assert gzip.decompress(small.content) == plain.content
        assert len(small.content) < len(plain.content) / 2
    if int(plain.headers["content-length"]) > 1024:
        assert small.headers["content-encoding"] == "gzip"
        assert "Accept-Encoding" in plain.headers["vary"]
        assert "Accept-Encoding" in small.headers["vary"]
        assert plain.headers["etag"] != small.headers["etag"]
    for coding, tag in (("identity", plain.headers["etag"]), ("gzip", small.headers["etag"])):
        again = raw(path, method=method, accept_encoding=coding, if_none_match=tag)
        assert (again.status_code, again.content, again.headers["etag"]) == (304, b"", tag)
        assert again.headers.get("vary") == plain.headers.get("vary")


SPELT_ALIKE = (
    "/v1/fill?facing=paper&coldest_start_c=-20&yellow_metal=true",
    "/v1/fill?yellow_metal=TRUE&coldest_start_c=-20.0&facing=paper",
)
APART = (
    "/v1/fill?facing=paper&coldest_start_c=-21&yellow_metal=true",
    "/v1/fill?facing=paper&coldest_start_c=-20&yellow_metal=true&detail=full",
    "/v1/fill/window?facing=paper",
    "/v1/fill/map?facing=paper&duty=street",
    "/v1/fill/lubricants/mtf-75w-80?facing=paper",
    "/v1/fill/lubricants/mtf-75w-90?facing=paper",
    "/v1/viscosity?kv40_mm2_s=95&kv100_mm2_s=15&temperature_c=0&temperature_c=40",
    "/v1/viscosity?kv40_mm2_s=95&kv100_mm2_s=15&temperature_c=40&temperature_c=0",
    "/v1/facings",
    "/v1/facings/paper",
    "/v1/facings/bronze",
    "/?facing=paper",
    "/slip?facing=paper&duty=street",
    "/slip?duty=street&facing=paper",
)


def test_equal_tags_mean_equal_bytes(raw) -> None:
    of_tag: dict[str, bytes] = {}
    for path in (*SPELT_ALIKE, *APART):
        for coding in ("identity", "gzip"):
            for accept in ("application/json", "image/svg+xml"):
                sent = raw(path, accept_encoding=coding, accept=accept)
                assert of_tag.setdefault(sent.headers["etag"], sent.content) == sent.content, path
    first, second = (raw(path).headers["etag"] for path in SPELT_ALIKE)
    assert first == second
    assert len({raw(path).headers["etag"] for path in APART} | {first}) == len(APART) + 1


def test_another_process_has_the_same_tags_for_the_same_bytes(client, live_server: str) -> None:
    for path in (*SPELT_ALIKE, *APART):
        if path.startswith("/v1/"):
            here, there = client.get(path), httpx.get(f"{live_server}{path}", timeout=60)
            assert (here.headers["etag"], here.content) == (there.headers["etag"], there.content), path


def test_a_drawing_and_its_figures_have_tags_of_their_own(raw) -> None:
    path = "/v1/viscosity?kv40_mm2_s=95&kv100_mm2_s=15"
    figures, drawing = (raw(path, accept=kind) for kind in ("application/json", "image/svg+xml"))
    assert figures.headers["etag"] != drawing.headers["etag"]
    for accept, tag, status in (
        ("image/svg+xml", drawing.headers["etag"], 304),
        ("image/svg+xml", figures.headers["etag"], 200),
    ):
        again = raw(path, accept=accept, if_none_match=tag)
        assert (again.status_code, again.headers["vary"]) == (status, drawing.headers["vary"])
    assert "Accept," in drawing.headers["vary"]


@pytest.mark.parametrize("path", ["/", "/slip?facing=paper"])
def test_a_page_with_a_date_is_another_one_tomorrow(raw, path: str) -> None:
    today, tomorrow = (raw(path, on=day) for day in (date(2026, 12, 31), date(2027, 1, 1)))
    assert (b"2027" in today.content, b"2027" in tomorrow.content) == (False, True)
    assert today.headers["etag"] != tomorrow.headers["etag"]
    assert raw(path, on=date(2026, 12, 31), if_none_match=today.headers["etag"]).status_code == 304
    assert raw(path, on=date(2027, 1, 1), if_none_match=today.headers["etag"]).status_code == 200


def test_a_slip_shows_where_it_was_asked_for_and_so_does_its_tag(raw) -> None:
    local, by_number = (raw("/slip?facing=paper", host=host) for host in ("localhost:8000", "127.0.0.1:8000"))
    assert local.content != by_number.content
    assert local.headers["etag"] != by_number.headers["etag"]


def test_an_edit_of_the_code_changes_the_build_without_a_new_version(tmp_path: Path) -> None:
    for package in ("api", "knowledge"):
        shutil.copytree(ROOT / package, tmp_path / package, ignore=shutil.ignore_patterns("__pycache__"))

    def build() -> str:
        told = "from api.http.etags import build_of_program as build; print(build())"
        command = [sys.executable, "-c", told]
        return subprocess.run(command, cwd=tmp_path, capture_output=True, text=True, check=True).stdout

    before = build()
    assert build() == before
    for edited in ("knowledge/physics/__init__.py", "api/templates/slip.html", "knowledge/tables/cautions.toml"):
        with (tmp_path / edited).open("a", encoding="utf-8") as file:
            file.write("\n")
        assert build() != before, edited
        before = build()


@pytest.mark.parametrize("accept", ["", "br", "identity", "gzip;q=0", "gzip; q=0.0, identity"])
def test_a_small_body_is_sent_plain_and_so_is_any_to_a_client_that_does_not_take_gzip(raw, accept: str) -> None:
    assert "content-encoding" not in raw("/healthz", accept_encoding="gzip").headers
    assert "content-encoding" not in raw("/v1/lubricants", accept_encoding=accept).headers


def test_answers_to_posts_are_compressed_and_lines_never_are(raw) -> None:
    posted = raw("/v1/fill", method="POST", accept_encoding="gzip", body=b"{}", content_type="application/json")
    assert posted.headers["content-encoding"] == "gzip"
    listed = raw(
        "/v1/fill/batch",
        method="POST",
        accept_encoding="gzip",
        body=b'{"questions":[{}]}',
        content_type="application/json",
    )
    assert b'"results"' in gzip.decompress(listed.content)
    lines = raw(
        "/v1/fill/batch", method="POST", accept_encoding="gzip", body=b"{}\n", content_type="application/x-ndjson"
    )
    assert "content-encoding" not in lines.headers
    assert lines.content.startswith(b'{"index":0')


@pytest.mark.parametrize(
    ("path", "kept"),
    [
        ("/v1/fill?facing=paper", "no-cache"),
        ("/v1/facings", "max-age=300"),
        ("/v1/faq", "max-age=300"),
        ("/v1/facings/papr", "no-cache"),
        ("/v1/shop/shelf", "no-cache"),
        ("/v1/fill?box_ref=bench-paper-5", "private, no-store"),
        ("/v1/fill?box%5Fref=bench-paper-5", "private, no-store"),
        ("/?box_ref=bench-paper-5", "private, no-store"),
        ("/v1/jug?shelf_ref=jug-a", "private, no-store"),
        # The counter judges what is on the shelf by itself; what customers see does not.
        ("/?facing=paper", "private, no-store"),
        ("/why?facing=paper", "private, no-store"),
        ("/ask?facing=paper", "no-cache"),
    ],
)
def test_a_response_says_how_long_it_may_be_kept(client, path: str, kept: str) -> None:
    assert client.get(path).headers["cache-control"] == kept


def test_what_is_not_modified_may_be_kept_no_longer_than_what_was_sent(client) -> None:
    first = client.get("/?facing=paper")
    again = client.get("/?facing=paper", headers={"If-None-Match": first.headers["etag"]})
    assert (again.status_code, again.headers["cache-control"]) == (304, "private, no-store")


def test_an_error_is_never_not_modified(client) -> None:
    response = client.get("/v1/facings/papr", headers={"If-None-Match": "*"})
    assert response.status_code == 404
    assert "etag" not in response.headers


def test_an_answer_to_a_post_is_not_stored(client) -> None:
    response = client.post("/v1/fill", json={})
    assert response.headers["cache-control"] == "no-store"
    assert "etag" not in response.headers


@pytest.mark.parametrize("path", [*GETS, "/healthz", "/readyz", "/version", "/problems/internal", "/v1/facings/papr"])
def test_head_is_get_without_the_body(client, path: str) -> None:
    got, head = client.get(path), client.request("HEAD", path)
    assert head.content == b""
    assert head.status_code == got.status_code
    same = ("content-type", "content-length", "cache-control", "knowledge-version")
    assert [head.headers.get(name) for name in same] == [got.headers.get(name) for name in same]
    assert head.headers.get("etag") == got.headers.get("etag")


@pytest.mark.parametrize(
    ("method", "path"),
    [
        *(("GET", path) for path in ("/v1/facings", "/nowhere", "/docs", "/", "/slip", "/faq", "/metrics")),
        ("POST", "/v1/fill"),
        ("PUT", "/v1/fill"),
    ],
)
def test_every_response_says_who_spoke_and_keeps_the_browser_careful(client, base, method: str, path: str) -> None:
    headers = client.request(method, path).headers
    assert headers["knowledge-version"] == base.version
    assert headers["x-content-type-options"] == "nosniff"
    assert "default-src 'self'" in headers["content-security-policy"]
    assert "unsafe" not in headers["content-security-policy"]
    assert headers["request-id"]


@pytest.mark.parametrize(
    ("method", "path", "status"),
    [("GET", "/v1/facings", 200), ("POST", "/v1/fill", 415), ("GET", "/nowhere", 404), ("PUT", "/v1/fill", 405)],
)
def test_the_shops_own_page_may_read_answers_and_errors(client, method: str, path: str, status: int) -> None:
    response = client.request(method, path, headers=OWN)
    assert response.status_code == status
    assert response.headers["access-control-allow-origin"] == OWN["Origin"]
    assert "Origin" in response.headers["vary"]
    assert "access-control-allow-origin" not in client.request(method, path, headers=OTHER).headers


def test_a_page_may_ask_before_it_posts(client, assert_problem) -> None:
    ask = {"Access-Control-Request-Method": "POST", "Access-Control-Request-Headers": "content-type"}
    allowed = client.request("OPTIONS", "/v1/fill", headers={**OWN, **ask})
    assert allowed.status_code == 200
    assert "POST" in allowed.headers["access-control-allow-methods"]
    for name in ("authorization", "if-none-match", "traceparent", "X-Request-Id"):
        ask["Access-Control-Request-Headers"] = name
        assert client.request("OPTIONS", "/v1/fill", headers={**OWN, **ask}).status_code == 200, name
    refused = client.request("OPTIONS", "/v1/fill", headers={**OTHER, **ask})
    assert "origin" in assert_problem(refused, 400, "")["detail"]


def test_a_page_that_may_be_framed_may_still_be_when_it_was_not_modified(client) -> None:
    page = client.get("/faq", headers=OWN)
    assert OWN["Origin"] in page.headers["content-security-policy"]
    again = client.get("/faq", headers={**OWN, "If-None-Match": page.headers["etag"]})
    assert again.status_code == 304
    # RFC 9111, 3.2: the headers of a 304 take the place of those that are kept.
    assert "content-security-policy" not in again.headers


def test_not_modified_may_be_read_by_the_shops_own_page(client) -> None:
    response = client.get("/v1/facings", headers={**OWN, "If-None-Match": "*"})
    assert response.status_code == 304
    assert response.headers["access-control-allow-origin"] == OWN["Origin"]


def test_a_route_that_is_to_go_says_so_in_the_document_and_in_every_response(base) -> None:
    """RFC 9745 section 2.1 has 2023-06-30T23:59:59Z as @1688169599: a second later is the day after it.

    The form of Sunset is the date of HTTP, as RFC 8594 section 3 has it: `Sat, 31 Dec 2018 23:59:59 GMT` but for the
    day of the week, which is a Monday. Both from memory.
    """
    router = APIRouter()

    @router.get("/v1/old", **deprecated(date(2023, 7, 1), date(2018, 12, 31)))
    async def old() -> dict[str, str]:
        return {}

    app = create_app(Settings(), base)
    app.include_router(router)
    for method, status in (("GET", 200), ("HEAD", 200)):
        sent = Client(app).request(method, "/v1/old")
        assert sent.status_code == status
        assert sent.headers["deprecation"] == "@1688169600"
        assert sent.headers["sunset"] == "Mon, 31 Dec 2018 00:00:00 GMT"
        assert sent.headers["link"] == '</v1/changes>; rel="deprecation"'
    paths = app.openapi()["paths"]
    assert paths["/v1/old"]["get"]["deprecated"] is True
    assert "deprecation" not in Client(app).get("/v1/facings").headers
    assert "deprecated" not in paths["/v1/facings"]["get"]
