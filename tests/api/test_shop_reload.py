"""The shelf is edited while a real server is under load: no request fails, and no answer comes from half a table."""

import csv
import io
import os
import random
import shutil
import threading
import time
from collections import Counter
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any

import httpx
import pytest

from api.app import create_app
from api.settings import DEMO, Settings

STATES = range(4)
JUGS = 30
CALLERS = 6
ASKED = {
    "shelf": ("GET", "/v1/shop/shelf", None),
    "boxes": ("GET", "/v1/shop/boxes", None),
    "jug": ("GET", f"/v1/shop/shelf/jug-{JUGS - 1}", None),
    "link": ("GET", "/v1/fill?box_ref=bench-paper-5&coldest_start_c=-15&duty=street&sump_hot_c=90", None),
    "question": (
        "POST",
        "/v1/fill",
        {"box_ref": "bench-bronze-5", "coldest_start_c": 0, "sump_hot_c": 95, "duty": "street", "use_shelf": True},
    ),
}


def shelf(state: int) -> bytes:
    """A long shelf on which every row speaks of one state, so that a mixture of two would show."""
    table = io.StringIO()
    writer = csv.writer(table, lineterminator="\n")
    writer.writerow(["id", "name", "family", "grade", "kv40_mm2_s", "kv100_mm2_s", "litres", "notes"])
    for n in range(JUGS - state % 2):
        kv100 = 14 + state / 10
        writer.writerow([f"jug-{n}", f"Invented jug {n}", "gl-4", "75W-90", 90, kv100, state, f"State {state}. " * 40])
    # The last row stands in every state, or the route that asks for it would rightly answer 404.
    if state % 2:
        writer.writerow([f"jug-{JUGS - 1}", "Invented", "gl-4", "75W-90", 90, 14 + state / 10, state, "short"])
    return table.getvalue().encode()


BROKEN = {
    "a number in words": (shelf(1).replace(b",1,", b",one,"), "litres: must be a number"),
    "cut within a row": (shelf(1)[: len(shelf(1)) // 2], "may have been cut off"),
    "emptied": (b"", "the table is empty"),
    "not text": (shelf(1) + b"\xff\n", "is not UTF-8 text"),
    "the same id twice": (shelf(1) + shelf(1).splitlines(keepends=True)[-1], "stands already"),
    "taken away": (None, "this table is missing"),
}


def replace_at_once(path: Path, content: bytes) -> None:
    """As a careful editor saves: a new file is put in the place of the old one."""
    beside = path.with_suffix(".new")
    beside.write_bytes(content)
    os.replace(beside, path)


def write_in_pieces(path: Path, content: bytes, chance: random.Random) -> None:
    """As a careless program saves: the old table is emptied, the new one arrives piece by piece."""
    with path.open("wb", buffering=0) as file:
        while content:
            size = chance.randint(1, 3000)
            # Often cut between two rows, where what stands there so far would pass for a whole table.
            cut = content.find(b"\n", size) + 1 or len(content) if chance.random() < 0.6 else size
            file.write(content[:cut])
            content = content[cut:]
            time.sleep(chance.choice((0, 0.002, 0.02)))


def write_with_a_long_pause(path: Path, content: bytes) -> None:
    """As a slow disk writes: more than half a second passes between the rows."""
    half = content.index(b"\n", len(content) // 2) + 1
    with path.open("wb", buffering=0) as file:
        file.write(content[:half])
        time.sleep(0.7)
        file.write(content[half:])


class Callers:
    """People at the counter who never stop asking; every answer is kept."""

    def __init__(self, address: str) -> None:
        self.address = address
        self.told: dict[str, Counter[bytes]] = {name: Counter() for name in ASKED}
        self.failed: list[str] = []
        self.enough = threading.Event()

    def ask(self, number: int) -> None:
        """Ask one question after the other until told that it is enough."""
        names = list(ASKED)
        with httpx.Client(base_url=self.address, timeout=30) as client:
            while not self.enough.is_set():
                number += 1
                method, path, body = ASKED[name := names[number % len(names)]]
                try:
                    response = client.request(method, path, json=body)
                except httpx.HTTPError as error:
                    self.failed.append(f"{name}: {error!r}")
                    continue
                if response.status_code != 200:
                    self.failed.append(f"{name}: {response.status_code} {response.text[:200]}")
                self.told[name][response.content] += 1


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """The invented shop with the shelf in its first state."""
    for path in DEMO.glob("*.csv"):
        shutil.copy(path, tmp_path)
    (tmp_path / "shelf.csv").write_bytes(shelf(0))
    return tmp_path


@pytest.fixture
def good_answers(base, client, folder: Path) -> dict[int, dict[str, bytes]]:
    """What each state of the shelf must be answered with, asked of an application that never saw another state."""
    answers = {}
    for state in STATES:
        (folder / "shelf.csv").write_bytes(shelf(state))
        os.utime(folder / "shelf.csv", (1, 1))
        fresh = type(client)(create_app(Settings(shop=folder), base))
        answers[state] = {
            name: fresh.request(method, path, json=body).content for name, (method, path, body) in ASKED.items()
        }
    (folder / "shelf.csv").write_bytes(shelf(0))
    return answers


def wait_for(address: str, holds: Callable[[dict[str, Any]], bool]) -> dict[str, Any]:
    """What /readyz says of the shop, as soon as it says what is waited for."""
    told: dict[str, Any] = {}
    for _ in range(200):
        response = httpx.get(f"{address}/readyz", timeout=30)
        assert response.status_code == 200
        told = response.json()["shop"]
        if holds(told):
            return told
        time.sleep(0.05)
    raise AssertionError(f"/readyz never said it; at last: {told}")


def edit_the_shelf(path: Path, address: str, digests: dict[int, str]) -> Iterator[int]:
    """Many edits of every kind, with a rest now and then; gives the state after each rest."""
    chance = random.Random(5)
    for state in STATES:
        for _ in range(10):
            other = chance.choice(STATES)
            if chance.random() < 0.5:
                replace_at_once(path, shelf(other))
            else:
                write_in_pieces(path, shelf(other), chance)
        if state % 2:
            write_with_a_long_pause(path, shelf(state))
        else:
            write_in_pieces(path, shelf(state), chance)
        wait_for(address, lambda told: (told["status"], told["digest"]) == ("current", digests[state]))
        yield state


def break_the_shelf(path: Path, address: str, digest: str) -> None:
    """Every kind of broken edit in turn, each left to rest until it is told."""
    for content, said in BROKEN.values():
        path.unlink() if content is None else path.write_bytes(content)
        told = wait_for(address, lambda told: any(said in fault["message"] for fault in told["faults"]))
        assert (told["status"], told["digest"]) == ("last-good", digest)
        assert {fault["file"] for fault in told["faults"]} == {"shelf.csv"}


def without_state(name: str, body: bytes) -> Any:
    """An answer without the standing of the tables, which differs while a broken edit is told."""
    response = httpx.Response(200, content=body).json()
    if name in ("shelf", "boxes", "jug"):
        assert response["shop"].pop("status") in ("current", "last-good")
        response["shop"].pop("faults")
        response["shop"].pop("faults_found")
    return response


def test_editing_the_shelf_under_load_fails_no_request_and_tears_no_answer(
    serve: Callable, folder: Path, good_answers: dict[int, dict[str, bytes]]
) -> None:
    digests = {state: without_state("shelf", told["shelf"])["shop"]["digest"] for state, told in good_answers.items()}
    path = folder / "shelf.csv"
    with serve("--shop", str(folder)) as address, ThreadPoolExecutor(CALLERS) as pool:
        callers = Callers(address)
        try:
            asking = [pool.submit(callers.ask, number) for number in range(CALLERS)]
            for state in edit_the_shelf(path, address, digests):
                if state == STATES[1]:
                    break_the_shelf(path, address, digests[state])
            replace_at_once(path, shelf(0))
            told = wait_for(address, lambda told: told["digest"] == digests[0])
            assert (told["status"], told["faults"]) == ("current", [])
        finally:
            callers.enough.set()
        for done in asking:
            done.result()
    assert callers.failed == []
    for name, bodies in callers.told.items():
        good = [without_state(name, told[name]) for told in good_answers.values()]
        assert sum(bodies.values()) > 50
        assert all(without_state(name, body) in good for body in bodies), name
    seen = {without_state("shelf", body)["shop"]["digest"] for body in callers.told["shelf"]}
    assert seen == set(digests.values())
