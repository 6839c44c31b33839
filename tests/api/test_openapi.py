"""The OpenAPI document as clients are made from it: valid, with names that stay, words and true examples throughout."""

from collections.abc import Iterator
from typing import Any

import pytest
from openapi_spec_validator import validate

from api.app import create_app
from api.openapi import EXAMPLES as PROBLEMS
from api.http.problems import KINDS
from api.settings import MAX_BODY_BYTES, Settings

JSON, PROBLEM = "application/json", "application/problem+json"
HEADERS = {"Content-Type": JSON}

# Generated clients call an operation by this name: to rename one breaks them, to add one is fine.
NAMES = {
    "POST /v1/fill": "fill",
    "POST /v1/fill/batch": "fill_batch",
    "GET /v1/fill": "fill_link",
    "GET /v1/fill/curves": "fill_curves_link",
    "POST /v1/jug": "jug",
    "POST /v1/drain": "drain",
    "POST /v1/symptom": "complaint",
    "POST /v1/shift": "shift",
    "GET /v1/shift": "shift_by_link",
    "GET /v1/shift/curve": "shift_curve",
    "GET /v1/viscosity": "viscosity",
    "GET /v1/facings": "facings",
    "GET /v1/facings/{id}": "facing",
    "GET /v1/bodies": "bodies",
    "GET /v1/bodies/{id}": "body",
    "GET /v1/lubricants": "lubricants",
    "GET /v1/lubricants/{id}": "lubricant",
    "GET /v1/families": "families",
    "GET /v1/families/{id}": "family",
    "GET /v1/grades": "grades",
    "GET /v1/grades/{id}": "grade",
    "GET /v1/rules": "rules",
    "GET /v1/rules/{id}": "rule",
    "GET /v1/cautions": "cautions",
    "GET /v1/cautions/{id}": "caution",
    "GET /v1/symptoms": "symptoms",
    "GET /v1/symptoms/{id}": "symptom",
    "GET /v1/suspects": "suspects",
    "GET /v1/suspects/{id}": "suspect",
    "GET /v1/checks": "checks",
    "GET /v1/checks/{id}": "check",
    "GET /v1/sources": "sources",
    "GET /v1/sources/{id}": "source",
    "GET /v1/faq": "faq",
    "GET /v1/faq/{id}": "faq_of",
    "GET /v1/duties": "duties",
    "GET /v1/duties/{id}": "duty",
    "GET /v1/knowledge": "knowledge",
    "GET /v1/shop/boxes": "shop_boxes",
    "GET /v1/shop/boxes/{id}": "shop_box",
    "GET /v1/shop/shelf": "shop_shelf",
    "GET /v1/shop/shelf/{id}": "shelf_jug",
    "GET /healthz": "healthz",
    "GET /readyz": "readyz",
    "GET /version": "version",
    "GET /problems": "problems",
    "GET /problems/{slug}": "problem_page",
}
# How each example of a problem comes about.
PROVOKED = {
    "malformed-json": ("POST", "/v1/fill", {"content": b'{"rings": ]}', "headers": HEADERS}),
    "invalid-request": ("POST", "/v1/fill", {"json": {"coldest_start_c": 51}}),
    "unknown-id": ("POST", "/v1/fill", {"json": {"duty": "stret"}}),
    "unknown-id-in-path": ("GET", "/v1/facings/papr", {}),
    "unknown-path": ("GET", "/v1/fil", {}),
    "method-not-allowed": ("DELETE", "/v1/fill", {}),
    "body-too-large": ("POST", "/v1/fill", {"content": b" " * (MAX_BODY_BYTES + 1), "headers": HEADERS}),
    "unsupported-media-type": ("POST", "/v1/fill", {"content": b"{}"}),
    "batch-too-large": ("POST", "/v1/fill/batch", {"json": {"questions": [{}] * 501}}),
}
# What one request in process cannot bring about; test_problems.py, test_batch.py and test_server.py do.
FROM_ELSEWHERE = {"internal", "request-too-slow", "not-ready"}


@pytest.fixture(scope="module")
def document(client) -> dict[str, Any]:
    """The document as it is served."""
    return client.get("/openapi.json").json()


def operations(document: dict[str, Any]) -> Iterator[tuple[str, dict[str, Any]]]:
    """Every operation with its method and path."""
    for path, methods in document["paths"].items():
        for method, operation in methods.items():
            yield f"{method.upper()} {path}", operation


def references(value: Any) -> Iterator[str]:
    """The names of the schemas that a part of the document refers to."""
    if isinstance(value, dict):
        yield from (target.rpartition("/")[2] for name, target in value.items() if name == "$ref")
        value = list(value.values())
    for part in value if isinstance(value, list) else ():
        yield from references(part)


def test_the_document_is_valid_openapi_3_1(document) -> None:
    assert document["openapi"].startswith("3.1.")
    validate(document)


def test_the_names_of_operations_stay(document) -> None:
    assert {place: operation["operationId"] for place, operation in operations(document)} == NAMES


def test_every_parameter_and_body_is_told_in_words_and_by_example(document) -> None:
    for place, operation in operations(document):
        for parameter in operation.get("parameters", ()):
            assert parameter["description"], (place, parameter["name"])
            assert parameter["schema"]["examples"], (place, parameter["name"])
        if "requestBody" in operation:
            assert operation["requestBody"]["description"], place
            assert first_example(operation["requestBody"]["content"][JSON]) is not None, place


def test_every_field_of_a_question_is_told_in_words(document) -> None:
    schemas = document["components"]["schemas"]
    asked = [operation["requestBody"] for _, operation in operations(document) if "requestBody" in operation]
    waiting, seen = set(references(asked)), set()
    while waiting:
        seen.add(name := waiting.pop())
        waiting |= set(references(schemas[name])) - seen
        for field, schema in schemas[name].get("properties", {}).items():
            assert schema.get("description"), (name, field)
    assert {"Ring", "Jug", "InertiaParts", "RingGap"} <= seen


def test_the_examples_of_the_parameters_are_answered_as_shown(document, client) -> None:
    for place, operation in operations(document):
        method, path = place.split()
        if method == "GET":
            given = {item["name"]: item["schema"]["examples"][0] for item in operation.get("parameters", ())}
            sent = {name: str(value).lower() if isinstance(value, bool) else value for name, value in given.items()}
            response = client.get(path.format(**given), params={} if "{" in path else sent)
            assert response.status_code == 200, place
            shown = operation["responses"]["200"]["content"]
            assert response.headers["content-type"] in shown, place
            assert is_cut_from(shown.get(JSON, {}).get("example"), response), place


def first_example(content: dict[str, Any]) -> Any:
    """The only example of a body, or the first of several."""
    several = iter(content.get("examples", {}).values())
    return content["example"] if "example" in content else next(several, {}).get("value")


def is_cut_from(shown: Any, response: Any) -> bool:
    """Whether an example is this answer with each list cut to its first entry; a drawing has none."""
    if response.headers["content-type"] != JSON:
        return shown is None
    return shown == cut(response.json())


def cut(value: Any) -> Any:
    """A value with each list in it cut to its first entry."""
    if isinstance(value, dict):
        return {name: cut(part) for name, part in value.items()}
    return [cut(value[0])] if isinstance(value, list) and value else value


def test_the_answer_shown_for_a_question_is_that_to_its_first_example(document, client) -> None:
    compared = set()
    for place, operation in operations(document):
        shown = operation["responses"]["200"]["content"].get(JSON, {}).get("example")
        if "requestBody" in operation and shown:
            question = first_example(operation["requestBody"]["content"][JSON])
            assert is_cut_from(shown, client.post(place.split()[1], json=question)), place
            compared.add(operation["operationId"])
    assert compared >= {"fill", "jug", "drain", "complaint", "shift"}


def test_every_response_is_told_in_words_with_its_headers_and_every_problem_by_example(document) -> None:
    shown = set()
    for place, operation in operations(document):
        for status, response in operation["responses"].items():
            assert response["description"] not in ("", "Successful Response"), (place, status)
            assert {"Knowledge-Version", "Request-Id"} <= set(response["headers"])
            problems = response.get("content", {}).get(PROBLEM, {}).get("examples", {})
            assert bool(problems) == (status not in ("200", "304")), (place, status)
            shown |= set(problems)
    assert shown == set(document["components"]["examples"]) == set(PROBLEMS) == {*PROVOKED, *FROM_ELSEWHERE}
    assert {example.type.removeprefix("/problems/") for example in PROBLEMS.values()} == set(KINDS)


def test_a_get_tells_of_its_tag_and_of_what_is_not_sent_again(document) -> None:
    for place, operation in operations(document):
        tagged = {status for status, response in operation["responses"].items() if "ETag" in response["headers"]}
        assert tagged == ({"200", "304"} if place.startswith("GET") else set()), place


@pytest.mark.parametrize("name", PROVOKED)
def test_the_example_of_a_problem_is_what_is_sent(document, client, name: str) -> None:
    method, path, given = PROVOKED[name]
    response = client.request(method, path, **given)
    shown = document["components"]["examples"][name]["value"]
    assert response.json() == {**shown, "instance": response.json()["instance"]}


def test_without_a_shop_folder_the_document_is_valid_too(base) -> None:
    written = create_app(Settings(shop=None), base).openapi()
    validate(written)
    assert "example" not in written["paths"]["/v1/shop/boxes/{id}"]["get"]["responses"]["200"]["content"][JSON]
