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
def test_an_answer_is_short_by_the_names_of_the_contract_and_full_adds_to_it(client, full, name: str) -> None:
    response = client.post("/v1/symptom", json=EXAMPLES[name]["value"])
    short, whole = response.json(), full(EXAMPLES[name]["value"])
    assert len(response.content) <= 6_000
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
