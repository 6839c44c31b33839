"""The server as a process: it starts, answers, stops, and says why it cannot start."""

import http.client
import json
import os
import shutil
import signal
import socket
import subprocess
import sys
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path

import httpx
import pytest

from api.settings import DEMO
from tests.bench.real_server import Server

ROOT = Path(__file__).resolve().parents[2]
QUESTION = {"rings": [{"facing": "paper", "body": "steel"}], "coldest_start_c": -15, "duty": "street"}
BODY = json.dumps(QUESTION).encode()
PAGE = {"Origin": "https://shop.example"}


def failed_start(*flags: str, sources: Path = ROOT) -> subprocess.CompletedProcess[str]:
    """A start that must end by itself."""
    command = [sys.executable, "-m", "api", "--port", "0", *flags]
    environment = {**os.environ, "PYTHONPATH": str(sources)}
    return subprocess.run(
        command, cwd=sources, env=environment, capture_output=True, text=True, timeout=60, check=False
    )


def test_the_server_answers_as_the_application_does(live_server: str, client) -> None:
    over_the_wire = httpx.post(f"{live_server}/v1/fill", json=QUESTION, timeout=60)
    assert over_the_wire.status_code == 200
    assert over_the_wire.content == client.post("/v1/fill", json=QUESTION).content


def test_head_and_not_modified_over_the_wire_send_no_body(live_server: str) -> None:
    with httpx.Client(base_url=live_server) as kept:
        head = kept.head("/v1/lubricants")
        assert (head.status_code, head.content) == (200, b"")
        assert int(head.headers["content-length"]) > 1000
        assert kept.get("/v1/lubricants", headers={"If-None-Match": head.headers["etag"]}).status_code == 304
        assert kept.get("/v1/lubricants").status_code == 200


def test_the_server_listens_on_this_machine_only(live_server: str) -> None:
    port = int(live_server.rsplit(":", 1)[1])
    with socket.socket() as other:
        other.settimeout(1)
        assert other.connect_ex(("127.0.0.2", port)) != 0


@contextmanager
def half_sent(address: str) -> Iterator[http.client.HTTPConnection]:
    """A connection on which the head of a question and the first bytes of its body were sent."""
    with closing(http.client.HTTPConnection(address.removeprefix("http://"), timeout=60)) as connection:
        connection.putrequest("POST", "/v1/fill")
        connection.putheader("Content-Type", "application/json")
        connection.putheader("Content-Length", str(len(BODY)))
        connection.endheaders(BODY[:5])
        assert httpx.get(f"{address}/healthz", timeout=60).status_code == 200
        yield connection


def test_a_request_in_flight_is_answered_before_the_server_stops(run_server, client) -> None:
    with run_server() as server, half_sent(server.address) as connection:
        server.process.send_signal(signal.SIGTERM)
        server.line(message="Shutting down")
        connection.send(BODY[5:])
        response = connection.getresponse()
        assert (response.status, response.read()) == (200, client.post("/v1/fill", json=QUESTION).content)
        # The server raises the signal again when it has stopped, so that its parent knows why it ended.
        assert server.process.wait(timeout=60) == -signal.SIGTERM
        assert [line for line in server.logged if line["level"] != "info"] == []


def test_a_request_that_outlasts_the_graceful_timeout_is_told_so(run_server) -> None:
    with run_server("--graceful-timeout", "1") as server, half_sent(server.address) as connection:
        server.process.send_signal(signal.SIGTERM)
        response = connection.getresponse()
        assert (response.status, json.loads(response.read())["type"]) == (503, "/problems/not-ready")


@pytest.fixture(scope="module")
def of_two_workers(run_server, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Server]:
    """A server of two workers, which a page may call, with a shop that has one jug."""
    shop = shutil.copytree(DEMO, tmp_path_factory.mktemp("of-one-jug") / "shop")
    shelf = (DEMO / "shelf.csv").read_text(encoding="utf-8").splitlines(keepends=True)
    (shop / "shelf.csv").write_text("".join(shelf[:2]), encoding="utf-8")
    with run_server("--workers", "2", "--shop", str(shop), "--origin", PAGE["Origin"], workers=2) as server:
        yield server


def test_two_workers_answer_with_the_flags_of_the_server(of_two_workers) -> None:
    response = httpx.get(f"{of_two_workers.address}/v1/shop/shelf", headers=PAGE, timeout=60)
    assert len(response.json()["shelf"]) == 1
    assert response.headers["access-control-allow-origin"] == PAGE["Origin"]
    started = [Path(f"/proc/{child}/cmdline").read_bytes() for child in of_two_workers.children]
    assert sum(b"spawn_main" in command for command in started) == 2


def test_a_hang_up_ends_nothing(of_two_workers, run_server) -> None:
    with run_server() as of_one:
        for server in (of_one, of_two_workers):
            children = server.children
            for pid in (server.process.pid, *map(int, children)):
                os.kill(pid, signal.SIGHUP)
            for _ in range(4):
                assert httpx.get(f"{server.address}/healthz", timeout=60).status_code == 200
            assert server.children == children


def test_an_unknown_region_stops_the_start_with_the_known_ones(base) -> None:
    ended = failed_start("--workers", "2", "--region", "atlantis")
    assert ended.returncode == 2
    assert "FILLWRIGHT_REGION: 'atlantis' is no region" in ended.stderr
    assert all(region in ended.stderr for region in base.regions)
    assert "Started" not in ended.stderr


def test_faulty_tables_of_the_shop_stop_the_start_before_there_are_workers(tmp_path: Path) -> None:
    shop = shutil.copytree(DEMO, tmp_path / "shop")
    with (shop / "boxes.csv").open("a", encoding="utf-8") as table:
        table.write("half,a row\n")
    ended = failed_start("--workers", "2", "--shop", str(shop))
    assert ended.returncode == 2
    line = len((shop / "boxes.csv").read_text(encoding="utf-8").splitlines())
    assert f"boxes.csv:{line}:" in ended.stderr
    assert "Started" not in ended.stderr


def test_faulty_tables_of_the_knowledge_stop_the_start_with_file_line_and_column(tmp_path: Path) -> None:
    for package in ("api", "knowledge"):
        shutil.copytree(ROOT / package, tmp_path / package)
    table = tmp_path / "knowledge" / "tables" / "cautions.toml"
    table.write_text(table.read_text().replace('severity = "', 'severity = "very ', 1))
    ended = failed_start(sources=tmp_path)
    assert ended.returncode == 1
    heading, fault = ended.stderr.splitlines()
    assert heading == "The tables cannot be used:"
    line = 1 + table.read_text().partition('severity = "very ')[0].count("\n")
    assert fault.startswith(f"cautions.toml:{line}:")


def test_an_address_in_use_stops_the_start() -> None:
    with socket.create_server(("127.0.0.1", 0)) as taken:
        ended = failed_start("--port", str(taken.getsockname()[1]))
    assert ended.returncode == 3
    assert "address already in use" in ended.stderr
    assert "Traceback" not in ended.stderr


def test_a_flag_that_makes_no_sense_stops_the_start() -> None:
    ended = failed_start("--workers", "many")
    assert ended.returncode == 2
    assert "--workers or FILLWRIGHT_WORKERS is 'many'" in ended.stderr
