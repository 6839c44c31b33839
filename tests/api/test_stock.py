"""What to stock, over the wire, in the terminal and as a page."""

import json
from pathlib import Path

import httpx
import pytest

from api.__main__ import main
from api.app import create_app
from api.settings import DEMO, Settings
from tests.conftest import Client

PAPER = {"rings": [{"facing": "paper"}], "final_drive": "none", "limited_slip": False, "wet_clutch": False}


def test_a_list_of_boxes_gets_its_plans(client) -> None:
    asked = {"boxes": [{"name": "vans", "asked": 12, "question": {**PAPER, "duty": "street"}}], "use_shop": False}
    answer = client.post("/v1/stock", json=asked).json()
    first = answer["plans"][0]
    assert (first["covers"], first["of"], first["uncovered"], len(first["jugs"])) == (1, 1, [], 1)
    assert [(box["name"], box["jug"]) for box in answer["boxes"]] == [("vans", first["jugs"][0])]
    assert answer["boxes"][0]["verdict"] in ("fits", "fits-with-care")
    assert client.get(f"/v1/lubricants/{first['jugs'][0]}").status_code == 200
    shelf = {jug["id"] for jug in client.get("/v1/shop/shelf").json()["shelf"]}
    assert set(answer["shelf"]["idle"]) < shelf


@pytest.mark.parametrize(
    ("asked", "slug", "pointer"),
    [
        ({"boxes": [{"name": "a"}, {"name": "b", "asked": 0}]}, "invalid-request", "/boxes/1/asked"),
        ({"boxes": [{"name": "a", "asked": 1.5}]}, "invalid-request", "/boxes/0/asked"),
        ({"boxes": [{"question": {}}]}, "invalid-request", "/boxes/0/name"),
        ({"boxes": [{"name": "a", "question": {"duty": "stret"}}]}, "unknown-id", "/boxes/0/question/duty"),
        ({"boxes": [{"name": "a", "question": {"box_ref": "nobody"}}]}, "unknown-id", "/boxes/0/question/box_ref"),
        ({"boxes": [{"name": "a"}] * 501}, "invalid-request", "/boxes"),
        ({"allow_cares": True}, "invalid-request", "/allow_cares"),
    ],
)
def test_a_wrong_line_of_the_list_is_named(client, assert_problem, asked, slug: str, pointer: str) -> None:
    body = assert_problem(client.post("/v1/stock", json=asked), 422, slug)
    assert [error["pointer"] for error in body["errors"]] == [pointer]


def test_what_to_stock_is_the_shops_own_affair(base, assert_problem) -> None:
    public = Client(create_app(Settings(public=True), base))
    assert_problem(public.post("/v1/stock", json={}), 404, "unknown-path")
    assert_problem(public.get("/stock"), 404, "unknown-path")
    assert 'href="stock"' not in public.get("/").text
    assert "/v1/stock" not in public.get("/openapi.json").json()["paths"]


def test_how_often_a_box_is_asked_is_a_whole_number_in_either_spelling(client) -> None:
    """JSON Schema: an integer is any number without a fraction, 12.0 too."""

    def told(asked: str) -> httpx.Response:
        body = f'{{"boxes": [{{"name": "a van", "asked": {asked}}}]}}'
        return client.post("/v1/stock", content=body, headers={"Content-Type": "application/json"})

    assert told("12.0").json() == told("12").json()
    assert [told(asked).status_code for asked in ("12.0", "12.5", '"12"', "true")] == [200, 422, 422, 422]


def test_the_terminal_tells_what_the_service_does(client, capsys) -> None:
    assert main(["stock", str(DEMO), "--no-second", "--json"]) == 0
    assert json.loads(capsys.readouterr().out) == client.post("/v1/stock", json={"allow_second": False}).json()
    assert main(["stock", str(DEMO)]) == 0
    text = capsys.readouterr().out
    assert max(map(len, text.splitlines())) <= 88
    for words in ("The fewest", "One more", "Left out", "The manufacturer's service data decides."):
        assert words in text


def test_a_broken_table_is_named_with_its_place(tmp_path: Path, capsys) -> None:
    for name in ("rings", "shelf"):
        (tmp_path / f"{name}.csv").write_text(
            (DEMO / f"{name}.csv").read_text(encoding="utf-8").partition("\n")[0] + "\n"
        )
    (tmp_path / "boxes.csv").write_text("id,name,duty\none,A box,stret\n")
    assert main(["stock", str(tmp_path)]) == 2
    told = capsys.readouterr()
    assert told.out == ""
    assert "boxes.csv:2" in told.err
    assert "duty" in told.err


def test_the_page_is_a_table_of_boxes_and_jugs(client, read) -> None:
    assert 'href="stock"' in client.get("/").text
    answer = client.post("/v1/stock", json={}).json()
    page = read(client.get("/stock")).text
    assert [box["name"] for box in answer["boxes"] if box["name"] not in page] == []
    assert [name for name in answer["book_only"] if name not in page] == []
    assert page.count("✓") - 3 == len(answer["boxes"])  # three more: both choices and the caption
