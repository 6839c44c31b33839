"""The fill question over HTTP."""

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
    assert answer["outcome"] in ("settled", "depends", "none-suitable")
    assert answer["ask_next"]


def test_a_box_that_is_known_gets_every_class_judged(client, base) -> None:
    answer = client.post("/v1/fill", json=KNOWN_BOX).json()
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
    ],
)
def test_a_link_gets_the_same_answer_as_the_question_it_stands_for(client, link, question) -> None:
    by_link = client.get("/v1/fill", params=link)
    by_post = client.post("/v1/fill", json=question)
    assert by_link.status_code == by_post.status_code == 200
    assert by_link.content == by_post.content


def test_the_same_question_gets_the_same_bytes(client) -> None:
    assert client.post("/v1/fill", json=KNOWN_BOX).content == client.post("/v1/fill", json=KNOWN_BOX).content


def test_null_and_absent_are_the_same_question(client) -> None:
    absent = client.post("/v1/fill", json={"rings": [{"facing": "bronze"}]})
    null = client.post("/v1/fill", json={"rings": [{"facing": "bronze", "body": None}], "duty": None, "mesh": None})
    assert null.content == absent.content


def test_no_rings_and_unknown_rings_are_different_questions(client) -> None:
    assert client.post("/v1/fill", json={"rings": []}).content != client.post("/v1/fill", json={}).content


def test_a_link_without_rings_refuses_parts_of_rings(client, assert_problem) -> None:
    response = client.get("/v1/fill", params={"facing": "none", "cones": 2})
    assert_problem(response, 422, "invalid-request")
    (error,) = response.json()["errors"]
    assert error["pointer"] == "/cones"
    assert "no rings" in error["detail"]
