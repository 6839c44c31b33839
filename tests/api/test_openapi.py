"""The OpenAPI document as clients are made from it: valid, with names that stay, words and true examples throughout.

And the pages that are drawn from it.
"""

import re
from collections import defaultdict
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from jsonschema import Draft202012Validator
from openapi_spec_validator import validate

from api.app import ROUTERS, create_app
from api.http.problems import KINDS
from api.openapi import EXAMPLES, FIELDS, document, question_examples
from api.routes import documentation, jobs, pages, stock, wall
from api.settings import DEMO, MAX_BODY_BYTES, Settings

JSON, PROBLEM = "application/json", "application/problem+json"
HEADERS = {"Content-Type": JSON}

# Generated clients call an operation by this name: to rename one breaks them, to add one is fine.
NAMES = {
    "POST /v1/fill": "fill",
    "POST /v1/fill/batch": "fill_batch",
    "GET /v1/fill": "fill_link",
    "POST /v1/fill/lubricants/{id}": "fill_lubricant",
    "GET /v1/fill/lubricants/{id}": "fill_lubricant_link",
    "GET /v1/fill/window": "fill_window",
    "POST /v1/fill/turns": "fill_turns",
    "POST /v1/fill/firmness": "fill_firmness",
    "POST /v1/fill/map": "fill_map",
    "GET /v1/fill/map": "fill_map_link",
    "POST /v1/stock": "stock",
    "POST /v1/jug": "jug",
    "GET /v1/jug": "jug_link",
    "POST /v1/drain": "drain",
    "GET /v1/drain": "drain_link",
    "POST /v1/symptom": "complaint",
    "GET /v1/symptom": "complaint_link",
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
    "GET /v1/box-kinds": "box_kinds",
    "GET /v1/box-kinds/{id}": "box_kind",
    "GET /v1/changes": "changes",
    "GET /v1/changes/{id}": "change",
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
    "unknown-host": ("GET", "/healthz", {"headers": {"Host": "elsewhere.example"}}),
    "method-not-allowed": ("DELETE", "/v1/fill", {}),
    "body-too-large": ("POST", "/v1/fill", {"content": b" " * (MAX_BODY_BYTES + 1), "headers": HEADERS}),
    "unsupported-media-type": ("POST", "/v1/fill", {"content": b"{}"}),
    "batch-too-large": ("POST", "/v1/fill/batch", {"json": {"questions": [{}] * 501}}),
}
# What one request in process cannot bring about; other tests of this folder do.
FROM_ELSEWHERE = {"not-public", "internal", "request-too-slow", "not-ready", "busy"}


PAGES = {
    route.path
    for router in (pages.router, jobs.router, stock.pages_router, wall.router, documentation.router)
    for route in router.routes
}
FOR_THE_SCRAPER = {"/metrics"}


@pytest.fixture(scope="module")
def written(client) -> dict[str, Any]:
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


def test_the_document_is_valid_openapi_3_1(written) -> None:
    assert written["openapi"].startswith("3.1.")
    validate(written)


def test_the_names_of_operations_stay(written) -> None:
    assert {place: operation["operationId"] for place, operation in operations(written)} == NAMES


def test_every_parameter_and_body_is_told_in_words_and_by_example(written) -> None:
    for place, operation in operations(written):
        for parameter in operation.get("parameters", ()):
            assert parameter["schema"]["examples"], (place, parameter["name"])
        if "requestBody" in operation:
            assert operation["requestBody"]["description"], place
            assert first_example(operation["requestBody"]["content"][JSON]) is not None, place


def told_fields(document: dict[str, Any]) -> Iterator[tuple[str, str, str]]:
    """Every field of every model and every parameter: where it stands, its name, and what is said of it."""
    for model, schema in document["components"]["schemas"].items():
        yield from ((model, name, field.get("description", "")) for name, field in schema.get("properties", {}).items())
    for place, operation in operations(document):
        yield from ((place, part["name"], part.get("description", "")) for part in operation.get("parameters", ()))


def test_every_model_and_every_field_is_told_in_one_line(written) -> None:
    for model, schema in written["components"]["schemas"].items():
        assert schema["description"], model
        assert "__" not in model, "two models share a name"
    for place, name, words in told_fields(written):
        assert len(words) > 10, (place, name)
        assert words.endswith("."), (place, name)
        assert "\n" not in words, (place, name)


# What the wire contract calls units in names, and as a reader knows them; the longest first.
UNITS = dict(
    re.findall(
        r"(\w+)=(\S+)",
        "_w_m_k=W/(m·K) _j_kg_k=J/(kg·K) _kg_m3=kg/m³ _kg_m2=kg·m² _mm2_s=mm²/s _mpa_s=mPa·s _j_mm2=J/mm² _c=°C _k=K "
        "_w_mm2=W/mm² _n_mm2=N/mm² _m_s=m/s _m2=m² _percent=% _years=years _rpm=rpm _deg=degrees _km=km _mm=mm _um=µm "
        "_nm=N·m _j=J _l=litres _n=N _s=s",
    )
)
# Coefficients of ASTM D2270 that only look as if they had one.
LETTERS = {"l_a", "l_b", "l_c", "h_a", "h_b", "h_c"}


def test_a_field_with_a_unit_in_its_name_is_told_with_that_unit(written) -> None:
    seen = set()
    for place, name, words in told_fields(written):
        suffix = next((suffix for suffix in UNITS if name.endswith(suffix)), None)
        if suffix and name not in LETTERS:
            assert re.search(rf"(?<![\w·/]){re.escape(UNITS[suffix])}(?![\w·/²³])", words), (place, name, words)
            seen.add(suffix)
    assert seen == set(UNITS)


def test_the_table_of_fields_says_nothing_that_the_document_lacks(written) -> None:
    models, said = written["components"]["schemas"], defaultdict[str, str](str)
    for _, name, words in told_fields(written):
        said[name] += f"\n{words}"
    kinds = {model.partition("_")[0] for model in models}
    assert set(FIELDS["models"]) <= kinds
    assert set(FIELDS) - {"anywhere", "models"} <= set(models)
    for table in set(FIELDS) - {"models"}:
        for name, words in FIELDS[table].items():
            assert f"\n{words.partition(';')[0].rstrip('.')}" in said[name], (table, name)


def asked_by_example(place: str, operation: dict[str, Any]) -> tuple[str, dict[str, Any]]:
    """Path and query of a GET with the first example of each of its parameters."""
    path = place.removeprefix("GET ")
    given = {item["name"]: item["schema"]["examples"][0] for item in operation.get("parameters", ())}
    sent = {name: str(value).lower() if isinstance(value, bool) else value for name, value in given.items()}
    return path.format(**given), {} if "{" in path else sent


def test_the_examples_of_the_parameters_are_answered(written, client) -> None:
    for place, operation in operations(written):
        if place.startswith("GET"):
            path, sent = asked_by_example(place, operation)
            response = client.get(path, params=sent)
            assert response.status_code == 200, place
            assert response.headers["content-type"] in operation["responses"]["200"]["content"], place


def first_example(content: dict[str, Any]) -> Any:
    """The first example of a body."""
    return next(iter(content["examples"].values()))["value"]


def cut(value: Any) -> Any:
    """A value with each list in it cut to its first entry."""
    if isinstance(value, dict):
        return {name: cut(part) for name, part in value.items()}
    return [cut(value[0])] if isinstance(value, list) and value else value


def test_the_answer_shown_for_a_question_is_the_short_one_to_its_first_example(written, client) -> None:
    for ask in ("fill", "jug", "drain", "symptom", "shift"):
        post = written["paths"][f"/v1/{ask}"]["post"]
        question = first_example(post["requestBody"]["content"][JSON])
        shown = post["responses"]["200"]["content"][JSON]["example"]
        assert shown == cut(client.post(f"/v1/{ask}", json=question).json()), ask


def test_each_get_shows_the_answer_to_the_examples_of_its_parameters(written, client) -> None:
    for place, operation in operations(written):
        if place.startswith("GET") and JSON in operation["responses"]["200"]["content"]:
            path, sent = asked_by_example(place, operation)
            shown = operation["responses"]["200"]["content"][JSON]["example"]
            assert shown == cut(client.get(path, params=sent).json()), place


def test_every_response_is_told_in_words_with_its_headers_and_every_problem_by_example(written) -> None:
    shown = set()
    for place, operation in operations(written):
        for status, response in operation["responses"].items():
            assert response["description"] not in ("", "Successful Response"), (place, status)
            assert {"Knowledge-Version", "Request-Id"} <= set(response["headers"])
            problems = response.get("content", {}).get(PROBLEM, {}).get("examples", {})
            assert bool(problems) == (status not in ("200", "304")), (place, status)
            shown |= set(problems)
    assert shown == set(written["components"]["examples"]) == set(EXAMPLES) == {*PROVOKED, *FROM_ELSEWHERE}
    assert {example.type.removeprefix("/problems/") for example in EXAMPLES.values()} == set(KINDS)


def test_a_get_tells_of_its_tag_and_of_what_is_not_sent_again(written) -> None:
    for place, operation in operations(written):
        tagged = {status for status, response in operation["responses"].items() if "ETag" in response["headers"]}
        assert tagged == ({"200", "304"} if place.startswith("GET") else set()), place


@pytest.mark.parametrize("name", PROVOKED)
def test_the_example_of_a_problem_is_what_is_sent(written, client, name: str) -> None:
    method, path, given = PROVOKED[name]
    response = client.request(method, path, **given)
    shown = written["components"]["examples"][name]["value"]
    assert response.json() == {**shown, "instance": response.json()["instance"]}


def test_without_a_shop_folder_the_document_is_valid_and_has_no_questions(base) -> None:
    alone = document(create_app(Settings(shop=None), base))
    validate(alone)
    assert "examples" not in alone["paths"]["/v1/fill"]["post"]["requestBody"]["content"][JSON]


def test_every_route_stands_in_the_document_or_is_a_page(written) -> None:
    routes = {(route.path, method) for router in ROUTERS for route in router.routes for method in route.methods}
    assert {(path, method.upper()) for path, methods in written["paths"].items() for method in methods} == {
        (path, method) for path, method in routes if path not in PAGES | FOR_THE_SCRAPER
    }


def test_each_operation_says_what_it_does_and_how_it_fails(written) -> None:
    assert "HTTPValidationError" not in written["components"]["schemas"]
    for _, operation in operations(written):
        assert operation["description"].endswith(".")
        assert len(operation["tags"]) == 1
        errors = {status: it for status, it in operation["responses"].items() if status not in ("200", "304")}
        assert "default" in errors
        assert all(list(response["content"]) == [PROBLEM] for response in errors.values())


def test_each_operation_lists_the_refusals_that_it_makes(written, client) -> None:
    for place, operation in operations(written):
        method, path = place.split(" ")
        path, _ = asked_by_example(f"GET {path}", operation)
        asked: list[dict[str, Any]] = [
            {"params": {"no_such": "1"}},
            {"params": [("detail", "short"), ("detail", "full")]},
        ]
        if method == "POST":
            asked += [{"content": b"{"}, {"content": b"{", "headers": HEADERS}, {"json": [], "headers": HEADERS}]
            asked += [{"content": b" " * 3_000_000, "headers": HEADERS}]
            assert "408" in operation["responses"], place
        assert "503" in operation["responses"], place
        for given in asked:
            status = client.request(method, path, **given).status_code
            assert str(status) in operation["responses"], (place, given)


def test_every_example_is_what_its_schema_says(written) -> None:
    def hold(schema: dict[str, Any], value: Any) -> None:
        Draft202012Validator({**schema, "components": written["components"]}).validate(value)

    schemas = written["components"]["schemas"].values()
    fields = [field for schema in schemas for field in schema.get("properties", {}).values()]
    shown = [part["schema"] for _, operation in operations(written) for part in operation.get("parameters", ())]
    for schema in (*fields, *shown):
        for example in schema.get("examples") or ():
            hold(schema, example)
    for _, operation in operations(written):
        for body in (operation.get("requestBody", {}), *operation["responses"].values()):
            for content in body.get("content", {}).values():
                if "example" in content:
                    hold(content["schema"], content["example"])
                for example in content.get("examples", {}).values():
                    name = example.get("$ref", "").rpartition("/")[2]
                    hold(content["schema"], (written["components"]["examples"][name] if name else example)["value"])


def test_the_request_examples_are_the_demo_questions_and_each_gets_an_answer(written, client) -> None:
    for ask in ("fill", "jug", "drain", "symptom", "shift"):
        examples = question_examples(DEMO, ask)
        assert len(examples) >= 3
        assert written["paths"][f"/v1/{ask}"]["post"]["requestBody"]["content"][JSON]["examples"] == examples
        for name, example in examples.items():
            assert client.post(f"/v1/{ask}", json=example["value"]).status_code == 200, name


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
    links = re.findall(r'<(?:link|script|img)[^>]* (?:src|href)="([^"]+)"', page.text)
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
