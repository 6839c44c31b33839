"""The soak in short; by itself it runs for minutes."""

import subprocess
import sys
from pathlib import Path


def test_a_few_hundred_requests_of_every_kind_meet_no_error() -> None:
    command = [sys.executable, str(Path(__file__).with_name("soak.py")), "--requests", "400"]
    ran = subprocess.run(command, capture_output=True, text=True, check=False)
    assert ran.returncode == 0, ran.stdout + ran.stderr
    assert "400 requests by 6 callers" in ran.stdout
    assert "errors: 0" in ran.stdout
