"""`python -m api` starts with sound tables and a free address only; else it says why in one go and ends."""

import os
import shutil
import socket
import subprocess
import sys
from pathlib import Path

import pytest

from api.settings import DEMO

ROOT = Path(__file__).resolve().parents[2]


def start(*flags: str, sources: Path = ROOT) -> subprocess.CompletedProcess[str]:
    """A start that must end by itself."""
    command = [sys.executable, "-m", "api", "--port", "0", *flags]
    environment = {**os.environ, "PYTHONPATH": str(sources)}
    return subprocess.run(
        command, cwd=sources, env=environment, capture_output=True, text=True, timeout=60, check=False
    )


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    """The invented shop, to be spoilt."""
    for table in DEMO.glob("*.csv"):
        shutil.copy(table, tmp_path)
    return tmp_path


def test_faulty_tables_of_the_shop_are_told_with_file_line_and_column(shop: Path) -> None:
    lines = (shop / "shelf.csv").read_text().splitlines(keepends=True)
    (shop / "shelf.csv").write_text("".join([lines[0], "one,two\n", *lines[1:]]))
    (shop / "rings.csv").unlink()
    ended = start("--shop", str(shop))
    assert ended.returncode == 2
    heading, *faults = ended.stderr.splitlines()
    assert heading == "The tables of the shop cannot be used:"
    assert [fault.split(": ")[0] for fault in faults] == ["rings.csv:1:1", "shelf.csv:2:3"]


def test_faulty_tables_of_the_knowledge_are_told_with_file_line_and_column(tmp_path: Path) -> None:
    for package in ("api", "knowledge"):
        shutil.copytree(ROOT / package, tmp_path / package)
    table = tmp_path / "knowledge" / "tables" / "cautions.toml"
    table.write_text(table.read_text().replace('severity = "', 'severity = "very ', 1))
    ended = start(sources=tmp_path)
    assert ended.returncode == 1
    heading, fault = ended.stderr.splitlines()
    assert heading == "The tables cannot be used:"
    line = 1 + table.read_text().partition('severity = "very ')[0].count("\n")
    assert fault.startswith(f"cautions.toml:{line}:")


def test_an_address_in_use_is_told(tmp_path: Path) -> None:
    with socket.create_server(("127.0.0.1", 0)) as taken:
        ended = start("--port", str(taken.getsockname()[1]))
    assert ended.returncode == 3
    assert "address already in use" in ended.stderr
    assert "Traceback" not in ended.stderr
