"""The symptom question over HTTP."""

import pytest

from api.openapi import question_examples
from api.settings import DEMO

EXAMPLES = question_examples(DEMO, "symptom")
THICK = {
    "rings": [{"facing": "bronze", "cones": 1, "condition": "new"}],
    "coldest_start_c": -25,
    "in_it_now": {"label": {"family": "gl-4", "grade": "85W-140"}},
}


@pytest.fixture(scope="module")
def full(client):
    """The answer to a question with everything behind it."""
    return lambda question: client.post("/v1/symptom?detail=full", json=question).json()


def test_an_empty_question_gets_an_answer(client) -> None:
    answer = client.post("/v1/symptom", json={}).json()
    assert answer["fluid_can_cure"] == "maybe"
    assert answer["suspects"] == answer["next_checks"] == []
    assert answer["ask_for"]
    assert answer["say"]


@pytest.mark.parametrize("name", EXAMPLES)
def test_an_answer_is_short_by_the_names_of_the_contract_and_full_adds_to_it(client, full, base, name: str) -> None:
    response = client.post("/v1/symptom", json=EXAMPLES[name]["value"])
    short, whole = response.json(), full(EXAMPLES[name]["value"])
    assert len(response.content) <= 6_000
    assert response.headers["knowledge-version"] == base.version
    assert response.headers["cache-control"] == "no-store"
    assert {"fluid_can_cure", "reason", "suspects", "next_checks", "cautions", "knowledge", "say"} <= set(short)
    assert set(short) < set(whole)
    assert {"question", "sources"} <= set(whole) - set(short)
    assert 0 < len(short["say"].split()) <= 40
    for suspect, of_full in zip(short["suspects"], whole["suspects"], strict=False):
        assert {"id", "side", "for", "against", "check"} <= set(suspect) < set(of_full)
        assert suspect["id"] == of_full["id"]
        assert [item["text"] for item in suspect["for"]] == [item["text"] for item in of_full["for"]][:2]
    for part in ("suspects", "next_checks", "cautions"):
        assert all("sources" in item for item in whole[part])
        assert not any("sources" in item for item in short[part])


@pytest.mark.parametrize("name", EXAMPLES)
def test_every_id_in_an_answer_resolves(full, resolves, name: str) -> None:
    answer = full(EXAMPLES[name]["value"])
    evidence = [item for suspect in answer["suspects"] for item in (*suspect["for"], *suspect["against"])]
    findings = answer["fluid_in_it"]["findings"]
    speaking = (*evidence, *findings, *answer["suspects"], *answer["next_checks"], *answer["cautions"])
    cited = {source["id"] for item in speaking for source in item["sources"]}
    pointed = {id for check in answer["next_checks"] for outcome in check["outcomes"] for id in outcome["points_to"]}
    resolves(
        symptoms=answer["question"]["symptoms"],
        suspects=[*pointed, *(suspect["id"] for suspect in answer["suspects"])],
        checks=[*(check["id"] for check in answer["next_checks"]), *(item["check"] for item in answer["suspects"])],
        cautions=[caution["id"] for caution in answer["cautions"]],
        sources=[*cited, *(source["id"] for source in answer["sources"])],
        lubricants=answer["fluid_in_it"]["lubricants"],
        rules=[finding["rule"] for finding in findings],
    )
    assert cited <= {source["id"] for source in answer["sources"]}


def test_the_order_of_complaints_and_repetitions_give_the_same_bytes(client) -> None:
    one = client.post("/v1/symptom", json={"symptoms": ["jumps-out", "blocks-out"], "fluid_state": ["low", "dark"]})
    other = client.post(
        "/v1/symptom",
        json={"symptoms": ["blocks-out", "jumps-out", "blocks-out"], "fluid_state": ["dark", "low"], "when": None},
    )
    assert one.content == other.content


def test_figures_of_the_fluid_stand_in_the_evidence(full) -> None:
    answer = full({"symptoms": ["stiff-only-cold"], "question": THICK})
    leading = answer["suspects"][0]
    assert (leading["id"], answer["fluid_can_cure"]) == ("too-thick-cold", "yes")
    computed = [item for item in leading["for"] if item["figures"]]
    assert "wiping_time_s" in {figure["name"] for item in computed for figure in item["figures"]}
    assert all(item["standing"] == "computed" for item in computed)


def test_a_box_of_the_shop_fills_in_the_question(client, full) -> None:
    box = client.get("/v1/shop/boxes").json()["boxes"][0]
    assert full({"question": {"box_ref": box["id"]}})["from_box"]["id"] == box["id"]


@pytest.mark.parametrize(
    ("question", "pointer"),
    [
        ({"symptoms": ["jumps-ot"]}, "/symptoms/0"),
        ({"question": {"rings": [{"facing": "papr"}]}}, "/question/rings/0/facing"),
        ({"question": {"box_ref": "no-such-box"}}, "/question/box_ref"),
        ({"when": "sometimes"}, "/when"),
        ({"engine_off_same": "yes"}, "/engine_off_same"),
        ({"fluid_state": ["sticky"]}, "/fluid_state/0"),
        ({"ring_gap": {"measured_mm": -1}}, "/ring_gap/measured_mm"),
        ({"ring_gap": {"measured_mm": "0.4"}}, "/ring_gap/measured_mm"),
        ({"simptoms": []}, "/simptoms"),
    ],
)
def test_a_mistake_is_refused_at_its_field(client, assert_problem, question, pointer: str) -> None:
    response = client.post("/v1/symptom", json=question)
    slug = "unknown-id" if response.json()["type"].endswith("unknown-id") else "invalid-request"
    body = assert_problem(response, 422, slug)
    assert pointer in [error["pointer"] for error in body["errors"]]


@pytest.mark.parametrize("path", ["symptom", "drain"])
@pytest.mark.parametrize(("query", "pointer"), [("detail=long", "detail"), ("detial=full", "detial")])
def test_a_detail_that_does_not_exist_is_refused_at_its_parameter(client, assert_problem, path, query, pointer) -> None:
    body = assert_problem(client.post(f"/v1/{path}?{query}", json={}), 422, "invalid-request")
    assert [(error["location"], error["pointer"].strip("/")) for error in body["errors"]] == [("query", pointer)]
