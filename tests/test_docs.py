"""What README and DEVELOPERS say is so."""

import re
import subprocess
import sys
import textwrap
from pathlib import Path

from api.app import ROUTERS
from api.routes import documentation, jobs, pages

ROOT = Path(__file__).resolve().parent.parent
README = (ROOT / "README.md").read_text(encoding="utf-8")
DEVELOPERS = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")


def test_the_answer_in_the_readme_is_what_its_first_command_prints() -> None:
    file = re.search(r"-m api ask (\S+\.json)", README)[1]
    asked = subprocess.run(
        [sys.executable, "-m", "api", "ask", file], cwd=ROOT, capture_output=True, text=True, check=True
    )
    printed = set(asked.stdout.splitlines())
    shown = README.partition("## One question and its answer")[2].partition("\nA `*` marks")[0]
    lines = [line.removeprefix("    ") for line in shown.splitlines() if line.startswith("    ")]
    assert len(lines) > 20
    assert [line for line in lines if line not in printed] == []


def test_the_shop_tool_in_the_readme_runs_as_written(live_server: str) -> None:
    section = README.partition("## A shop tool in ten lines\n")[2].partition("\n`/openapi.json`")[0]
    program = textwrap.dedent(section).replace("http://127.0.0.1:8000", live_server)
    said = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=True).stdout
    summary, *lines = said.splitlines()
    assert summary.startswith("Fill ")
    assert any(line.startswith("- ") and "W-" in line for line in lines)


def test_the_readme_names_every_route_for_programs() -> None:
    own = {route.path for router in (pages.router, jobs.router, documentation.router) for route in router.routes}
    paths = {route.path for router in ROUTERS for route in router.routes} - own
    named = README.replace("`/{id}`", "/{id}")
    assert [path for path in sorted(paths) if path.removesuffix("/{id}") not in named] == []


def test_the_map_names_every_package() -> None:
    packages = [path.name for path in (ROOT / "knowledge").iterdir() if (path / "__init__.py").is_file()]
    assert [name for name in packages if f"knowledge/{name}/" not in DEVELOPERS] == []
