"""What would change the answer and its map, as they are served."""

from collections import Counter
from typing import Any
from xml.etree import ElementTree

BOX = {"rings": [{"facing": "bronze", "condition": "worn"}], "duty": "towing", "coldest_start_c": -20,
       "sump_hot_c": 115, "final_drive": "none", "wet_clutch": False, "limited_slip": False}  # fmt: skip
LINK = (
    "/v1/fill/map?facing=bronze&condition=worn&duty=towing&coldest_start_c=-20&sump_hot_c=115&final_drive=none"
    "&wet_clutch=false&limited_slip=false"
)
SVG = "{http://www.w3.org/2000/svg}"
PICTURE = {"Accept": "image/svg+xml"}


def test_turns_are_those_of_the_answer_to_the_same_question(client) -> None:
    turns, answer = (client.post(path, json=BOX).json() for path in ("/v1/fill/turns", "/v1/fill"))
    assert turns["answer_id"] == answer["answer_id"]
    assert turns["leader"] == answer["leader"]["lubricant"]["id"]
    stated = {turn["pointer"]: turn["stated"] for turn in turns["turns"]}
    assert stated["/coldest_start_c"]
    assert stated["/rings/0/facing"]
    assert not stated["/box_kind"]
    assert any(turn["changes"] == [] for turn in turns["turns"])


def test_a_map_by_link_is_that_of_the_question(client) -> None:
    assert client.get(LINK).json() == client.post("/v1/fill/map", json=BOX).json()


def test_what_is_no_question_is_refused_by_name(client) -> None:
    for path in ("/v1/fill/turns", "/v1/fill/map"):
        refused = client.post(path, json={"coldest_start_c": 51})
        assert refused.status_code == 422
        assert refused.json()["errors"][0]["pointer"] == "/coldest_start_c"


def test_the_drawing_covers_the_map_and_names_each_region_without_colour(client) -> None:
    found = client.post("/v1/fill/map", json=BOX).json()
    drawn = client.get(LINK, headers=PICTURE)
    assert drawn.headers["content-type"].startswith("image/svg+xml")
    assert drawn.content == client.post("/v1/fill/map", json=BOX, headers=PICTURE).content
    root = ElementTree.fromstring(drawn.content)
    assert all("style" not in shape.attrib for shape in root.iter())
    assert root.find(f"{SVG}desc").text
    blocks = [shape.attrib for shape in root.iter(f"{SVG}rect") if "region" in shape.attrib["class"]]
    drawn_share = Counter[int]()
    for block in blocks:
        area = float(block["width"].removesuffix("%")) / 100 * float(block["height"]) / 320
        drawn_share[int(block["class"].rpartition("-")[2])] += area
    for place, region in enumerate(found["regions"]):
        assert abs(drawn_share[place] - region["share"]) < 0.01
    letters = [text.text for text in root.iter(f"{SVG}text") if text.attrib.get("class") == "letter"]
    assert letters == [chr(ord("A") + place) for place in range(len(found["regions"]))]
    words = " ".join(root.itertext())
    assert all(region["lubricant"]["name"] in words for region in found["regions"])
    (circle,) = root.iter(f"{SVG}circle")
    # -20 is the middle of the sixteenth of 40 columns from -50 in steps of 2.
    assert float(circle.attrib["cx"].removesuffix("%")) == 100 * 15.5 / 40


def test_firmness_is_told_of_the_answer_and_takes_no_fewer_than_200_draws(client) -> None:
    found = client.post("/v1/fill/firmness", json={"question": BOX}).json()
    assert found["leader"] == client.post("/v1/fill", json=BOX).json()["leader"]["lubricant"]["id"]
    assert found["draws"] == 200
    assert 0 <= found["holds"] <= 1
    assert client.post("/v1/fill/firmness", json={"question": BOX, "draws": 200.0}).json() == found
    refused = client.post("/v1/fill/firmness", json={"question": BOX, "draws": 10})
    assert refused.status_code == 422
    assert refused.json()["errors"][0]["pointer"] == "/draws"


def test_the_same_seed_draws_the_same_and_another_hardly_moves_the_share(client) -> None:
    def drawn(seed: int) -> Any:
        return client.post("/v1/fill/firmness", json={"question": BOX, "seed": seed}).json()

    assert drawn(7) == drawn(7)
    assert drawn(7)["seed"] == 7
    assert drawn(7)["answer_id"] != drawn(8)["answer_id"]
    assert abs(drawn(7)["holds"] - drawn(8)["holds"]) < 0.15
    for seed in (-1, 2**32, 1.5, "7"):
        refused = client.post("/v1/fill/firmness", json={"question": BOX, "seed": seed})
        assert refused.status_code == 422
        assert refused.json()["errors"][0]["pointer"] == "/seed"


def test_a_box_of_the_shop_is_as_firm_however_its_id_is_written(client) -> None:
    asked = ({"question": {"box_ref": id}} for id in ("bench-paper-5", "Bench-Paper-5"))
    as_it_is, in_capitals = (client.post("/v1/fill/firmness", json=question).json() for question in asked)
    assert in_capitals == as_it_is
