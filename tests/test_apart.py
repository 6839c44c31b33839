"""What is tested in a process of its own.

A browser driver breaks asyncio tests that follow it. The tests of the contract are many cases that are made before the
first test begins: once there, and not in each process of the others.
"""

import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent
BROWSER = shutil.which("chromium")


def run(folder: str) -> None:
    """Run the tests of a folder; in one process, since the other tests run beside it."""
    command = [sys.executable, "-m", "pytest", folder, "-n", "0", "-p", "no:cacheprovider"]
    ran = subprocess.run(command, cwd=ROOT, capture_output=True, text=True)
    assert ran.returncode == 0, ran.stdout + ran.stderr


@pytest.mark.skipif(BROWSER is None and not os.environ.get("CI"), reason="no chromium here: apt-get install chromium")
def test_the_pages_serve_people_in_a_real_browser() -> None:
    assert BROWSER, "CI looks at the pages in a browser, and chromium is missing: apt-get install chromium"
    run("tests/pages")


def test_every_operation_keeps_what_the_document_promises() -> None:
    run("tests/contract")
