"""The jug question over HTTP and in the terminal."""

import pytest

from api.openapi import question_examples
from api.settings import DEMO

EXAMPLES = question_examples(DEMO, "jug")
JUG = {
    "name": "…",
    "label": {"family": "gl-4", "grade": "75W-90"},
    "kv40_mm2_s": 95,
    "kv100_mm2_s": 15.2,
    "kv100_sheared_mm2_s": None,
    "t150_c": -41,
    "brookfield": [{"temperature_c": -40, "viscosity_mpa_s": 110000}],
    "copper_strip": {"rating": "1b", "temperature_c": 121, "hours": 3},
    "density15_kg_m3": 870,
    "limited_slip": False,
}


@pytest.fixture(scope="module")
def full(client):
    """The answer to a question with everything behind it."""
    return lambda question: client.post("/v1/jug?detail=full", json=question).json()


def test_an_empty_question_gets_an_answer(client, full) -> None:
    answer = full({})
    assert answer["j306"] == {"2019": None, "2005": None}
    assert answer["j300"] == answer["curve"] == answer["label_findings"] == answer["nearest_classes"] == []
    assert answer["verdict"] is answer["because"] is None
    assert client.post("/v1/jug", json={}).json()["say"] == "Without KV100 it has no gear-oil grade."


def test_a_jug_is_read_by_the_names_of_the_contract(client, full) -> None:
    response = client.post("/v1/jug", json=JUG)
    answer = response.json()
    assert answer["j306"] == {"2019": "75W-90", "2005": "75W-90"}
    assert (answer["j300"], answer["iso_vg"], answer["viscosity_index"]) == (["40"], "100", 169)
    assert {"temperature_c", "kv_mm2_s", "viscosity_mpa_s", "screening"} <= set(full(JUG)["curve"][0])


@pytest.mark.parametrize("name", EXAMPLES)
def test_an_answer_is_short_and_full_adds_to_it(client, full, name: str) -> None:
    response = client.post("/v1/jug", json=EXAMPLES[name]["value"])
    short, whole = response.json(), full(EXAMPLES[name]["value"])
    assert len(response.content) <= 4_000
    assert 0 < len(short["say"].split()) <= 40
    assert len(short["nearest_classes"]) <= 3
    assert {"summary", "cold_limit", "verdict", "because", "care", "ask_of_the_sheet"} <= set(short) < set(whole)
    assert {"question", "curve", "findings", "sources"} <= set(whole) - set(short)
    assert all(set(item) == {"rule", "severity", "text"} for item in short["label_findings"])
    assert (short["verdict"] is None) == (short["because"] is None) == ("question" not in EXAMPLES[name]["value"])
