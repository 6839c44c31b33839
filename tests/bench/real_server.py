"""A real server in a process of its own, on a free port of this machine, as tests and benches ask it."""

import json
import os
import re
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any, NamedTuple

ROOT = Path(__file__).resolve().parents[2]
PATIENCE_S = 60


class Server(NamedTuple):
    """A running server, its log, and how long it took until it listened."""

    address: str
    process: subprocess.Popen
    log: Path
    start_s: float

    @property
    def children(self) -> list[str]:
        """The processes that it started."""
        return Path(f"/proc/{self.process.pid}/task/{self.process.pid}/children").read_text().split()

    def cpu_s(self) -> float:
        """Seconds of CPU that it and its workers have used."""
        pids = (self.process.pid, *self.children)
        stats = (Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split() for pid in pids)
        return sum(int(fields[11]) + int(fields[12]) for fields in stats) / 100

    def memory_mb(self, what: str = "VmRSS") -> float:
        """Memory of its process: VmRSS is now, VmHWM the most it ever was."""
        status = Path(f"/proc/{self.process.pid}/status").read_text()
        return int(re.findall(rf"{what}:\s+(\d+)", status)[0]) / 1024

    @property
    def logged(self) -> list[dict[str, Any]]:
        """The lines of its log."""
        return [json.loads(line) for line in self.log.read_text().splitlines()]

    def line(self, **fields: object) -> dict[str, Any]:
        """The first line of its log that holds these fields, as soon as it is written."""
        end = time.monotonic() + PATIENCE_S
        while time.monotonic() < end:
            for line in self.logged:
                if fields.items() <= line.items():
                    return line
            time.sleep(0.025)
        raise AssertionError(f"the server never logged {fields}")


def with_descriptors(most: int) -> tuple[str, str]:
    """The command of a server that may have so many files and connections open, and may not ask for more."""
    limited = f"""
import resource, runpy, sys
resource.setrlimit(resource.RLIMIT_NOFILE, ({most}, {most}))
sys.argv[1:] = ["--port", "0"]
runpy.run_module("api", run_name="__main__", alter_sys=True)
"""
    return "-c", limited


@contextmanager
def serving(*command: str, workers: int = 1) -> Iterator[Server]:
    """A server that runs this program, ready with all of its workers."""
    begun = time.perf_counter()
    environment = {**os.environ, "PYTHONPATH": str(ROOT)}
    with tempfile.TemporaryDirectory() as folder, (Path(folder) / "log").open("w") as opened:
        log = Path(opened.name)
        command = (sys.executable, *command)
        with subprocess.Popen(command, stdout=opened, stderr=opened, cwd=folder, env=environment) as process:
            try:
                while (told := log.read_text()).count("startup complete") < workers or "running on" not in told:
                    if process.poll() is not None:
                        raise RuntimeError(f"the server did not start:\n{told}")
                    time.sleep(0.01)
                address = re.search(r"http://127\.0\.0\.1:\d+", told)[0]
                yield Server(address, process, log, time.perf_counter() - begun)
            finally:
                process.terminate()
