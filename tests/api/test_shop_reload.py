"""The shop's tables are edited while the service runs: an edit is taken whole, when it is at rest and sound."""

import asyncio
import os
import shutil
from pathlib import Path

import pytest

from api.app import create_app
from api.settings import DEMO, Settings
from api.shop import AT_REST_AFTER_S, WatchedShop

HEADER = "id,name,family,grade,kv40_mm2_s,kv100_mm2_s,litres,notes"


class Clock:
    """A clock that goes when it is told to."""

    def __init__(self) -> None:
        self.now = 0.0

    def __call__(self) -> float:
        return self.now


def shelf(state: int) -> str:
    """A shelf on which every row belongs to one state."""
    rows = [f"jug-{n},Invented jug {n},gl-4,75W-90,90,{14 + state / 10},{state},State {state}" for n in range(9)]
    return "\n".join([HEADER, *rows, ""])


BROKEN = {
    "a number in words": (shelf(1).replace(",1,", ",one,").encode(), "litres: must be a number"),
    "cut within a row": (shelf(1)[: len(shelf(1)) // 2].encode(), "may have been cut off"),
    "emptied": (b"", "the table is empty"),
    "not text": (shelf(1).encode() + b"\xff\n", "is not UTF-8 text"),
    "the same id twice": ((shelf(1) + shelf(1).splitlines()[-1] + "\n").encode(), "stands already"),
    "taken away": (None, "this table is missing"),
}


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """The invented shop with the shelf in its first state, long at rest."""
    for path in DEMO.glob("*.csv"):
        shutil.copy(path, tmp_path)
    (tmp_path / "shelf.csv").write_text(shelf(0))
    for path in tmp_path.iterdir():
        os.utime(path, (1, 1))
    return tmp_path


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


@pytest.mark.parametrize(("content", "said"), BROKEN.values(), ids=BROKEN)
def test_a_broken_edit_keeps_the_last_good_state_and_is_named(folder, watched, clock, told, content, said) -> None:
    path = folder / "shelf.csv"
    digest = told.get("/readyz").json()["shop"]["digest"]
    path.unlink() if content is None else path.write_bytes(content)
    rest(watched, clock)
    response = told.get("/readyz")
    shop = response.json()["shop"]
    assert (response.status_code, shop["status"], shop["digest"]) == (200, "last-good", digest)
    assert {fault["file"] for fault in shop["faults"]} == {"shelf.csv"}
    assert any(said in fault["message"] for fault in shop["faults"])
    assert litres(told) == {0}
    path.write_text(shelf(2))
    rest(watched, clock)
    shop = told.get("/readyz").json()["shop"]
    assert (shop["status"], shop["faults"]) == ("current", [])
    assert litres(told) == {2}


def test_a_state_that_was_read_stays_whole_while_another_takes_its_place(folder, watched, clock) -> None:
    before = watched.now
    (folder / "shelf.csv").write_text(shelf(1))
    rest(watched, clock)
    assert {jug.litres for jug in before.shop.shelf.values()} == {0}
    assert {jug.litres for jug in watched.now.shop.shelf.values()} == {1}


def test_the_running_service_looks_by_itself_and_goes_on_after_a_fault(base, folder: Path, caplog) -> None:
    watched = WatchedShop(folder, base)

    async def run() -> None:
        watching = asyncio.create_task(watched.watch())
        hidden = folder.rename(folder.with_name("hidden"))
        while "cannot be used" not in caplog.text and "fault" not in caplog.text:
            await asyncio.sleep(0.05)
        hidden.rename(folder)
        (folder / "shelf.csv").write_text(shelf(3))
        while {jug.litres for jug in watched.now.shop.shelf.values()} != {3}:
            await asyncio.sleep(0.05)
        watching.cancel()

    asyncio.run(asyncio.wait_for(run(), 60))
