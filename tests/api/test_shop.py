"""The shop's own boxes and jugs over HTTP, in questions, and in the terminal."""

import json
import os
import shutil
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from api.app import create_app
from api.settings import DEMO, Settings
from api.shop import AT_REST_AFTER_S, WatchedShop

BOX = {"box_ref": "bench-bronze-5", "coldest_start_c": 0, "sump_hot_c": 100, "duty": "highway"}


@pytest.fixture(scope="session")
def new_client(client) -> Callable:
    """Makes a client of another application."""
    return type(client)


@pytest.fixture
def shop_folder(tmp_path: Path) -> Path:
    """A copy of the invented tables, written long ago."""
    for path in DEMO.glob("*.csv"):
        shutil.copy(path, tmp_path)
        os.utime(tmp_path / path.name, (1, 1))
    return tmp_path


def rewrite(path: Path, old: str, new: str) -> None:
    """Put something else into a table."""
    text = path.read_text(encoding="utf-8")
    assert old in text
    path.write_text(text.replace(old, new), encoding="utf-8")


@pytest.mark.parametrize(("path", "listed"), [("/v1/shop/boxes", "boxes"), ("/v1/shop/shelf", "shelf")])
def test_every_entry_of_a_list_stands_below_it_by_its_id(client, base, path: str, listed: str) -> None:
    body = client.get(path).json()
    assert body["knowledge"] == {"version": base.version, "digest": base.digest}
    assert body["shop"]["status"] == "current"
    assert body["shop"]["faults"] == []
    for entry in body[listed]:
        one = client.get(f"{path}/{entry['id']}").json()
        assert one == {"knowledge": body["knowledge"], "shop": body["shop"], "entry": entry}


@pytest.mark.parametrize(
    ("path", "near"), [("/v1/shop/boxes/bench-bronze5", "bench-bronze-5"), ("/v1/shop/shelf/jugg-b", "jug-b")]
)
def test_an_id_the_shop_does_not_have_is_told_with_the_nearest(client, assert_problem, path: str, near: str) -> None:
    error = assert_problem(client.get(path), 404, "unknown-id")["errors"][0]
    assert error["did_you_mean"] == near
    assert near in error["known"]


@pytest.mark.parametrize("path", ["/v1/shop/boxes", "/v1/shop/shelf/jug-a", "/v1/fill?box_ref=bench-paper-5"])
def test_what_comes_from_the_shop_has_a_tag_that_changes_with_it(base, new_client, shop_folder, path: str) -> None:
    before = new_client(create_app(Settings(shop=shop_folder), base))
    tag = before.get(path).headers["etag"]
    assert before.get(path, headers={"If-None-Match": tag}).status_code == 304
    rewrite(shop_folder / "shelf.csv", "92,14.2", "93,14.2")
    rewrite(shop_folder / "boxes.csv", "double cones", "two cones")
    after = new_client(create_app(Settings(shop=shop_folder), base))
    assert after.get(path, headers={"If-None-Match": tag}).status_code == 200


def test_a_box_of_the_shop_fills_in_a_question(client) -> None:
    question = client.post("/v1/fill?detail=full", json=BOX).json()["question"]
    box = client.get("/v1/shop/boxes/bench-bronze-5").json()["entry"]
    assert {name: question[name] for name in ("rings", "yellow_metal", "service_data")} == {
        name: box[name] for name in ("rings", "yellow_metal", "service_data")
    }
    assert question["box_ref"] == question["from_box"]["id"] == "bench-bronze-5"
    assert question["from_box"]["name"] == box["name"]
    assert question["from_box"]["capacity_l"] == box["capacity_l"]
    assert "/rings" in question["from_box"]["filled_in"]
    assert question["duty"] == "highway"


def test_a_link_takes_a_box_too(client) -> None:
    link = {name: str(value) for name, value in BOX.items()}
    assert client.get("/v1/fill", params=link).content == client.post("/v1/fill", json=BOX).content
    link |= {"condition": "worn", "use_shelf": "true"}
    posted = {**BOX, "rings": [{"condition": "worn"}], "use_shelf": True}
    answer = client.get("/v1/fill", params={**link, "detail": "full"})
    assert answer.content == client.post("/v1/fill?detail=full", json=posted).content
    assert {ring["condition"] for ring in answer.json()["question"]["rings"]} == {"worn"}


def test_an_unknown_box_is_told_with_the_nearest_and_the_known_ones(client, assert_problem) -> None:
    asked = {"body": client.post("/v1/fill", json={"box_ref": "bench-bronz-5"})}
    asked["query"] = client.get("/v1/fill?box_ref=bench-bronz-5")
    boxes = [box["id"] for box in client.get("/v1/shop/boxes").json()["boxes"]]
    for location, response in asked.items():
        error = assert_problem(response, 422, "unknown-id")["errors"][0]
        assert (error["location"], error["pointer"]) == (location, "/box_ref")
        assert (error["did_you_mean"], error["known"]) == ("bench-bronze-5", boxes)


def test_the_shelf_is_judged_as_the_same_jugs_at_hand_would_be(client) -> None:
    shelf = client.get("/v1/shop/shelf").json()["shelf"]
    not_of_a_jug = ("id", "litres", "notes")
    jugs = [{name: value for name, value in jug.items() if name not in not_of_a_jug} for jug in shelf]
    from_shelf = client.post("/v1/fill", json={**BOX, "use_shelf": True}).json()
    at_hand = client.post("/v1/fill", json={**BOX, "on_hand": jugs}).json()
    assert [jug.pop("shelf_id") for jug in from_shelf["jugs"]] == [jug["id"] for jug in shelf]
    assert {jug.pop("shelf_id") for jug in at_hand["jugs"]} == {None}
    assert from_shelf["jugs"] == at_hand["jugs"]
    assert {jug["verdict"] for jug in at_hand["jugs"]} >= {"fits", "does-not-fit"}


def test_the_shelf_is_judged_beside_the_jugs_at_hand_and_only_when_asked_for(client) -> None:
    shelf = [jug["id"] for jug in client.get("/v1/shop/shelf").json()["shelf"]]
    own = {"name": "own", "label": {"family": "mtf"}}
    both = client.post("/v1/fill", json={**BOX, "on_hand": [own], "use_shelf": True}).json()["jugs"]
    assert [jug["shelf_id"] for jug in both] == [None, *shelf]
    assert client.post("/v1/fill", json=BOX).json()["jugs"] == []


def test_every_rule_against_a_judged_jug_stands_in_the_answer_with_its_sources(client) -> None:
    answer = client.post("/v1/fill?detail=full", json={"rings": [], "use_shelf": True}).json()
    places = {place for jug in answer["jugs"] for place in jug["findings_at"]}
    rules = {answer["findings"][place]["rule"] for place in places}
    cited = {cited["id"] for rule in rules for cited in client.get(f"/v1/rules/{rule}").json()["entry"]["sources"]}
    assert cited
    assert cited <= {source["id"] for source in answer["sources"]}


def test_without_a_shop_folder_there_are_no_boxes_and_no_jugs(base, new_client, assert_problem) -> None:
    client = new_client(create_app(Settings(shop=None), base))
    assert client.get("/v1/shop/boxes").json()["boxes"] == []
    assert client.get("/v1/shop/shelf").json()["shelf"] == []
    assert_problem(client.post("/v1/fill", json={"box_ref": "bench-bronze-5"}), 422, "unknown-id")
    assert client.post("/v1/fill", json={"rings": [], "use_shelf": True}).json()["jugs"] == []
    assert client.get("/readyz").json()["shop"]["status"] == "current"


def test_readiness_tells_which_state_of_the_shop_answers(client) -> None:
    ready = client.get("/readyz").json()
    assert (ready["status"], ready["shop"]) == ("ready", client.get("/v1/shop/boxes").json()["shop"])
    assert ready["shop"]["boxes"] >= 6
    assert ready["shop"]["jugs"] >= 8


class Clock:
    """A clock that stands still until it is told to go on."""

    def __init__(self) -> None:
        self.now = 0.0

    def __call__(self) -> float:
        return self.now


@pytest.fixture
def clock() -> Clock:
    """The clock of a watched shop."""
    return Clock()


@pytest.fixture
def watched(base, shop_folder: Path, clock: Clock) -> WatchedShop:
    """A shop folder that is looked at when the test says so."""
    return WatchedShop(shop_folder, base, clock)


def test_an_edit_is_taken_only_when_it_has_come_to_rest(watched: WatchedShop, shop_folder: Path, clock: Clock) -> None:
    before = watched.now
    for litres in ("41", "42", "43"):
        rewrite(shop_folder / "shelf.csv", "no,40," if litres == "41" else f"no,{int(litres) - 1},", f"no,{litres},")
        watched.look()
        clock.now += AT_REST_AFTER_S * 0.9
        watched.look()
        assert watched.now is before
    clock.now += AT_REST_AFTER_S * 0.2
    watched.look()
    assert watched.now.shop.shelf["jug-b"].litres == 43
    assert before.shop.shelf["jug-b"].litres == 40


def test_a_broken_edit_keeps_the_state_before_and_is_told_until_it_is_mended(watched, shop_folder, clock) -> None:
    before = watched.now.shop

    def settle() -> None:
        watched.look()
        clock.now += AT_REST_AFTER_S
        watched.look()

    rewrite(shop_folder / "shelf.csv", "92,14.2", "92,fourteen")
    settle()
    assert watched.now.shop is before
    state = watched.now.state
    assert (state.status, state.digest, state.faults_found) == ("last-good", before.digest, 1)
    assert (state.faults[0].file, state.faults[0].line, state.faults[0].column) == ("shelf.csv", 2, 6)
    (shop_folder / "boxes.csv").rename(shop_folder / "boxes.csv.bak")
    settle()
    assert {fault.file for fault in watched.now.faults} == {"boxes.csv", "shelf.csv"}
    (shop_folder / "boxes.csv.bak").rename(shop_folder / "boxes.csv")
    rewrite(shop_folder / "shelf.csv", "92,fourteen", "92,14.2")
    settle()
    assert watched.now.state == before.state()


def test_the_same_content_saved_again_is_the_same_shop(watched, shop_folder, clock) -> None:
    before = watched.now
    for path in shop_folder.glob("*.csv"):
        path.write_bytes(path.read_bytes())
    watched.look()
    clock.now += AT_REST_AFTER_S
    watched.look()
    assert watched.now == before


def test_only_the_first_of_many_faults_are_told(watched, shop_folder, clock) -> None:
    (shop_folder / "shelf.csv").write_text("id,name,litres\n" + "jug,A jug,many\n" * 50, encoding="utf-8")
    watched.look()
    clock.now += AT_REST_AFTER_S
    watched.look()
    assert (watched.now.state.faults_found, len(watched.now.state.faults)) == (50, 20)


def run(*arguments: str, **environment: str) -> subprocess.CompletedProcess:
    """Run `python -m api` to its end."""
    command = [sys.executable, "-m", "api", *arguments]
    return subprocess.run(command, capture_output=True, text=True, timeout=60, env={"PYTHONUTF8": "1", **environment})


def test_the_terminal_answers_from_the_shop_folder(shop_folder: Path, tmp_path: Path) -> None:
    question = tmp_path / "question.json"
    question.write_text(json.dumps({"box_ref": "own-box"}), encoding="utf-8")
    rewrite(shop_folder / "boxes.csv", "bench-unknown-4,", "own-box,")
    assert "own-box" in run("ask", "--shop", str(shop_folder), str(question)).stdout
    assert "own-box" in run("ask", str(question), FILLWRIGHT_SHOP=str(shop_folder)).stdout
    without = run("ask", str(question))
    assert without.returncode == 2
    assert "/box_ref: This id is not known." in without.stderr


@pytest.mark.parametrize("command", [("--port", "0"), ("ask", str(DEMO / "questions" / "01-bronze-street.json"))])
def test_a_shop_folder_that_cannot_be_used_stops_the_start(shop_folder: Path, command: tuple[str, ...]) -> None:
    rewrite(shop_folder / "rings.csv", "bench-paper-5,1-2,paper", "bench-paper-5,1-2,papr")
    broken = run(*command, "--shop", str(shop_folder))
    assert (broken.returncode, broken.stdout) == (2, "")
    assert "rings.csv:5:3: facing: 'papr' is not in the table 'facings'; did you mean 'paper'?" in broken.stderr
    nowhere = run(*command, "--shop", str(shop_folder / "nowhere"))
    assert nowhere.returncode == 2
    assert "nowhere' does not exist" in nowhere.stderr
