"""The OpenAPI document and the pages drawn from it."""

import re
from pathlib import Path

import pytest

from api.app import ROUTERS
from api.openapi import question_examples
from api.routes import documentation, pages
from api.settings import DEMO

PAGES = {route.path for router in (pages.router, documentation.router) for route in router.routes}
FOR_THE_SCRAPER = {"/metrics"}


def test_every_route_stands_in_the_document_or_is_a_page(client) -> None:
    written = client.get("/openapi.json").json()["paths"]
    routes = {(route.path, method) for router in ROUTERS for route in router.routes for method in route.methods}
    assert {(path, method.upper()) for path, methods in written.items() for method in methods} == {
        (path, method) for path, method in routes if path not in PAGES | FOR_THE_SCRAPER
    }


def test_each_operation_has_a_plain_name_and_says_what_it_does(client) -> None:
    operations = [
        operation for methods in client.get("/openapi.json").json()["paths"].values() for operation in methods.values()
    ]
    names = [operation["operationId"] for operation in operations]
    assert len(names) == len(set(names))
    for operation in operations:
        assert re.fullmatch(r"[a-z_]+", operation["operationId"])
        assert operation["description"].endswith(".")
        assert len(operation["tags"]) == 1


def test_every_error_is_documented_as_it_is_sent(client) -> None:
    document = client.get("/openapi.json").json()
    assert "HTTPValidationError" not in document["components"]["schemas"]
    for methods in document["paths"].values():
        for operation in methods.values():
            errors = {
                status: response for status, response in operation["responses"].items() if status not in ("200", "304")
            }
            assert "default" in errors
            assert all(list(response["content"]) == ["application/problem+json"] for response in errors.values())


def test_the_request_examples_are_the_demo_questions_and_each_gets_an_answer(client) -> None:
    examples = question_examples(DEMO, "fill")
    assert examples
    post = client.get("/openapi.json").json()["paths"]["/v1/fill"]["post"]
    assert post["requestBody"]["content"]["application/json"]["examples"] == examples
    for name, example in examples.items():
        assert client.post("/v1/fill", json=example["value"]).status_code == 200, name


def test_without_a_shop_folder_there_are_no_examples(tmp_path: Path) -> None:
    assert question_examples(None, "fill") == question_examples(tmp_path, "fill") == {}


@pytest.mark.parametrize("content", [b'{"ask": "fill", ', b"[]", b"\xff", b'{"ask": "fill"}'])
def test_a_file_that_is_no_question_is_left_out_of_the_examples(tmp_path: Path, content: bytes) -> None:
    (tmp_path / "questions").mkdir()
    (tmp_path / "questions" / "00-broken.json").write_bytes(content)
    (tmp_path / "questions" / "01-sound.json").write_text('{"ask": "fill", "question": {}}')
    assert list(question_examples(tmp_path, "fill")) == ["01-sound"]


@pytest.mark.parametrize("path", ["/", "/docs"])
def test_a_page_needs_nothing_from_elsewhere(client, path: str) -> None:
    page = client.get(path)
    assert page.headers["content-type"] == "text/html; charset=utf-8"
    links = re.findall(r'(?:src|href)="([^"]+)"', page.text)
    assert links
    assert "//" not in page.text.replace("<!doctype html>", "")
    assert not re.search(r"<script(?![^>]*src=)|<style| style=| on[a-z]+=", page.text)
    for link in links:
        assert client.get(f"/{link.replace('&amp;', '&')}").status_code == 200, link


def test_the_script_of_the_reference_asks_no_one_else(client) -> None:
    script = client.get("/docs/docs.js")
    assert script.headers["content-type"].startswith("text/javascript")
    assert "http" not in script.text
    assert "validatorUrl: null" in script.text


@pytest.mark.parametrize("name", ["no-such.css", "LICENSE", "%2e%2e/%2e%2e/__init__.py", "..%2f__init__.py", "a%00.js"])
def test_only_the_files_of_the_reference_are_served(client, assert_problem, name: str) -> None:
    assert_problem(client.get(f"/docs/assets/{name}"), 404, "unknown-path")
