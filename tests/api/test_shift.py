"""The shift question over HTTP: JSON, pictures, links, and what is refused."""

import re
from typing import Any
from xml.etree import ElementTree

import pytest

from api.charts.chart import Chart, Line, Panel, linear
from api.http.pictures import wants_picture
from tests.knowledge.shift.asked import NAMES

SVG = "image/svg+xml"
LOAD = {"inertia_kg_m2": 0.01, "speed_difference_rpm": 1500}


def texts(picture: str) -> list[str]:
    """Every text that stands in a drawing."""
    return [node.text for node in ElementTree.fromstring(picture).iter("{http://www.w3.org/2000/svg}text")]


@pytest.mark.parametrize("detail", ["short", "full"])
def test_the_names_of_the_contract_are_there(client, base, detail: str) -> None:
    answer = client.post(f"/v1/shift?detail={detail}", json=LOAD).json()
    assert answer.keys() >= NAMES
    assert answer["facings"][0]["facing"] == answer["facing"]
    assert {item["facing"] for item in answer["facings"]} == set(base.facings)
    for item in answer["facings"]:
        assert item.keys() >= {"facing", "verdict", "margins", "findings"}
        assert all(margin.keys() >= {"limit", "value", "allowed", "ratio", "standing"} for margin in item["margins"])
    assert answer["knowledge"] == base.stamp.model_dump()


def test_full_adds_to_the_short_answer_and_a_link_says_the_same(client, assert_problem) -> None:
    short, full = (client.get("/v1/shift", params={**LOAD, "detail": detail}) for detail in ("short", "full"))
    assert short.json() == client.post("/v1/shift", json=LOAD).json() == client.get("/v1/shift", params=LOAD).json()
    assert full.json() == client.post("/v1/shift?detail=full", json=LOAD).json()
    assert len(short.content) <= 6_000 < len(full.content)
    assert full.json().keys() > short.json().keys() - {"assumed"}
    for name in NAMES - {"facings", "least_changes"}:
        assert full.json()[name] == full.json()["facings"][0][name]
    wrong = assert_problem(client.get("/v1/shift", params={**LOAD, "detail": "all"}), 422, "invalid-request")
    assert [error["pointer"] for error in wrong["errors"]] == ["/detail"]


def test_a_facing_shows_its_limits_with_the_chosen_ones_marked(client) -> None:
    bronze = client.get("/v1/facings/bronze").json()["entry"]
    assert {row["quantity"] for row in bronze["limits"] if row["chosen"]} >= {"pressure_n_mm2", "mean_power_w_mm2"}
    assert bronze["friction"]
    assert bronze["heat"]
    assert bronze["friction_by_fluid"]


@pytest.mark.parametrize(
    ("wrong", "pointer", "words"),
    [
        ({"mean_radius_mm": -32}, "/mean_radius_mm", "a number from 10 up to 300 mm, or a list of 1 to 3"),
        ({"mean_radius_mm": []}, "/mean_radius_mm", "a list of 1 to 3"),
        ({"mean_radius_mm": [32, 29, 26, 23]}, "/mean_radius_mm", "a list of 1 to 3"),
        ({"mean_radius_mm": [32, 29], "cones": 3}, "/mean_radius_mm", "one for each of the 3 cones"),
        ({"inertia_kg_m2": 0}, "/inertia_kg_m2", "a number from 0.000001 up to 10 kg·m², or an object with gear"),
        ({"inertia_kg_m2": [0.01]}, "/inertia_kg_m2", "or an object with gear"),
        ({"inertia_kg_m2": {"gear": 0}}, "/inertia_kg_m2/gear", "Must be from 0.000001 up to 10"),
        ({"inertia_kg_m2": {"layshaft": 0.1}}, "/inertia_kg_m2/gear", "This field is needed."),
        ({"inertia_kg_m2": {"gear": 0.1, "layshaf": 1}}, "/inertia_kg_m2/layshaf", "Did you mean layshaft?"),
    ],
)
def test_a_field_of_several_shapes_is_told_with_all_of_them(
    client, assert_problem, wrong: dict[str, Any], pointer: str, words: str
) -> None:
    error = assert_problem(client.post("/v1/shift", json={**LOAD, **wrong}), 422, "invalid-request")["errors"]
    assert [item["pointer"] for item in error] == [pointer]
    assert words in error[0]["detail"]


def test_a_whole_number_may_be_written_with_a_point(client) -> None:
    counts = [client.post("/v1/shift", json={**LOAD, "cones": cones, "shifts": cones}).json() for cones in (2, 2.0)]
    assert counts[0] == counts[1]


@pytest.mark.parametrize("accept", [SVG, f"{SVG}, application/json;q=0.5", f"{SVG},*/*;q=0.8"])
def test_the_same_answer_can_be_had_as_a_drawing(client, accept: str) -> None:
    question = {**LOAD, "facing": "bronze", "fluid": "gl-4-75w-90"}
    response = client.post("/v1/shift", json=question, headers={"Accept": accept})
    assert (response.status_code, response.headers["content-type"]) == (200, SVG)
    assert "Accept" in response.headers["vary"]
    assert response.content == client.get("/v1/shift/curve", params=question).content
    assert response.content == client.get("/v1/shift", params=question, headers={"Accept": accept}).content
    assert client.post("/v1/shift", json=question).headers["content-type"] == "application/json"


@pytest.mark.parametrize(
    ("accept", "picture"),
    [
        ("", False),
        ("*/*", False),
        ("application/json", False),
        (f"application/json, {SVG}", False),
        (f"{SVG};q=0", False),
        (f"{SVG};q=rubbish", False),
        (f"image/avif,{SVG},image/*,*/*;q=0.8", True),
        (f"application/json;q=0.2,{SVG};q=0.9", True),
        (";;;,,,q=", False),
    ],
)
def test_a_drawing_is_sent_only_to_who_prefers_one(accept: str, picture: bool) -> None:
    assert wants_picture(accept) is picture


def test_a_drawing_can_be_read_in_black_and_white_and_by_who_cannot_see_it(client) -> None:
    question = {**LOAD, "facing": "bronze", "fluid": "gl-4-80w-90", "start_c": 40, "condition": "worn"}
    answer = client.post("/v1/shift?detail=full", json=question).json()
    picture = client.get("/v1/shift/curve", params=question).text
    root = ElementTree.fromstring(picture)
    assert root.attrib["role"] == "img"
    named = {node.attrib.get("id"): node.text for node in root}
    title, about = (named[id] for id in root.attrib["aria-labelledby"].split())
    assert "bronze" in title
    slip_ms = 1000 * (answer["curve"][-1]["time_s"] - answer["wiping_time_s"])
    assert f"{float(f'{slip_ms:.2g}'):g} ms" in about
    lines = root.findall("{http://www.w3.org/2000/svg}polyline")
    dashes = [line.attrib.get("stroke-dasharray") for line in lines]
    assert len(dashes) == len(set(dashes)) == 5
    assert {line.attrib["stroke"] for line in lines} == {"#000"}
    assert {"speed difference", "cone torque", "index torque", "low friction", "face, at least"} <= set(texts(picture))


def test_a_drawing_needs_neither_styles_nor_scripts_nor_anything_from_elsewhere(client) -> None:
    response = client.get("/v1/shift/curve", params=LOAD)
    assert not re.search(r"style|<script|href|\son\w+=|url\(|@import", response.text)
    assert response.text.count("http") == 1
    assert response.content == client.get("/v1/shift/curve", params=LOAD).content
    again = client.get("/v1/shift/curve", params=LOAD, headers={"If-None-Match": response.headers["etag"]})
    assert again.status_code == 304


def test_a_shift_that_never_ends_is_drawn_too(client) -> None:
    dragged = {**LOAD, "facing": "bronze", "direction": "down", "drag_nm": 30}
    picture = client.get("/v1/shift/curve", params=dragged).text
    assert "never closes" in picture
    assert any("no temperature" in text for text in texts(picture))


def test_a_link_takes_a_radius_for_each_cone(client, assert_problem) -> None:
    two = [*LOAD.items(), ("facing", "carbon"), ("mean_radius_mm", "32"), ("mean_radius_mm", "29")]
    same = {**LOAD, "facing": "carbon", "mean_radius_mm": [32, 29]}
    posted = client.post("/v1/shift", json=same, headers={"Accept": SVG})
    assert client.get("/v1/shift/curve", params=two).content == posted.content
    wrong = assert_problem(client.get("/v1/shift/curve", params=[*two, ("cones", "3")]), 422, "invalid-request")
    assert wrong["errors"][0]["pointer"] == "/mean_radius_mm"
    assert wrong["errors"][0]["location"] == "query"


def test_text_in_a_drawing_is_escaped() -> None:
    axis = linear("<b>&", (0, 1))
    panel = Panel(axis, (Line("<i>", ((0, 0), (1, 1))),))
    picture = Chart(id="x", title='"<x>', about="a & b", across=axis, panels=(panel,)).svg()
    assert "<b>&" in texts(picture)
    assert "<i>" in texts(picture)
    assert "<x>" not in picture


@pytest.mark.parametrize("values", [(0, 0), (1e-12, 1e-12), (5, 5), (-3, -3), (1e9, 1e9 + 1), (0, 1e-9), (-40, 1e12)])
def test_an_axis_holds_its_values_whatever_they_are(values: tuple[float, float]) -> None:
    axis = linear("x", values)
    unseen = 1e-6 * (axis.high - axis.low)
    assert axis.low - unseen <= min(values) <= max(values) <= axis.high + unseen
    assert axis.low < axis.high
    assert 2 <= len(axis.ticks) <= 20
