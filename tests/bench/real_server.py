"""A real server, as the benches ask it."""

import re
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import NamedTuple

ROOT = Path(__file__).resolve().parents[2]


class Server(NamedTuple):
    """A running server, its log, and how long it took until it listened."""

    address: str
    pid: int
    log: Path
    start_s: float

    def cpu_s(self) -> float:
        """Seconds of CPU that it and its workers have used."""
        children = Path(f"/proc/{self.pid}/task/{self.pid}/children").read_text().split()
        stats = (Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split() for pid in (self.pid, *children))
        return sum(int(fields[11]) + int(fields[12]) for fields in stats) / 100

    def memory_mb(self, what: str = "VmRSS") -> float:
        """Memory of its process: VmRSS is now, VmHWM the most it ever was."""
        return int(re.findall(rf"{what}:\s+(\d+)", Path(f"/proc/{self.pid}/status").read_text())[0]) / 1024


@contextmanager
def serving(*command: str, workers: int = 1) -> Iterator[Server]:
    """A server that runs this program, ready with all of its workers."""
    begun = time.perf_counter()
    with tempfile.TemporaryDirectory() as folder, (Path(folder) / "log").open("w") as opened:
        log = Path(opened.name)
        with subprocess.Popen([sys.executable, *command], stderr=opened, cwd=ROOT) as process:
            try:
                while (told := log.read_text()).count("startup complete") < workers or "running on" not in told:
                    if process.poll() is not None:
                        raise SystemExit(told)
                    time.sleep(0.01)
                address = re.search(r"http://127\.0\.0\.1:\d+", told)[0]
                yield Server(address, process.pid, log, time.perf_counter() - begun)
            finally:
                process.terminate()
