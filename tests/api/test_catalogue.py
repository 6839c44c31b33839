"""The knowledge, browsable."""

import pytest

from knowledge import catalogue

CATALOGUES = (
    "facings",
    "bodies",
    "lubricants",
    "families",
    "rules",
    "cautions",
    "symptoms",
    "suspects",
    "checks",
    "sources",
    "faq",
    "duties",
)
QUESTIONS = (
    {},
    {"rings": []},
    {"rings": [{"facing": "bronze", "condition": "worn"}], "final_drive": "hypoid", "yellow_metal": True},
    {"rings": [{"facing": "carbon"}, {"facing": "bronze"}], "service_data": {"family": "gl-5", "grade": "80W-90"}},
    {"limited_slip": True, "wet_clutch": True, "duty": "competition", "coldest_start_c": -45, "sump_hot_c": 150},
)


@pytest.mark.parametrize("name", CATALOGUES)
def test_every_entry_of_a_catalogue_resolves_to_itself(client, base, name: str) -> None:
    listed = client.get(f"/v1/{name}").json()
    assert listed["knowledge"] == base.stamp.model_dump()
    assert listed[name]
    for entry in listed[name]:
        assert client.get(f"/v1/{name}/{entry['id']}").json() == {"knowledge": listed["knowledge"], "entry": entry}


@pytest.mark.parametrize(("name", "part"), [("facings", "bodies"), ("lubricants", "families")])
def test_what_stands_inside_another_catalogue_resolves_too(client, name: str, part: str) -> None:
    for entry in client.get(f"/v1/{name}").json()[part]:
        assert client.get(f"/v1/{part}/{entry['id']}").json()["entry"] == entry


@pytest.mark.parametrize("question", QUESTIONS)
def test_every_id_in_an_answer_resolves(client, question) -> None:
    answer = client.post("/v1/fill?detail=full", json=question).json()
    named = {
        "lubricants": {item["lubricant"]["id"] for item in answer["candidates"]}
        | {reply["then"] for ask in answer["ask_next"] for reply in ask["answers"] if reply["then"]},
        "families": {item["lubricant"]["family"] for item in answer["candidates"]},
        "rules": {finding["rule"] for finding in (*answer["findings"], *answer["refused"])},
        "cautions": {caution["id"] for caution in answer["cautions"]} | set(answer["every_fill"]),
        "sources": {source["id"] for source in answer["sources"]},
    }
    assert all(named.values())
    paths = [f"/v1/{catalogue}/{id}" for catalogue, ids in named.items() for id in ids]
    assert [path for path in paths if client.get(path).status_code != 200] == []


@pytest.mark.parametrize("name", [*CATALOGUES, "grades"])
def test_an_unknown_id_in_a_path_is_told_with_the_known_ones(client, assert_problem, name: str) -> None:
    error = assert_problem(client.get(f"/v1/{name}/no-such-thing"), 404, "unknown-id")["errors"][0]
    assert error["location"] == "path"
    assert error["known"]


def test_the_nearest_spelling_is_offered(client, assert_problem) -> None:
    body = assert_problem(client.get("/v1/facings/papr"), 404, "unknown-id")
    assert body["errors"][0]["did_you_mean"] == "paper"
    assert "Did you mean paper?" in body["detail"]


def test_a_lubricant_shows_the_edges_of_its_band(client) -> None:
    for entry in client.get("/v1/lubricants").json()["lubricants"]:
        assert 0 < entry["kv100_min_mm2_s"] < entry["kv100_max_mm2_s"]
        edges = {corner["kv100_mm2_s"] for corner in entry["corners"]}
        assert edges == {entry["kv100_min_mm2_s"], entry["kv100_max_mm2_s"]}
        assert all(corner["kv40_mm2_s"] > corner["kv100_mm2_s"] for corner in entry["corners"])


def test_a_grade_is_shown_in_each_edition_that_has_it(client) -> None:
    grade = client.get("/v1/grades/75w").json()
    assert {row["edition"] for row in grade["sae_j306"]} == {"2005", "2019"}
    assert {row["grade"] for row in grade["sae_j306"]} == {"75W"}


def test_a_grade_of_two_parts_is_looked_up_by_its_parts(client, assert_problem) -> None:
    grade = client.get("/v1/grades/75w-90").json()
    assert {row["grade"] for row in grade["sae_j306"]} == {"75W", "90"}
    assert_problem(client.get("/v1/grades/75w-91"), 404, "unknown-id")
    error = assert_problem(client.get("/v1/grades/75W-90"), 404, "unknown-id")["errors"][0]
    assert error["did_you_mean"] == "75w-90"


def test_every_grade_resolves(client, base) -> None:
    ids = catalogue.grade_ids(base)
    found = [client.get(f"/v1/grades/{id}").json() for id in ids]
    assert "80w-90" in ids
    assert all(grade["sae_j306"] or grade["sae_j300"] or grade["iso_3448"] for grade in found)
    assert [row["grade"] for row in client.get("/v1/grades/vg-32").json()["iso_3448"]] == ["32"]


def test_a_rule_says_what_it_claims_and_why(client) -> None:
    for rule in client.get("/v1/rules").json()["rules"]:
        assert rule["claim"].endswith(".")
        assert rule["because"]
        assert rule["reads"] is not None
        assert rule["sources"]


def test_the_export_holds_every_table_whole(client, base) -> None:
    export = client.get("/v1/knowledge").json()
    assert export["knowledge"] == base.stamp.model_dump()
    assert export["sae_j306_editions"] == {"kept": ["2005", "2019"], "default": "2019"}
    assert {name: len(rows) for name, rows in export["tables"].items()} == {
        name: count for name, count in export["counts"].items() if name != "rules"
    }
    assert len(export["tables"]["lubricants"]) == len(base.lubricant_rows)


def test_the_service_tells_that_it_is_up_and_what_it_is(client, base) -> None:
    assert client.get("/healthz").json() == {"status": "ok"}
    ready = client.get("/readyz").json()
    assert (ready["status"], ready["knowledge"]) == ("ready", base.stamp.model_dump())
    assert client.get("/version").json()["knowledge"] == base.stamp.model_dump()
