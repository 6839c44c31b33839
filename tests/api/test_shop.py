"""The shop's own boxes and jugs over HTTP, in questions, and in the terminal."""

import asyncio
import json
import os
import shutil
from collections.abc import Callable
from pathlib import Path

import pytest

from api.__main__ import main
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


def test_what_comes_from_the_shop_has_a_tag_that_changes_with_it(base, new_client, shop_folder) -> None:
    paths = ("/v1/shop/boxes", "/v1/shop/shelf/jug-a", "/v1/fill?box_ref=bench-paper-5")
    before = new_client(create_app(Settings(shop=shop_folder), base))
    tags = {path: before.get(path).headers["etag"] for path in paths}
    for path, tag in tags.items():
        assert before.get(path, headers={"If-None-Match": tag}).status_code == 304
    rewrite(shop_folder / "shelf.csv", "92,14.2", "93,14.2")
    rewrite(shop_folder / "boxes.csv", "double cones", "two cones")
    after = new_client(create_app(Settings(shop=shop_folder), base))
    for path, tag in tags.items():
        assert after.get(path, headers={"If-None-Match": tag}).status_code == 200


def test_a_link_takes_a_box_too(client) -> None:
    link = {name: str(value) for name, value in BOX.items()}
    assert client.get("/v1/fill", params=link).content == client.post("/v1/fill", json=BOX).content
    link |= {"condition": "worn", "use_shelf": "true"}
    posted = {**BOX, "rings": [{"condition": "worn"}], "use_shelf": True}
    answer = client.get("/v1/fill", params={**link, "detail": "full"})
    assert answer.content == client.post("/v1/fill?detail=full", json=posted).content
    assert {ring["condition"] for ring in answer.json()["question"]["rings"]} == {"worn"}


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
    """A clock that goes when it is told to."""

    def __init__(self) -> None:
        self.now = 0.0

    def __call__(self) -> float:
        return self.now


HEADER = "id,name,family,grade,kv40_mm2_s,kv100_mm2_s,litres,notes"


def shelf(state: int) -> str:
    """A shelf on which every row belongs to one state."""
    rows = [f"jug-{n},Invented jug {n},gl-4,75W-90,90,{14 + state / 10},{state},State {state}" for n in range(9)]
    return "\n".join([HEADER, *rows, ""])


BROKEN = {
    "a number in words": (shelf(1).replace(",1,", ",one,").encode(), "litres: must be a number"),
    "cut within a row": (shelf(1)[: len(shelf(1)) // 2].encode(), "may have been cut off"),
    "emptied": (b"", "the table is empty"),
    "not text": (shelf(1).encode().replace(b"State", b"\xc3\xbc\xff", 1), "holds what is no text"),
    "a disk gave NULs": (shelf(1).encode() + b"\0" * 4096 + b"\n", "has 1 cells"),
    "nothing but NULs": (b"\0" * 4096, "a character that cannot be seen"),
    "cut within a character of two bytes": (shelf(1).encode("utf-16")[:-3], "may have been cut off"),
    "a spreadsheet's own file": (b"PK\x03\x04 and more", "save the table as CSV UTF-8"),
    "the same id twice": ((shelf(1) + shelf(1).splitlines()[-1] + "\n").encode(), "stands already"),
    "taken away": (None, "this table is missing"),
}


@pytest.fixture
def folder(shop_folder: Path) -> Path:
    """The invented shop with the shelf in its first state, long at rest."""
    (shop_folder / "shelf.csv").write_text(shelf(0))
    os.utime(shop_folder / "shelf.csv", (1, 1))
    return shop_folder


@pytest.fixture
def clock() -> Clock:
    """The time of the test."""
    return Clock()


@pytest.fixture
def watched(base, folder: Path, clock: Clock) -> WatchedShop:
    """The shop as it is watched."""
    return WatchedShop(folder, base, clock)


@pytest.fixture
def told(base, folder: Path, watched: WatchedShop, client):
    """What the service answers about its shelf, and what it says of the state of its tables."""
    app = create_app(Settings(shop=folder), base)
    app.state.shop = watched
    return type(client)(app)


def rest(watched: WatchedShop, clock: Clock) -> None:
    """Look, wait until what was seen is at rest, and look again."""
    watched.look()
    clock.now += AT_REST_AFTER_S
    watched.look()


def litres(client) -> set[float]:
    """The litres on the shelf, which tell the state of each row."""
    response = client.get("/v1/shop/shelf")
    assert response.status_code == 200
    return {row["litres"] for row in response.json()["shelf"]}


def test_an_edit_is_taken_when_it_is_at_rest_and_not_before(folder, watched, clock, told) -> None:
    (folder / "shelf.csv").write_text(shelf(1))
    watched.look()
    clock.now += AT_REST_AFTER_S / 2
    watched.look()
    assert litres(told) == {0}
    clock.now += AT_REST_AFTER_S / 2
    watched.look()
    assert litres(told) == {1}
    assert told.get("/readyz").json()["shop"]["status"] == "current"


def test_a_table_that_is_still_being_written_is_never_taken(folder, watched, clock, told) -> None:
    lines = shelf(1).splitlines(keepends=True)
    with (folder / "shelf.csv").open("w") as file:
        for line in lines:
            file.write(line)
            file.flush()
            watched.look()
            clock.now += AT_REST_AFTER_S * 0.9
            watched.look()
            assert litres(told) == {0}
    rest(watched, clock)
    assert litres(told) == {1}


@pytest.mark.parametrize(("content", "expected"), BROKEN.values(), ids=BROKEN)
def test_a_broken_edit_keeps_the_last_good_state_and_is_named(folder, watched, clock, told, content, expected) -> None:
    path = folder / "shelf.csv"
    digest = told.get("/readyz").json()["shop"]["digest"]
    path.unlink() if content is None else path.write_bytes(content)
    rest(watched, clock)
    response = told.get("/readyz")
    shop = response.json()["shop"]
    assert (response.status_code, shop["status"], shop["digest"]) == (200, "last-good", digest)
    assert {fault["file"] for fault in shop["faults"]} == {"shelf.csv"}
    assert any(expected in fault["message"] for fault in shop["faults"])
    assert litres(told) == {0}
    path.write_text(shelf(2))
    rest(watched, clock)
    shop = told.get("/readyz").json()["shop"]
    assert (shop["status"], shop["faults"]) == ("current", [])
    assert litres(told) == {2}


def test_an_edit_in_a_spreadsheet_of_another_country_is_taken(folder, watched, clock, told) -> None:
    saved = shelf(1).replace(",", ";").replace("14.1", "14,1").replace("\n", "\r\n").replace("Invented", "Größer")
    (folder / "shelf.csv").write_bytes(saved.encode("cp1252"))
    rest(watched, clock)
    assert told.get("/readyz").json()["shop"]["status"] == "current"
    assert litres(told) == {1}


def test_a_state_that_was_read_stays_whole_while_another_takes_its_place(folder, watched, clock) -> None:
    before = watched.now
    (folder / "shelf.csv").write_text(shelf(1))
    rest(watched, clock)
    assert {jug.litres for jug in before.shop.shelf.values()} == {0}
    assert {jug.litres for jug in watched.now.shop.shelf.values()} == {1}


def test_the_running_service_looks_by_itself_and_goes_on_after_a_fault(base, folder: Path, caplog) -> None:
    watched = WatchedShop(folder, base)

    async def edit() -> None:
        watching = asyncio.create_task(watched.watch())
        hidden = folder.rename(folder.with_name("hidden"))
        while "cannot be used" not in caplog.text and "fault" not in caplog.text:
            await asyncio.sleep(0.05)
        hidden.rename(folder)
        (folder / "shelf.csv").write_text(shelf(3))
        while {jug.litres for jug in watched.now.shop.shelf.values()} != {3}:
            await asyncio.sleep(0.05)
        watching.cancel()

    asyncio.run(asyncio.wait_for(edit(), 60))


def test_the_same_content_saved_again_is_the_same_shop(watched, folder, clock) -> None:
    before = watched.now
    for path in folder.glob("*.csv"):
        path.write_bytes(path.read_bytes())
    rest(watched, clock)
    assert watched.now == before


def test_only_the_first_of_many_faults_are_told(watched, folder, clock) -> None:
    (folder / "shelf.csv").write_text("id,name,litres\n" + "jug,A jug,many\n" * 50, encoding="utf-8")
    rest(watched, clock)
    assert (watched.now.state.faults_found, len(watched.now.state.faults)) == (50, 20)


def test_the_terminal_answers_from_the_shop_folder(shop_folder: Path, tmp_path: Path, capsys, monkeypatch) -> None:
    question = tmp_path / "question.json"
    question.write_text(json.dumps({"box_ref": "own-box"}), encoding="utf-8")
    rewrite(shop_folder / "boxes.csv", "bench-unknown-4,", "own-box,")
    assert main(["ask", "--shop", str(shop_folder), str(question)]) == 0
    assert "own-box" in capsys.readouterr().out
    assert main(["ask", str(question)]) == 2
    assert "/box_ref: This id is not known." in capsys.readouterr().err
    monkeypatch.setenv("FILLWRIGHT_SHOP", str(shop_folder))
    assert main(["ask", str(question)]) == 0
    assert "own-box" in capsys.readouterr().out


def test_a_shop_folder_that_cannot_be_used_ends_the_terminal_too(shop_folder: Path, capsys) -> None:
    command = ("ask", str(DEMO / "questions" / "01-bronze-street.json"), "--shop")
    rewrite(shop_folder / "rings.csv", "bench-paper-5,1-2,paper", "bench-paper-5,1-2,papr")
    assert main([*command, str(shop_folder)]) == 2
    broken = capsys.readouterr()
    assert broken.out == ""
    assert "rings.csv:5:3: facing: 'papr' is not known; did you mean 'paper'?" in broken.err
    with pytest.raises(SystemExit) as ended:
        main([*command, str(shop_folder / "nowhere")])
    assert ended.value.code == 2
    assert "nowhere' does not exist" in capsys.readouterr().err
