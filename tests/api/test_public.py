"""Open to the public: what customers may see, and nothing that a shop has."""

import json
from typing import Any

import pytest
from openapi_spec_validator import validate

from api.app import create_app
from api.settings import Settings
from tests.conftest import Client

FIELDS = ("box_ref", "use_shelf", "shelf_ref")


@pytest.fixture(scope="module")
def public(base) -> Client:
    """A client of a service that has the demo shop and is open to the public."""
    return Client(create_app(Settings(public=True), base))


@pytest.fixture(scope="module")
def written(public) -> dict[str, Any]:
    """Its OpenAPI document."""
    return public.get("/openapi.json").json()


def asked_for(document: dict[str, Any]) -> set[str]:
    """The names of all parameters, and of the fields of all models."""
    operations = [operation for path in document["paths"].values() for operation in path.values()]
    parameters = {parameter["name"] for operation in operations for parameter in operation.get("parameters", ())}
    models = document["components"]["schemas"].values()
    return parameters | {name for model in models for name in model.get("properties", ())}


@pytest.mark.parametrize(
    "path", ["/", "/slip?facing=paper", "/faq", "/docs", "/v1/fill?facing=paper", "/v1/faq", "/readyz"]
)
def test_what_customers_may_see_is_served(public, path: str) -> None:
    assert public.get(path).status_code == 200


@pytest.mark.parametrize("path", ["/metrics", "/v1/shop/boxes", "/v1/shop/boxes/bench-paper-5", "/v1/shop/shelf"])
def test_what_the_shop_has_is_at_no_path(public, client, assert_problem, path: str) -> None:
    assert client.get(path).status_code == 200
    assert_problem(public.get(path), 404, "unknown-path")


@pytest.mark.parametrize(
    ("path", "body", "pointers"),
    [
        ("/v1/fill", {"box_ref": "bench-paper-5", "use_shelf": True}, ["/box_ref", "/use_shelf"]),
        ("/v1/fill", {"box_ref": "no-such-box"}, ["/box_ref"]),
        ("/v1/jug", {"shelf_ref": "jug-a"}, ["/shelf_ref"]),
        ("/v1/jug", {"question": {"box_ref": "bench-paper-5"}}, ["/question/box_ref"]),
        ("/v1/drain", {"question": {"use_shelf": True}}, ["/question/use_shelf"]),
        ("/v1/symptom", {"symptoms": [], "question": {"box_ref": "bench-paper-5"}}, ["/question/box_ref"]),
        ("/v1/fill/lubricants/mtf-75w-80", {"use_shelf": True}, ["/use_shelf"]),
    ],
)
def test_a_question_about_what_the_shop_has_is_refused_in_words(public, assert_problem, path, body, pointers) -> None:
    told = assert_problem(public.post(path, json=body), 403, "not-public")
    assert [error["pointer"] for error in told["errors"]] == pointers
    assert "Leave it out" in told["detail"]


def test_so_is_a_link_a_page_and_an_item_of_a_batch(public, assert_problem) -> None:
    told = assert_problem(public.get("/v1/fill?box_ref=bench-paper-5"), 403, "not-public")
    assert (told["errors"][0]["location"], told["errors"][0]["pointer"]) == ("query", "/box_ref")
    for page in ("/", "/ask", "/slip", "/why", "/jug", "/drain", "/complaint"):
        assert public.get(f"{page}?box_ref=bench-paper-5").status_code == 403, page
    lines = [{"facing": 1}, {"key": "a", "use_shelf": True}, {"use_shelf": False, "box_ref": None}]
    text = "\n".join(map(json.dumps, lines))
    sent = public.post("/v1/fill/batch", content=text, headers={"Content-Type": "application/x-ndjson"}).text
    listed = public.post("/v1/fill/batch", json={"questions": lines}).json()["results"]
    for results in (listed, [json.loads(line) for line in sent.splitlines()]):
        assert [result["status"] for result in results] == [422, 403, 200]


def test_fields_of_the_shop_that_say_nothing_are_no_fault(public) -> None:
    assert public.post("/v1/fill", json={"box_ref": None, "use_shelf": False}).status_code == 200
    assert public.get("/v1/fill?use_shelf=false").status_code == 200


def test_the_pages_show_nothing_of_the_shop(public, client, demo_shop) -> None:
    of_shop = [*(box.name for box in demo_shop.boxes.values()), *(jug.name for jug in demo_shop.shelf.values())]
    assert any(name in client.get("/").text for name in of_shop)
    for path in ("/", "/?facing=paper", "/ask", "/slip?facing=paper", "/why", "/jug", "/drain", "/complaint", "/ring"):
        page = public.get(path).text
        assert [name for name in of_shop if name in page] == []
        assert "box_ref" not in page


def test_faults_in_the_tables_of_the_shop_are_told_to_nobody(base, tmp_path) -> None:
    (tmp_path / "shelf.csv").write_text("no,such,columns\n1,2,3\n", encoding="utf-8")
    ready = Client(create_app(Settings(public=True, shop=tmp_path), base)).get("/readyz").json()
    assert (ready["status"], ready["shop"]["faults"], ready["shop"]["jugs"]) == ("ready", [], 0)


def test_the_document_is_valid_and_names_nothing_of_the_shop(public, written, client) -> None:
    validate(written)
    everything = client.get("/openapi.json").json()
    left_out = everything["paths"].keys() - written["paths"].keys()
    assert left_out == {path for path in everything["paths"] if path.startswith(("/v1/shop/", "/v1/stock"))}
    assert asked_for(written).isdisjoint(FIELDS)
    assert set(FIELDS[:2]) <= asked_for(everything)


def test_the_examples_of_the_document_are_answered(public, written) -> None:
    for ask in ("fill", "jug", "drain", "symptom", "shift"):
        examples = written["paths"][f"/v1/{ask}"]["post"]["requestBody"]["content"]["application/json"]["examples"]
        assert len(examples) >= 3
        for name, example in examples.items():
            assert public.post(f"/v1/{ask}", json=example["value"]).status_code == 200, name
