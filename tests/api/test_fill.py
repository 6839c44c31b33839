"""The fill question over HTTP."""

import json
from pathlib import Path
from statistics import median

import pytest

KNOWN_BOX = {
    "rings": [{"gears": "1-2", "facing": "paper", "body": "sintered-iron", "cones": 2, "condition": "new"}],
    "yellow_metal": True,
    "final_drive": "none",
    "limited_slip": False,
    "wet_clutch": False,
    "coldest_start_c": -20,
    "sump_hot_c": 95,
    "duty": "street",
    "service_data": {"family": "mtf", "grade": "75W-80", "note": "book, page 12"},
}


def test_an_empty_question_gets_an_answer(client) -> None:
    response = client.post("/v1/fill", json={})
    assert response.status_code == 200
    answer = response.json()
    assert answer["outcome"] == "depends"
    assert len(answer["ask_next"]) == 3


def test_a_box_that_is_known_gets_every_class_judged(client, base) -> None:
    answer = client.post("/v1/fill?detail=full", json=KNOWN_BOX).json()
    assert {item["lubricant"]["id"] for item in answer["candidates"]} == set(base.lubricant_rows)
    assert answer["service_data"]["status"] != "not-given"
    assert len(answer["summary"]) <= 140


def test_the_answer_names_the_edition_that_spoke(client, base) -> None:
    response = client.post("/v1/fill", json=KNOWN_BOX)
    assert response.json()["knowledge"] == {"version": base.version, "digest": base.digest}
    assert response.headers["knowledge-version"] == base.version


@pytest.mark.parametrize(
    ("link", "question"),
    [
        ({}, {}),
        ({"facing": "none"}, {"rings": []}),
        ({"yellow_metal": "true", "final_drive": "hypoid"}, {"yellow_metal": True, "final_drive": "hypoid"}),
        (
            {"facing": "paper", "body": "sintered-iron", "cones": "2", "condition": "new", "coldest_start_c": "-20"},
            {
                "rings": [{"facing": "paper", "body": "sintered-iron", "cones": 2, "condition": "new"}],
                "coldest_start_c": -20,
            },
        ),
        (
            {"service_family": "mtf", "service_grade": "75W-80", "sump_hot_c": "95.5", "duty": "towing"},
            {"service_data": {"family": "mtf", "grade": "75W-80"}, "sump_hot_c": 95.5, "duty": "towing"},
        ),
        (
            {"facing": "bronze", "cones": "1", "other_facing": ["sintered", "Paper"]},
            {"rings": [{"facing": "bronze", "cones": 1}, {"facing": "sintered"}, {"facing": "Paper"}]},
        ),
    ],
)
def test_a_link_gets_the_same_answer_as_the_question_it_stands_for(client, link, question) -> None:
    by_link = client.get("/v1/fill", params=link)
    by_post = client.post("/v1/fill", json=question)
    assert by_link.status_code == by_post.status_code == 200
    assert by_link.content == by_post.content


def test_a_link_of_mixed_rings_is_refused_at_the_field_that_is_wrong(client, assert_problem) -> None:
    for given, slug, code in (
        ("facing=bronze&other_facing=sinterd", "unknown-id", None),
        ("facing=none&other_facing=paper", "invalid-request", "no_rings_no_parts"),
        ("facing=paper" + "&other_facing=paper" * 12, "invalid-request", None),
    ):
        found = assert_problem(client.get(f"/v1/fill?{given}"), 422, slug)["errors"]
        assert [(error["pointer"], error["code"]) for error in found] == [("/other_facing", code or found[0]["code"])]


def test_null_and_absent_are_the_same_question(client) -> None:
    absent = client.post("/v1/fill", json={"rings": [{"facing": "bronze"}]})
    null = client.post("/v1/fill", json={"rings": [{"facing": "bronze", "body": None}], "duty": None, "mesh": None})
    assert null.content == absent.content


def test_no_rings_and_unknown_rings_are_different_questions(client) -> None:
    assert client.post("/v1/fill", json={"rings": []}).content != client.post("/v1/fill", json={}).content


DEMO = Path(__file__).parents[2] / "demo_data" / "questions"
OF_FILL = {
    path.stem: question["question"]
    for path in sorted(DEMO.glob("*.json"))
    if (question := json.loads(path.read_text(encoding="utf-8")))["ask"] == "fill"
}


@pytest.fixture(scope="module")
def sizes(client) -> dict[str, tuple[int, int]]:
    """The bytes of the short and of the full answer to each fill question of the demo data, and to `{}`."""

    def size(question: dict, detail: str) -> int:
        response = client.post("/v1/fill", params={"detail": detail}, json=question)
        assert response.status_code == 200
        return len(response.content)

    asked = {**OF_FILL, "nothing": {}}
    return {name: (size(question, "short"), size(question, "full")) for name, question in asked.items()}


def test_short_answers_are_short(sizes) -> None:
    short = {name: size for name, (size, _) in sizes.items()}
    assert median(short.values()) <= 8_000
    assert {name: size for name, size in short.items() if size > 14_000} == {}


def test_full_answers_are_bounded(sizes) -> None:
    assert {name: full for name, (_, full) in sizes.items() if full > 150_000} == {}


def test_a_jug_takes_no_more_than_300_bytes_of_a_short_answer(client) -> None:
    jugs = [jug for question in OF_FILL.values() for jug in client.post("/v1/fill", json=question).json()["jugs"]]
    assert len(jugs) > 10
    assert [jug for jug in jugs if len(json.dumps(jug, ensure_ascii=False, separators=(",", ":")).encode()) > 300] == []


def test_a_short_answer_links_to_the_full_one(client) -> None:
    short = client.get("/v1/fill?facing=paper&duty=street&service_note=book,+page+12").json()
    full = client.get(short["full"])
    assert full.status_code == 200
    assert full.json()["answer_id"] == short["answer_id"]
    assert set(short) < set(full.json())
    two_worn = {"rings": [{"facing": "paper", "condition": "worn"}] * 2}
    assert client.post("/v1/fill", json=two_worn).json()["full"] is None


def test_one_class_is_explained_by_link_and_by_post(client) -> None:
    path = "/v1/fill/lubricants/gl-5-75w-90"
    by_link, by_post = client.get(f"{path}?facing=bronze"), client.post(path, json={"rings": [{"facing": "bronze"}]})
    assert by_link.content == by_post.content
    explained = by_link.json()
    assert explained["verdict"] == "does-not-fit"
    findings = {item["rule"]: item for item in explained["findings"]}
    assert findings["full-ep-additives-attack-yellow-metal"]["sources"]
    assert findings["bearings-need-viscosity-when-hot"]["figures"]


@pytest.mark.parametrize("method", ["get", "post"])
def test_a_class_that_is_not_known_is_told_with_the_nearest(client, assert_problem, method) -> None:
    given = {"json": {}} if method == "post" else {}
    problem = assert_problem(getattr(client, method)("/v1/fill/lubricants/gl-4-75w-9", **given), 404, "unknown-id")
    (error,) = problem["errors"]
    assert error["did_you_mean"] == "gl-4-75w-90"
    assert "mtf-75w-80" in error["known"]


@pytest.mark.parametrize("query", ["detail=all", "detail=short&detail=full", "detial=full"])
def test_only_a_known_detail_is_answered(client, assert_problem, query) -> None:
    assert_problem(client.post(f"/v1/fill?{query}", json={}), 422, "invalid-request")
    assert_problem(client.get(f"/v1/fill?{query}"), 422, "invalid-request")
