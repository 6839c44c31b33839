"""The question about draining over HTTP."""

import pytest

from api.openapi import question_examples
from api.settings import DEMO

EXAMPLES = question_examples(DEMO, "drain")


@pytest.fixture(scope="module")
def shop_box(client):
    """A box of the demo shop whose capacity is known."""
    return next(box for box in client.get("/v1/shop/boxes").json()["boxes"] if box["capacity_l"])


def test_an_empty_question_gets_an_answer(client) -> None:
    answer = client.post("/v1/drain", json={}).json()
    assert answer["rounds"]
    assert answer["assumed"]


@pytest.mark.parametrize("name", EXAMPLES)
def test_an_answer_is_short_by_the_names_of_the_contract_and_full_adds_to_it(client, name: str) -> None:
    response = client.post("/v1/drain", json=EXAMPLES[name]["value"])
    short = response.json()
    whole = client.post("/v1/drain?detail=full", json=EXAMPLES[name]["value"]).json()
    assert len(response.content) <= 6_000
    names = {"old_share", "kv40_mm2_s", "kv100_mm2_s", "viscosity_index", "hot_grade_estimate", "litres_used"}
    assert all(names <= set(item) for item in short["rounds"])
    assert {"added_share", "harmless", "job_card", "rounds_to_target"} <= set(short)
    assert (short["rounds_to_target"], len(short["rounds"])) == (whole["rounds_to_target"], len(whole["rounds"]))
    assert set(short) < set(whole)
    assert {"question", "sources"} <= set(whole) - set(short)
    assert 0 < len(short["say"].split()) <= 40
    warned = [item for item in whole["findings"] if item["effect"] in ("cautions", "excludes")]
    assert [item["rule"] for item in short["findings"]] == [item["rule"] for item in warned]
    assert all(set(item) == {"rule", "severity", "text"} for item in short["findings"])
    surely = [item["id"] for item in whole["cautions"] if item["only_if"] is None]
    assert [item["id"] for item in short["cautions"]] == surely[:5]


def test_more_than_the_shops_own_box_holds_is_refused_as_if_it_had_been_typed(client, assert_problem, shop_box) -> None:
    holds = shop_box["capacity_l"]
    asked = {"question": {"box_ref": shop_box["id"]}, "drained_l": holds + 1}
    error = assert_problem(client.post("/v1/drain", json=asked), 422, "invalid-request")["errors"][0]
    assert (error["pointer"], error["code"]) == ("/drained_l", "more_than_it_holds")
    assert f"{holds:g} litres" in error["detail"]
    stated = client.post("/v1/drain?detail=full", json={**asked, "capacity_l": holds + 2})
    assert stated.json()["question"]["capacity_l"] == holds + 2


def test_a_top_up_is_told_with_its_share_and_what_to_write_down(client) -> None:
    asked = {"capacity_l": 2.0, "top_up_l": 0.3, "old": {"family": "mtf"}, "new": {"family": "atf"}}
    answer = client.post("/v1/drain", json=asked).json()
    assert (answer["added_share"], answer["harmless"], answer["rounds"]) == (0.15, True, [])
    assert answer["job_card"].startswith("0.3 l (15 %) of ATF-type fluid in MTF.")
    changed = client.post("/v1/drain", json={**asked, "top_up_l": None}).json()
    assert (changed["added_share"], changed["harmless"], changed["job_card"]) == (None, None, None)


def test_no_more_is_topped_up_than_the_box_holds(client, assert_problem, shop_box) -> None:
    for asked in ({"capacity_l": 2, "top_up_l": 2.1}, {"question": {"box_ref": shop_box["id"]}, "top_up_l": 900}):
        error = assert_problem(client.post("/v1/drain", json=asked), 422, "invalid-request")["errors"][0]
        assert (error["pointer"], error["code"]) == ("/top_up_l", "more_than_it_holds")
