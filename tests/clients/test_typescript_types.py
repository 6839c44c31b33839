"""TypeScript types that a well-known generator makes of the OpenAPI document hold a strict program to it."""

import os
import shutil
import subprocess
from pathlib import Path

import httpx
import pytest

GENERATOR, COMPILER = "openapi-typescript@7.13.0", "typescript@5.9.3"
PROGRAM = Path(__file__).with_name("shop_tool.ts")

pytestmark = pytest.mark.skipif(
    not shutil.which("npx") and not os.environ.get("CI"), reason="npx is missing: apt-get install nodejs npm"
)


def run(*command: str, folder: Path) -> str:
    """What a command prints; anything but success is a failure that shows it."""
    ran = subprocess.run(command, cwd=folder, capture_output=True, text=True, check=False)
    assert ran.returncode == 0, ran.stdout + ran.stderr
    return ran.stdout + ran.stderr


def test_a_strict_program_compiles_and_asks_the_server(live_server: str, tmp_path: Path) -> None:
    (tmp_path / "openapi.json").write_bytes(httpx.get(f"{live_server}/openapi.json", timeout=60).content)
    shutil.copy(PROGRAM, tmp_path)
    run("npm", "install", "--no-audit", "--no-fund", GENERATOR, COMPILER, folder=tmp_path)
    made = run("npx", "openapi-typescript", "openapi.json", "--output", "fillwright.ts", folder=tmp_path)
    assert "warn" not in made.lower()
    checks = ("--strict", "--noUncheckedIndexedAccess", "--exactOptionalPropertyTypes")
    run("npx", "tsc", *checks, "--target", "es2022", "--module", "commonjs", PROGRAM.name, folder=tmp_path)
    said = run("node", "shop_tool.js", live_server, folder=tmp_path).splitlines()
    paper, nothing, refused, lines, *dialogues = said
    assert paper.startswith("mtf-")
    assert paper.split()[1] in ("fits", "fits-with-care", "depends")
    assert nothing.split()[1] in ("fits", "fits-with-care", "depends")
    assert refused == "422 street"
    assert lines == "bench 200, lift 422"
    assert len(dialogues) == 2
    for *asked, outcome in map(str.split, dialogues):
        assert asked[0] == "/box_kind"  # "can't say" is the first reply, and it is not asked again
        assert "/box_kind" not in asked[1:]
        assert outcome in ("settled", "depends", "none-suitable")
