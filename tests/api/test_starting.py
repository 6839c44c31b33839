"""`python -m api` starts with sound tables and a free address only; else it says why in one go and ends."""

import os
import shutil
import socket
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]


def start(*flags: str, sources: Path = ROOT) -> subprocess.CompletedProcess[str]:
    """A start that must end by itself."""
    command = [sys.executable, "-m", "api", "--port", "0", *flags]
    environment = {**os.environ, "PYTHONPATH": str(sources)}
    return subprocess.run(
        command, cwd=sources, env=environment, capture_output=True, text=True, timeout=60, check=False
    )


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


def test_an_address_in_use_is_told() -> None:
    with socket.create_server(("127.0.0.1", 0)) as taken:
        ended = start("--port", str(taken.getsockname()[1]))
    assert ended.returncode == 3
    assert "address already in use" in ended.stderr
    assert "Traceback" not in ended.stderr
