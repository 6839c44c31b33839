"""The jug question over HTTP and in the terminal."""

import json
from pathlib import Path

import pytest

from api.__main__ import main
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


def test_a_jug_is_read_by_the_names_of_the_contract(client, full, base) -> None:
    response = client.post("/v1/jug", json=JUG)
    answer = response.json()
    assert answer["j306"] == {"2019": "75W-90", "2005": "75W-90"}
    assert (answer["j300"], answer["iso_vg"], answer["viscosity_index"]) == (["40"], "100", 169)
    assert {"temperature_c", "kv_mm2_s", "viscosity_mpa_s", "screening"} <= set(full(JUG)["curve"][0])
    assert answer["knowledge"] == base.stamp.model_dump()
    assert response.headers["cache-control"] == "no-store"


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


@pytest.mark.parametrize("name", EXAMPLES)
def test_every_id_in_an_answer_resolves(client, full, name: str) -> None:
    answer = full(EXAMPLES[name]["value"])
    findings = (*answer["label_findings"], *answer["findings"])
    cited = {cited["id"] for part in (*findings, *answer["cautions"]) for cited in part["sources"]}
    paths = {f"/v1/rules/{finding['rule']}" for finding in findings}
    paths |= {f"/v1/lubricants/{item['lubricant']['id']}" for item in answer["nearest_classes"]}
    paths |= {f"/v1/lubricants/{item['id']}" for item in answer["may_be"]}
    paths |= {f"/v1/cautions/{caution['id']}" for caution in answer["cautions"]}
    paths |= {f"/v1/sources/{id}" for id in cited | {source["id"] for source in answer["sources"]}}
    assert [path for path in sorted(paths) if client.get(path).status_code != 200] == []
    assert cited <= {source["id"] for source in answer["sources"]}


@pytest.mark.parametrize("place", ["", "/in_it_now", "/on_hand/0"])
def test_an_oil_that_is_no_thinner_when_hot_is_refused_at_its_field(client, assert_problem, place: str) -> None:
    jug = {"kv40_mm2_s": 15, "kv100_mm2_s": 15}
    path, sent = {
        "": ("/v1/jug", jug),
        "/in_it_now": ("/v1/fill", {"in_it_now": jug}),
        "/on_hand/0": ("/v1/fill", {"on_hand": [jug]}),
    }[place]
    error = assert_problem(client.post(path, json=sent), 422, "invalid-request")["errors"][0]
    assert error["pointer"] == f"{place}/kv100_mm2_s"
    assert "below kv40_mm2_s" in error["detail"]


@pytest.mark.parametrize(
    ("sent", "pointer"),
    [
        ({"label": {"family": "gl-45"}}, "/label/family"),
        ({"copper_strip": {"rating": "1c"}}, "/copper_strip/rating"),
        ({"question": {"rings": [{"facing": "papr"}]}}, "/question/rings/0/facing"),
    ],
)
def test_an_unknown_id_is_told_with_the_known_ones(client, assert_problem, sent: dict, pointer: str) -> None:
    error = assert_problem(client.post("/v1/jug", json=sent), 422, "unknown-id")["errors"][0]
    assert error["pointer"] == pointer
    assert error["known"]


def test_a_bare_jug_in_a_file_may_carry_its_box(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "jug.json"
    path.write_text(json.dumps({"ask": "jug", **JUG, "question": {"rings": [{"facing": "bronze"}]}}), encoding="utf-8")
    assert main(["ask", str(path)]) == 0
    assert "For this box" in capsys.readouterr().out


def test_the_shelf_is_judged_in_the_fill_answer(client) -> None:
    answer = client.post("/v1/fill", json={"rings": [{"facing": "bronze"}], "use_shelf": True}).json()
    shelf = client.get("/v1/shop/shelf").json()["shelf"]
    assert [jug["shelf_id"] for jug in answer["jugs"]] == [jug["id"] for jug in shelf]
