"""Entity tags, HEAD, cross-origin calls, and the headers every response carries."""

import pytest

OWN = {"Origin": "https://shop.example"}
OTHER = {"Origin": "https://elsewhere.example"}
ANSWERS = ("/v1/fill?facing=paper", "/v1/facings", "/v1/lubricants/mtf-75w-80", "/v1/knowledge")
GETS = (*ANSWERS, "/openapi.json", "/docs", "/")


@pytest.mark.parametrize("path", GETS)
def test_a_get_that_would_send_the_same_again_is_not_modified(client, path: str) -> None:
    first = client.get(path)
    tag = first.headers["etag"]
    assert first.status_code == 200
    assert first.headers["cache-control"] == "no-cache"
    assert tag.startswith('"')
    for asked in (tag, f"W/{tag}", f'"other", {tag}', "*"):
        again = client.get(path, headers={"If-None-Match": asked})
        assert (again.status_code, again.content, again.headers["etag"]) == (304, b"", tag)
        assert "content-type" not in again.headers
    assert client.get(path, headers={"If-None-Match": '"other"'}).status_code == 200


def test_different_questions_have_different_tags(client) -> None:
    tags = {client.get(f"/v1/fill?facing={facing}").headers["etag"] for facing in ("paper", "bronze", "none")}
    assert len(tags) == 3


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
    [("GET", "/v1/facings", 200), ("POST", "/v1/fill", 422), ("GET", "/nowhere", 404), ("PUT", "/v1/fill", 405)],
)
def test_the_shops_own_page_may_read_answers_and_errors(client, method: str, path: str, status: int) -> None:
    response = client.request(method, path, headers=OWN)
    assert response.status_code == status
    assert response.headers["access-control-allow-origin"] == OWN["Origin"]
    assert "Origin" in response.headers["vary"]
    assert "access-control-allow-origin" not in client.request(method, path, headers=OTHER).headers


@pytest.mark.parametrize(("content_type", "status"), [("text/plain", 415), ("application/json", 400)])
def test_the_shops_own_page_may_read_why_its_body_is_refused(client, content_type: str, status: int) -> None:
    response = client.post("/v1/fill", content=b"{", headers={**OWN, "Content-Type": content_type})
    assert response.status_code == status
    assert response.headers["access-control-allow-origin"] == OWN["Origin"]


def test_a_page_may_ask_before_it_posts(client, assert_problem) -> None:
    ask = {"Access-Control-Request-Method": "POST", "Access-Control-Request-Headers": "content-type"}
    allowed = client.request("OPTIONS", "/v1/fill", headers={**OWN, **ask})
    assert allowed.status_code == 200
    assert "POST" in allowed.headers["access-control-allow-methods"]
    refused = client.request("OPTIONS", "/v1/fill", headers={**OTHER, **ask})
    assert "origin" in assert_problem(refused, 400, "")["detail"]


def test_not_modified_may_be_read_by_the_shops_own_page(client) -> None:
    response = client.get("/v1/facings", headers={**OWN, "If-None-Match": "*"})
    assert response.status_code == 304
    assert response.headers["access-control-allow-origin"] == OWN["Origin"]
