"""The pages in a real browser, in a process of their own: a browser driver breaks asyncio tests that follow it."""

import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent
BROWSER = shutil.which("chromium")
# One browser, since the other tests run beside it: a second costs two processes of ours more.
OPTIONS = ("-n", "0", "-p", "no:cacheprovider", "-p", "no:schemathesis")


@pytest.mark.skipif(BROWSER is None and not os.environ.get("CI"), reason="no chromium here: apt-get install chromium")
def test_the_pages_serve_people_in_a_real_browser() -> None:
    assert BROWSER, "CI looks at the pages in a browser, and chromium is missing: apt-get install chromium"
    command = [sys.executable, "-m", "pytest", "tests/pages", *OPTIONS]
    ran = subprocess.run(command, cwd=ROOT, capture_output=True, text=True)
    assert ran.returncode == 0, ran.stdout + ran.stderr
