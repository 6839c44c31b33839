"""What goes out comes back in: echoed questions, entries of the shop, ids in any spelling; and links of questions."""

import json
from typing import Any
from urllib.parse import urlencode

import pytest

from api.settings import DEMO

DEMOS = [json.loads(path.read_text(encoding="utf-8")) for path in sorted((DEMO / "questions").glob("*.json"))]
# Of a box of the shop the echo has what the box filled in, so it is another question.
OF_THE_QUESTION = {"answer_id", "full"}


def told(answer: Any) -> Any:
    """An answer without what names the question."""
    return {name: value for name, value in answer.items() if name not in OF_THE_QUESTION}


@pytest.mark.parametrize("demo", DEMOS, ids=lambda demo: demo["title"])
def test_an_echoed_question_is_asked_again_as_it_stands(client, demo) -> None:
    path = f"/v1/{demo['ask']}"
    echoed = client.post(f"{path}?detail=full", json=demo["question"]).json()["question"]
    first, again = (client.post(path, json=question).json() for question in (demo["question"], echoed))
    assert told(again) == told(first)


def test_a_jug_of_the_shelf_is_posted_as_it_is_listed(client) -> None:
    for jug in client.get("/v1/shop/shelf").json()["shelf"]:
        by_itself = client.post("/v1/jug", json=jug).json()
        assert told(by_itself) == told(client.post("/v1/jug", json={"shelf_ref": jug["id"]}).json())
        at_hand = client.post("/v1/fill", json={"rings": [], "on_hand": [jug], "in_it_now": jug}).json()
        assert [found["name"] for found in at_hand["jugs"]] == [jug["name"]]


def test_a_box_of_the_shop_is_posted_as_it_is_listed(client) -> None:
    for box in client.get("/v1/shop/boxes").json()["boxes"]:
        answer = client.post("/v1/fill", json=box).json()
        assert answer["leader"] == client.post("/v1/fill", json={"box_ref": box["id"]}).json()["leader"]
        jug = client.post("/v1/jug", json={"shelf_ref": "jug-a", "question": box})
        assert jug.json()["verdict"]


def test_what_is_ignored_is_named_so_and_what_is_not_known_is_refused(client, assert_problem) -> None:
    schemas = client.get("/openapi.json").json()["components"]["schemas"]
    for model, names in {
        "FillQuestion": ("assumed", "from_box", "id", "name", "capacity_l", "notes"),
        "Jug": ("id", "litres", "notes"),
        "JugQuestion": ("id", "litres", "notes"),
        "ShiftQuestion": ("assumed",),
        "ShelfJug": ("id", "litres", "notes"),
        "Box": ("id", "name", "capacity_l", "notes"),
    }.items():
        properties = schemas[model]["properties"]
        assert {name for name, field in properties.items() if field.get("readOnly")} == set(names), model
        assert schemas[model].get("additionalProperties") is (None if model == "Box" else False)
    assert client.post("/v1/fill", json={"assumed": {"any": "thing"}, "id": 7}).status_code == 200
    error = assert_problem(client.post("/v1/fill", json={"notess": "x"}), 422, "invalid-request")["errors"][0]
    assert "notes" not in error["known"]


def test_a_stated_line_stands_before_that_of_the_shelf_and_viscosities_are_all_of_one_jug(client) -> None:
    asked = {"shelf_ref": "jug-a", "kv100_mm2_s": 9.0, "copper_strip": {"rating": "3b"}}
    echoed = client.post("/v1/jug?detail=full", json=asked).json()["question"]
    assert (echoed["kv40_mm2_s"], echoed["kv100_mm2_s"], echoed["kv100_sheared_mm2_s"]) == (None, 9.0, None)
    assert echoed["copper_strip"]["rating"] == "3b"
    assert echoed["label"] == {"family": "gl-4", "grade": "75W-90", "also": []}


def test_a_jug_that_the_shop_does_not_have_is_told_with_the_nearest(client, assert_problem) -> None:
    error = assert_problem(client.post("/v1/jug", json={"shelf_ref": "jugg-b"}), 422, "unknown-id")["errors"][0]
    assert (error["pointer"], error["did_you_mean"]) == ("/shelf_ref", "jug-b")
    error = assert_problem(client.get("/v1/jug?shelf_ref=jugg-b"), 422, "unknown-id")["errors"][0]
    assert (error["location"], error["pointer"]) == ("query", "/shelf_ref")


BOX = {"rings": [{"facing": "paper", "cones": 2}], "limited_slip": False, "service_data": {"family": "mtf"}}
FLAT_BOX = {"facing": "paper", "cones": 2, "service_family": "mtf"}
LABEL = {"family": "gl-4", "grade": "75W-90", "also": ["mt-1"]}
POINT = {"temperature_c": -40, "viscosity_mpa_s": 110000}
LINKS = [
    ("jug", {}, {}),
    ("jug", {"use_shelf": False}, {}),  # what a client sends that fills in every default
    ("jug", {"kv40_mm2_s": 95, "kv100_mm2_s": 15.2, "limited_slip": False}, None),
    (
        "jug",
        {"name": "left", **LABEL, "t150_c": -41, "copper_strip_rating": "1b", "copper_strip_hours": 3, **FLAT_BOX}
        | {"brookfield_temperature_c": -40, "brookfield_viscosity_mpa_s": 110000, "box_limited_slip": "false"},
        {"name": "left", "label": LABEL, "t150_c": -41, "copper_strip": {"rating": "1b", "hours": 3}}
        | {"brookfield": [POINT], "question": BOX},
    ),
    (
        "jug",
        {"shelf_ref": "jug-c", "box_ref": "bench-bronze-5"},
        {"shelf_ref": "jug-c"} | {"question": {"box_ref": "bench-bronze-5"}},
    ),
    (
        "drain",
        {
            "capacity_l": 2.2,
            "drained_l": 1.8,
            "old_family": "gl-5",
            "old_kv40_mm2_s": 98,
            "new_family": "mtf",
            "rounds": 3,
        }
        | {"old_kv100_mm2_s": 15, "facing": "bronze"},
        {"capacity_l": 2.2, "drained_l": 1.8, "new": {"family": "mtf"}, "rounds": 3}
        | {
            "old": {"family": "gl-5", "kv40_mm2_s": 98, "kv100_mm2_s": 15},
            "question": {"rings": [{"facing": "bronze"}]},
        },
    ),
    (
        "symptom",
        {"symptoms": ["grinds-one-gear", "stiff-only-cold"], "when": "cold", "fluid_state": ["dark", "low"]}
        | {"ring_gap_measured_mm": 0.5, "ring_gap_service_limit_mm": 0.6, "ring_gap_worn_when": "smaller"}
        | {"engine_off_same": "false", "facing": "none", "in_it_family": "gl-5"},
        {"symptoms": ["grinds-one-gear", "stiff-only-cold"], "when": "cold", "fluid_state": ["dark", "low"]}
        | {"ring_gap": {"measured_mm": 0.5, "service_limit_mm": 0.6, "worn_when": "smaller"}, "engine_off_same": False}
        | {"question": {"rings": [], "in_it_now": {"label": {"family": "gl-5"}}}},
    ),
]


@pytest.mark.parametrize(("ask", "flat", "question"), LINKS)
def test_a_link_gets_the_answer_of_the_same_question_posted(client, ask, flat, question) -> None:
    query = urlencode(
        {name: str(value).lower() if value is False else value for name, value in flat.items()}, doseq=True
    )
    for detail in ("", "detail=full&"):
        linked = client.get(f"/v1/{ask}?{detail}{query}")
        posted = client.post(f"/v1/{ask}?{detail}", json=flat if question is None else question)
        assert (linked.status_code, posted.status_code) == (200, 200)
        assert linked.json() == posted.json()


@pytest.mark.parametrize(
    ("link", "pointer", "code"),
    [
        ("jug?kv40_mm2_s=10&kv100_mm2_s=20", "/kv100_mm2_s", "not_thinner_when_hot"),
        ("jug?copper_strip_hours=3", "/copper_strip_rating", "missing"),
        ("jug?family=gl-9", "/family", "unknown_id"),
        ("jug?facing=none&body=steel", "/body", "no_rings_no_parts"),
        ("jug?limited_slp=true", "/limited_slp", "unknown_field"),
        ("drain?new_kv40_mm2_s=10&new_kv100_mm2_s=20", "/new_kv100_mm2_s", "not_thinner_when_hot"),
        ("drain?capacity_l=2&drained_l=3", "/drained_l", "more_than_it_holds"),
        ("drain?box_ref=bench-bronze-5&drained_l=3", "/drained_l", "more_than_it_holds"),
        ("symptom?symptoms=nope", "/symptoms", "unknown_id"),
    ],
)
def test_a_fault_in_a_link_is_told_at_its_own_field(client, link, pointer, code) -> None:
    response = client.get(f"/v1/{link}")
    (error,) = response.json()["errors"]
    assert (response.status_code, error["location"], error["pointer"], error["code"]) == (422, "query", pointer, code)


def test_ids_are_taken_in_any_case_and_answered_as_they_are(client, base) -> None:
    plain = {"box_kind": "rear-drive", "rings": [{"facing": "paper", "condition": "worn"}], "duty": "towing"}
    loud = {"box_kind": "rear-DRIVE", "rings": [{"facing": "Paper", "condition": "WORN"}], "duty": "Towing"}
    assert client.post("/v1/fill", json=loud).json() == client.post("/v1/fill", json=plain).json()
    links = ("facing=paper&duty=street&box_ref=bench-paper-5", "facing=PAPER&duty=Street&box_ref=Bench-Paper-5")
    first, second = (client.get(f"/v1/fill?{link}").json() for link in links)
    assert first == second
    symptom = {"symptoms": ["grinds-one-gear"], "when": "cold", "fluid_state": ["milky"], "grip_test": "slips"}
    shouted = {"symptoms": ["GRINDS-one-gear"], "when": "Cold", "fluid_state": ["Milky"], "grip_test": "SLIPS"}
    assert client.post("/v1/symptom", json=shouted).json() == client.post("/v1/symptom", json=symptom).json()
    for path, id in {
        "/v1/lubricants/GL-4-75W-90": "gl-4-75w-90",
        "/v1/facings/Paper": "paper",
        "/v1/box-kinds/rear-DRIVE": "rear-drive",
        "/v1/shop/boxes/Bench-Paper-5": "bench-paper-5",
        "/v1/shop/shelf/JUG-A": "jug-a",
    }.items():
        assert client.get(path).json()["entry"]["id"] == id
    assert client.get("/v1/fill/lubricants/GL-4-75W-90").json()["lubricant"]["id"] == "gl-4-75w-90"
    assert client.get("/v1/grades/75W-90").json() == client.get("/v1/grades/75w-90").json()
