"""A catalogue answered by the command: `python tests/bench/table.py --rows 200000`.

Boxes as a trade lists them: every field stated in half of the rows, one blank in the others, temperatures that never
come back, two of a thousand rows broken in one of several ways. Prints rows a second, memory at a tenth and at the end,
and whether every row is there once and in order. With `--again 40` each box stands so often under other numbers.
"""

import argparse
import csv
import random
import resource
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import suppress
from pathlib import Path

from fill_speed import best_s, plain_loop

FIELDS = {
    "facing_1": ("bronze", "molybdenum", "sintered", "paper", "carbon"),
    "body_1": ("steel", "sintered-iron"),
    "cones_1": (1, 2, 3),
    "condition_1": ("new", "worn"),
    "gears_1": ("1-2",),
    "yellow_metal": ("yes", "no"),
    "final_drive": ("none", "helical"),
    "limited_slip": ("no",),
    "wet_clutch": ("no",),
    "duty": ("street", "highway", "towing"),
    "service_family": ("", "", "gl-4", "mtf"),
    "service_grade": ("",),
}
BROKEN = ({"facing_1": "papr"}, {"gears_1": "01. Feb"}, {"coldest_start_c": "-20 °C"}, {"cones_1": "7"})
# Of these a trade may well not know.
MAY_BE_BLANK = ("body_1", "cones_1", "condition_1", "sump_hot_c", "yellow_metal")


def box(chance: random.Random, number: int) -> dict[str, object]:
    """One row of the catalogue."""
    row: dict[str, object] = {"id": f"part-{number}", "name": f"Invented box {number}"}
    row |= {name: chance.choice(values) for name, values in FIELDS.items()}
    row |= {"coldest_start_c": round(chance.uniform(-35, 5), 2), "sump_hot_c": round(chance.uniform(70, 130), 2)}
    if row["facing_1"] in ("bronze", "sintered"):
        row["yellow_metal"] = "yes"
    if chance.random() < 0.5:
        row[chance.choice(MAY_BE_BLANK)] = ""
    return row


def write(path: Path, rows: int, again: int) -> None:
    """The catalogue as a spreadsheet saves it where a comma stands before the decimals."""
    chance = random.Random(18)
    with path.open("w", encoding="cp1252", newline="") as file:
        table = csv.DictWriter(file, list(box(chance, 0)), delimiter=";")
        table.writeheader()
        kept: dict[str, object] = {}
        for number in range(rows):
            kept = kept if number % again else box(chance, number)
            row = {**kept, "id": f"part-{number}", **(chance.choice(BROKEN) if number % 1000 == 7 else {})}
            if number % 1000 == 8:
                file.write(f'part-{number};"Invented box, never closed;paper\r\n')
            else:
                table.writerow(
                    {name: str(cell).replace(".", ",") if "_c" in name else cell for name, cell in row.items()}
                )


def tree(pid: int) -> Iterator[int]:
    """A process and what it started."""
    yield pid
    for child in Path(f"/proc/{pid}/task/{pid}/children").read_text().split():
        yield from tree(int(child))


def memory_mb(pid: int) -> list[float]:
    """Resident memory of the command and of each of its processes."""
    pages = (int(Path(f"/proc/{one}/statm").read_text().split()[1]) for one in tree(pid))
    return [round(count * resource.getpagesize() / 1e6, 1) for count in pages]


def main() -> None:
    """Write the catalogue, run the command, and hold its answers to the catalogue."""
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    parser.add_argument("--rows", type=int, default=5000)
    parser.add_argument("--again", type=int, default=1)
    parser.add_argument("--processes", type=int, default=1)
    given = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        path, out = Path(folder) / "in.csv", Path(folder) / "out.csv"
        write(path, given.rows, given.again)
        command = [sys.executable, "-m", "api", "fill-table", "--processes", str(given.processes), str(path), str(out)]
        unit_s, begun, seen = best_s(plain_loop, 5), time.monotonic(), []
        with subprocess.Popen(command) as process:
            while process.poll() is None:
                time.sleep(1)
                with suppress(OSError, ValueError, IndexError):  # it may end meanwhile
                    seen.append((out.stat().st_size, memory_mb(process.pid)))
        took, used = time.monotonic() - begun, resource.getrusage(resource.RUSAGE_CHILDREN)
        size, cpu_s = out.stat().st_size, used.ru_utime + used.ru_stime
        with out.open(encoding="utf-8-sig", newline="") as file:
            ids = [(row["id"], bool(row["problem"])) for row in csv.DictReader(file, delimiter=";")]
    whole = [id for id, _ in ids] == [f"part-{number}" for number in range(given.rows)]
    speed = f"{given.rows / cpu_s:.0f} rows a second of CPU, {given.rows / took:.0f} by the clock"
    print(f"{given.rows} rows: {speed}; {cpu_s / given.rows / unit_s:.2f} units a row")
    print(f"every row once and in order: {whole}; with a problem {sum(bad for _, bad in ids)}")
    seen = [one for one in seen if len(one[1]) > given.processes + 1]  # while all of them run, and what tracks them
    at_a_tenth = min(seen, key=lambda one: abs(one[0] - size / 10))
    print(f"memory of command and processes at a tenth {at_a_tenth[1]} MB, at the end {seen[-1][1]} MB")


if __name__ == "__main__":
    main()
