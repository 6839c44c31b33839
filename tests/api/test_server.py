"""A real server on a real socket."""

import json
import shutil
import socket
import subprocess
import sys
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import httpx

from api.settings import DEMO


def test_the_server_answers_as_the_application_does(live_server: str, client) -> None:
    over_the_wire = httpx.post(f"{live_server}/v1/fill", json={"rings": [{"facing": "paper"}]})
    assert over_the_wire.status_code == 200
    assert over_the_wire.content == client.post("/v1/fill", json={"rings": [{"facing": "paper"}]}).content


def test_head_over_the_wire_sends_no_body(live_server: str) -> None:
    response = httpx.head(f"{live_server}/v1/lubricants")
    assert (response.status_code, response.content) == (200, b"")
    assert int(response.headers["content-length"]) > 1000


def test_not_modified_over_the_wire(live_server: str) -> None:
    with httpx.Client(base_url=live_server) as client:
        tag = client.get("/v1/fill").headers["etag"]
        assert client.get("/v1/fill", headers={"If-None-Match": tag}).status_code == 304
        assert client.get("/v1/fill").status_code == 200


def test_many_callers_at_once_get_their_own_answers(live_server: str) -> None:
    facings = ["paper", "bronze", "carbon", "molybdenum", "sintered", "none"] * 4

    def asked(facing: str) -> bytes:
        return httpx.get(f"{live_server}/v1/fill", params={"facing": facing}).content

    with ThreadPoolExecutor(8) as callers:
        answers = dict(zip(facings, callers.map(asked, facings)))
    assert len(set(answers.values())) == 6
    assert json.loads(answers["none"])["question"]["rings"] == []


def test_others_are_served_while_many_jugs_are_judged_for_a_box_of_which_nothing_is_known(live_server: str) -> None:
    jugs = [{"kv100_mm2_s": 7.1 + number / 5} for number in range(50)]
    with ThreadPoolExecutor(1) as callers:
        long = callers.submit(httpx.post, f"{live_server}/v1/fill", json={"on_hand": jugs}, timeout=120)
        served = 0
        while not long.done():
            assert httpx.get(f"{live_server}/healthz", timeout=120).status_code == 200
            served += 1
    assert served > 5  # one or two may come in before the work begins
    assert long.result().status_code == 200


def test_the_server_listens_on_this_machine_only(live_server: str) -> None:
    port = int(live_server.rsplit(":", 1)[1])
    with socket.socket() as other:
        other.settimeout(1)
        assert other.connect_ex(("127.0.0.2", port)) != 0


def test_several_workers_answer_with_the_flags_that_the_server_was_given(serve, tmp_path: Path) -> None:
    shutil.copytree(DEMO, tmp_path / "shop")
    shelf = (DEMO / "shelf.csv").read_text(encoding="utf-8").splitlines(keepends=True)
    (tmp_path / "shop" / "shelf.csv").write_text("".join(shelf[:2]), encoding="utf-8")
    page = {"Origin": "https://shop.example"}
    with serve("--workers", "2", "--shop", str(tmp_path / "shop"), "--origin", page["Origin"]) as address:
        response = httpx.get(f"{address}/v1/shop/shelf", headers=page)
        assert len(response.json()["shelf"]) == 1
        assert response.headers["access-control-allow-origin"] == page["Origin"]
        children = Path(f"/proc/{address.pid}/task/{address.pid}/children").read_text().split()
        started = [Path(f"/proc/{child}/cmdline").read_bytes() for child in children]
        assert sum(b"spawn_main" in command for command in started) == 2


def test_faulty_tables_stop_the_start_before_there_are_workers(tmp_path: Path) -> None:
    shop = shutil.copytree(DEMO, tmp_path / "shop")
    with (shop / "boxes.csv").open("a", encoding="utf-8") as table:
        table.write("half,a row\n")
    command = [sys.executable, "-m", "api", "--port", "0", "--workers", "2", "--shop", str(shop)]
    done = subprocess.run(command, capture_output=True, text=True, timeout=60, check=False)
    assert done.returncode == 2
    line = len((shop / "boxes.csv").read_text(encoding="utf-8").splitlines())
    assert f"boxes.csv:{line}:" in done.stderr
    assert "Started" not in done.stderr
