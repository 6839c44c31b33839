"""A catalogue answered on a local Dask cluster of two workers, of which one is killed midway.

`python tests/bench/cluster.py`, where the extra `cluster` is installed. Fails unless the answers are, byte for byte,
those of a run on this machine alone.
"""

import argparse
import json
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from contextlib import ExitStack
from pathlib import Path

from table import write

PATIENCE_S = 600


def wait_for(what: Callable[[], object], process: subprocess.Popen) -> None:
    """Wait until something is so, as long as a process runs."""
    end = time.monotonic() + PATIENCE_S
    while not what():
        if process.poll() is not None or time.monotonic() > end:
            raise RuntimeError("the cluster or the command ended before its time")
        time.sleep(0.05)


def main() -> int:
    """Run the catalogue twice and compare; 1 where a row was lost, doubled or changed."""
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    parser.add_argument("--rows", type=int, default=3000)
    rows = parser.parse_args().rows
    with tempfile.TemporaryDirectory() as name, ExitStack() as running:
        folder = Path(name)
        path, alone, shared, address = (folder / file for file in ("in.csv", "alone.csv", "shared.csv", "scheduler"))
        write(path, rows, again=1)

        def start(*command: object) -> subprocess.Popen:
            process = running.enter_context(subprocess.Popen([sys.executable, "-m", *map(str, command)]))
            running.callback(process.kill)
            return process

        quietly = ("--scheduler-file", address)
        scheduler = start("distributed.cli.dask_scheduler", "--port", "0", "--no-dashboard", *quietly)
        wait_for(address.exists, scheduler)
        worker = ("distributed.cli.dask_worker", "--nthreads", "1", "--no-nanny", "--no-dashboard", *quietly)
        workers = [start(*worker), start(*worker)]
        fill = ("api", "fill-table", path)
        command = start(*fill, shared, "--scheduler", _address(address))
        wait_for(lambda: shared.exists() and shared.read_bytes().count(b"\n") > rows / 3, command)
        workers[0].kill()
        at = shared.read_bytes().count(b"\n") - 1
        print(f"one of two workers was killed after {at} of {rows} rows", flush=True)
        assert command.wait(PATIENCE_S) == 0
        assert workers[1].poll() is None
        subprocess.run([sys.executable, "-m", *map(str, fill), str(alone)], check=True)
        is_same = shared.read_bytes() == alone.read_bytes()
        count = alone.read_bytes().count(b"\n") - 1
    print(f"{count} rows; byte for byte as without the cluster: {is_same}")
    return 0 if is_same and count == rows else 1


def _address(file: Path) -> str:
    """The address that a scheduler wrote down, once it is written whole."""
    return json.loads(file.read_text())["address"]


if __name__ == "__main__":
    sys.exit(main())
