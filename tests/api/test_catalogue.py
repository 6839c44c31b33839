"""The knowledge, browsable."""

import json
import re
from collections.abc import Iterator
from typing import Any

import pytest

from api.settings import DEMO
from knowledge.fluids.scales import grade_ids
from knowledge.loading.files import TABLES

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
    "box-kinds",
    "changes",
)


@pytest.mark.parametrize("name", CATALOGUES)
def test_every_entry_of_a_catalogue_resolves_to_itself(client, base, name: str) -> None:
    listed = client.get(f"/v1/{name}").json()
    assert listed["knowledge"] == base.stamp.model_dump()
    assert listed[name.replace("-", "_")]
    for entry in listed[name.replace("-", "_")]:
        assert client.get(f"/v1/{name}/{entry['id']}").json() == {"knowledge": listed["knowledge"], "entry": entry}


@pytest.mark.parametrize(("name", "part"), [("facings", "bodies"), ("lubricants", "families")])
def test_what_stands_inside_another_catalogue_resolves_too(client, name: str, part: str) -> None:
    for entry in client.get(f"/v1/{name}").json()[part]:
        assert client.get(f"/v1/{part}/{entry['id']}").json()["entry"] == entry


# The catalogue of the ids that stand in fields of these names, and of the entries of these lists.
CATALOGUE_OF = {
    "rule": "rules",
    "lubricant": "lubricants",
    "lubricants": "lubricants",
    "may_be": "lubricants",
    "then": "lubricants",
    "family": "families",
    "facing": "facings",
    "duty": "duties",
    "box_kind": "box-kinds",
    "symptoms": "symptoms",
    "suspects": "suspects",
    "points_to": "suspects",
    "check": "checks",
    "next_checks": "checks",
    "cautions": "cautions",
    "every_fill": "cautions",
    "sources": "sources",
}


def ids_in(value: Any, name: str = "") -> Iterator[str]:
    """The path of each id that an answer names."""
    if isinstance(value, dict):
        yield from ids_in(value.get("id"), name)
        for inner, part in value.items():
            if inner != "params":  # What fills in a sentence is words.
                yield from ids_in(part, inner)
    elif isinstance(value, list):
        for part in value:
            yield from ids_in(part, name)
    elif isinstance(value, str) and name in CATALOGUE_OF:
        yield f"/v1/{CATALOGUE_OF[name]}/{value}"


@pytest.mark.parametrize("detail", ["short", "full"])
def test_every_id_in_an_answer_resolves(client, detail: str) -> None:
    demos = [json.loads(path.read_bytes()) for path in (DEMO / "questions").glob("*.json")]
    asked = [*((demo["ask"], demo["question"]) for demo in demos), ("fill", {})]
    answers = [client.post(f"/v1/{ask}?detail={detail}", json=question).json() for ask, question in asked]
    paths = sorted(set(ids_in(answers)))
    assert detail == "short" or {path.split("/")[2] for path in paths} == set(CATALOGUE_OF.values())
    assert [path for path in paths if client.get(path).status_code != 200] == []


@pytest.mark.parametrize("name", [*CATALOGUES, "grades"])
def test_an_unknown_id_in_a_path_is_told_with_the_known_ones(client, assert_problem, name: str) -> None:
    error = assert_problem(client.get(f"/v1/{name}/no-such-thing"), 404, "unknown-id")["errors"][0]
    assert error["location"] == "path"
    assert error["known"]


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
    error = assert_problem(client.get("/v1/grades/75w90"), 404, "unknown-id")["errors"][0]
    assert error["did_you_mean"] == "75w-90"


def test_every_grade_resolves(client, base) -> None:
    ids = grade_ids(base)
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


def test_the_changes_tell_of_each_edition_from_the_newest(client, base) -> None:
    told = client.get("/v1/changes").json()["changes"]
    assert told[0]["id"] == base.version
    text = (TABLES / "CHANGES.md").read_text(encoding="utf-8")
    assert [item["id"] for item in told] == [line[3:] for line in text.splitlines() if line.startswith("## ")]
    words = re.sub(r"^(?:- |#.*|Tables: .*)", "", text, flags=re.MULTILINE).split()
    assert " ".join(part for item in told for part in item["says"]).split() == words


def test_an_era_stands_below_a_layout_that_its_id_begins_with(client) -> None:
    kinds = {kind["id"]: kind for kind in client.get("/v1/box-kinds").json()["box_kinds"]}
    layouts = {id for id, kind in kinds.items() if kind["layout"] is None}
    assert 1 < len(layouts) <= 6
    assert all(
        kind["layout"] in layouts and id.startswith(kind["layout"]) for id, kind in kinds.items() if id not in layouts
    )
