"""`python -m api fill-table`: real files, real processes, and what is left when one of them is killed."""

import csv
import io
import os
import pty
import re
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

from api.fill_table import fill_table
from knowledge.fill.table import fill_row

FACINGS = ("bronze", "paper", "papr", "", "molybdenum")
ROWS = 2000
PATIENCE_S = 120


def command(*arguments: object, processes: int = 2) -> list[str]:
    """The command as it is typed."""
    return [sys.executable, "-m", "api", "fill-table", "--processes", str(processes), *map(str, arguments)]


def run(*arguments: object) -> subprocess.CompletedProcess:
    """Run the command to its end."""
    done = subprocess.run(
        command(*arguments, processes=1), capture_output=True, text=True, timeout=PATIENCE_S, check=False
    )
    assert "Traceback" not in done.stderr
    assert "%" not in done.stderr, "only a terminal is shown how far it is"
    return done


def rows_of(path: Path, separator: str = ",") -> list[dict[str, str]]:
    """The rows of answers, as the csv module reads them."""
    return list(csv.DictReader(io.StringIO(path.read_text(encoding="utf-8-sig")), delimiter=separator))


def catalogue(rows: Iterable[int]) -> str:
    """Many numbers of few boxes, every fifth of them misspelt."""
    lines = (f"part-{row},Invented box {row},{FACINGS[row % 5]},none,street,-15,90" for row in rows)
    return "\n".join(["id,name,facing_1,final_drive,duty,coldest_start_c,sump_hot_c", *lines, ""])


@pytest.fixture(scope="module")
def large(tmp_path_factory) -> tuple[Path, bytes]:
    """A catalogue, and its answers by a run that nothing disturbed."""
    folder = tmp_path_factory.mktemp("large")
    (folder / "in.csv").write_text(catalogue(range(ROWS)), encoding="utf-8")
    done = run(folder / "in.csv", folder / "undisturbed.csv")
    assert (done.returncode, done.stderr.split(":")[0]) == (
        0,
        f"{ROWS} rows answered, {ROWS // 5} of them with a problem",
    )
    return folder / "in.csv", (folder / "undisturbed.csv").read_bytes()


@contextmanager
def midway(path: Path, out: Path, whole: int) -> Iterator[subprocess.Popen]:
    """A run that is halted with some of the `whole` bytes written; one that was over too soon is begun again."""
    end = time.monotonic() + PATIENCE_S
    while time.monotonic() < end:
        out.unlink(missing_ok=True)
        with subprocess.Popen(command(path, out), stderr=subprocess.PIPE, text=True, start_new_session=True) as process:
            while process.poll() is None and (not out.exists() or out.stat().st_size < 20_000):
                assert time.monotonic() < end
                time.sleep(0.002)
            process.send_signal(signal.SIGSTOP)
            if out.stat().st_size < whole:
                yield process
                return
            process.send_signal(signal.SIGCONT)
    pytest.fail("every run was over before it could be halted")


def workers_of(process: subprocess.Popen) -> list[int]:
    """The processes that answer for a run."""
    children = Path(f"/proc/{process.pid}/task/{process.pid}/children").read_text().split()
    return [pid for pid in map(int, children) if "spawn_main" in Path(f"/proc/{pid}/cmdline").read_text()]


def test_every_row_has_its_answer_in_its_place(large, base) -> None:
    path, answers = large
    found = list(csv.DictReader(io.StringIO(answers.decode("utf-8-sig"))))
    assert [(row["line"], row["id"], row["name"]) for row in found] == [
        (str(row + 2), f"part-{row}", f"Invented box {row}") for row in range(ROWS)
    ]
    asked = list(csv.DictReader(io.StringIO(path.read_text(encoding="utf-8"))))
    for given, told in list(zip(asked, found, strict=True))[:: ROWS // 7]:
        cells = {name: cell for name, cell in given.items() if cell and name not in ("id", "name")}
        assert {name: told[name] for name in fill_row(cells, base)} == fill_row(cells, base)
    assert {row["facing_1"] for row, told in zip(asked, found, strict=True) if told["problem"]} == {"papr"}


def test_a_killed_run_is_continued_without_a_row_lost_or_doubled(large, tmp_path: Path, capsys) -> None:
    path, undisturbed = large
    out = tmp_path / "out.csv"
    with midway(path, out, len(undisturbed)) as process:
        workers = workers_of(process)
        process.kill()
    kept = out.read_bytes()
    assert len(kept) < len(undisturbed)
    assert undisturbed.startswith(kept)
    end = time.monotonic() + PATIENCE_S
    while [pid for pid in workers if Path(f"/proc/{pid}").exists()]:
        assert time.monotonic() < end, "the processes of a killed run stay behind"
        time.sleep(0.05)
    out.write_bytes(kept[:-30])  # the last row half written
    done = run(path, out)
    assert done.returncode == 0
    assert "kept from before" in done.stderr
    assert out.read_bytes() == undisturbed
    assert fill_table([str(path), str(out)]) == 0
    assert capsys.readouterr().err.startswith(f"0 rows answered, 0 of them with a problem, {ROWS} kept from before")
    assert out.read_bytes() == undisturbed


def test_neither_a_killed_process_of_a_run_nor_a_second_run_costs_anything(large, tmp_path: Path, capsys) -> None:
    path, undisturbed = large
    out = tmp_path / "out.csv"
    with midway(path, out, len(undisturbed)) as process:
        os.kill(workers_of(process)[0], signal.SIGKILL)
        assert fill_table([str(path), str(out)]) == 2
        assert "out.csv: another run is writing it" in capsys.readouterr().err
        process.send_signal(signal.SIGCONT)
        assert process.wait(PATIENCE_S) == 0
    assert out.read_bytes() == undisturbed


def test_an_interrupted_run_says_how_to_go_on(large, tmp_path: Path) -> None:
    path, undisturbed = large
    out = tmp_path / "out.csv"
    # Where these tests run behind a shell, it has it ignored, and so would what they start.
    signal.signal(signal.SIGINT, signal.default_int_handler)
    with midway(path, out, len(undisturbed)) as process:
        os.killpg(process.pid, signal.SIGINT)  # as a terminal sends it, to its workers too
        process.send_signal(signal.SIGCONT)
        _, told = process.communicate(timeout=PATIENCE_S)
    assert process.returncode == 130
    assert "the same command continues" in told
    assert "Traceback" not in told
    assert undisturbed.startswith(out.read_bytes())


def test_a_full_disk_costs_nothing_that_was_written(large, tmp_path: Path) -> None:
    path, undisturbed = large
    out = tmp_path / "out.csv"
    limited = ["sh", "-c", 'ulimit -f 200; exec "$@"', "sh", *command(path, out, processes=1)]
    full = subprocess.run(limited, capture_output=True, text=True, timeout=PATIENCE_S, check=False)
    assert full.returncode == 1
    assert full.stderr.startswith("broken off: [Errno 27] File too large; what is answered is kept, and the same")
    assert undisturbed.startswith(out.read_bytes())
    assert run(path, out).returncode == 0
    assert out.read_bytes() == undisturbed


@pytest.fixture
def small(tmp_path: Path) -> Callable[..., tuple[Path, Path]]:
    """Writes a small catalogue, and names the file for its answers."""

    def write(text: str | bytes = catalogue(range(3))) -> tuple[Path, Path]:
        (tmp_path / "in.csv").write_bytes(text if isinstance(text, bytes) else text.encode())
        return tmp_path / "in.csv", tmp_path / "out.csv"

    return write


def test_a_catalogue_of_a_spreadsheet_is_read_and_answered_in_its_own_way(small) -> None:
    text = (
        'ID;Teilenummer;Facing 1;Coldest_Start_C;gears 1;\r\n7;"A;1";paper;-12,5;1-2;\r\n;;;;;\r\n'
        "8;Ä;paper;-12,5;01. Feb;\r\n"
        '9;B\0;paper;;;\r\n10;"C;paper;;;\r\n11;D;paper\r\n12;"E\r\nF";Brass;0;R;\r\n'
    )
    path, out = small(text.encode("cp1252"))
    assert run("--key", "Teilenummer", "--key", "id", path, out).returncode == 0
    assert out.read_bytes().startswith(b"\xef\xbb\xbfline;teilenummer;id;leader;")
    found = rows_of(out, ";")
    assert [(row["line"], row["id"], row["teilenummer"]) for row in found] == [
        ("2", "7", "A;1"), ("4", "8", "Ä"), ("5", "9", "B\0"), ("6", "10", "C;paper;;;"), ("7", "11", "D"),
        ("8", "12", "E F"),
    ]  # fmt: skip
    assert [row["leader"] for row in found] == ["mtf-75w-80", "", "", "", "", "gl-4-75w-90"]
    told = [
        "",
        "gears_1: looks like a date",
        "teilenummer: holds a character",
        "a quotation mark",
        "has 3 cells",
        "",
    ]
    assert [row["problem"][: len(start)] for row, start in zip(found, told, strict=True)] == told


@pytest.fixture(scope="module")
def three(tmp_path_factory) -> bytes:
    """The answers to a catalogue of three rows."""
    folder = tmp_path_factory.mktemp("three")
    (folder / "in.csv").write_text(catalogue(range(3)), encoding="utf-8")
    assert run(folder / "in.csv", folder / "out.csv").returncode == 0
    return (folder / "out.csv").read_bytes()


def test_rows_added_to_a_catalogue_are_answered_behind_the_others(small, three) -> None:
    path, out = small(catalogue(range(5)))
    out.write_bytes(three)
    assert run(path, out).returncode == 0
    assert out.read_bytes().startswith(three)
    assert [row["id"] for row in rows_of(out)] == [f"part-{row}" for row in range(5)]


def of_other_tables(made: bytes) -> bytes:
    """The same answers by tables of another digest."""
    return re.sub(rb" [0-9a-f]{8},", b" 00000000,", made)


MADE_OF_ANOTHER = "was made of another row than line"
OTHER_COLUMNS = "holds something else than answers to these columns"


@pytest.mark.parametrize(
    ("text", "spoil", "told"),
    [
        (catalogue(range(3)).replace("paper", "bronze"), bytes, f"out.csv:3: {MADE_OF_ANOTHER} 3 of the catalogue"),
        (catalogue(range(1, 4)), bytes, f"out.csv:2: {MADE_OF_ANOTHER} 2 of the catalogue"),
        (catalogue(range(2)), bytes, "out.csv:4: the catalogue ends before this row"),
        (catalogue(range(3)).replace("name", "duty", 1), bytes, "in.csv:1: column 'duty' stands twice"),
        (catalogue(range(3)).replace("id,", "ID,gears_1,"), lambda _: b"my own notes\n", OTHER_COLUMNS),
        (catalogue(range(3)), lambda _: b"my own notes", OTHER_COLUMNS),
        (catalogue(range(3)), of_other_tables, "was made by other tables"),
    ],
)
def test_answers_to_something_else_are_left_alone(small, three, capsys, text, spoil, told: str) -> None:
    path, out = small(text)
    out.write_bytes(before := spoil(three))
    assert fill_table([str(path), str(out)]) == 2
    assert told in capsys.readouterr().err
    assert out.read_bytes() == before


@pytest.mark.parametrize(
    ("text", "flags", "told"),
    [
        ("id,facng_1\n", (), "in.csv:1: column 'facng_1' is not known here; did you mean 'facing_1'?"),
        ("id,price,duty\n1,2,street\n", (), "name a column of your own with --key, and it is copied"),
        ("say,duty\n1,street\n", ("--key", "say"), "column 'say' is one of the answers"),
        ("", (), "no column tells of a box"),
        (b"PK\x03\x04", (), "is a spreadsheet's own file and no text"),
    ],
)
def test_what_cannot_be_read_is_told_before_anything_is_written(small, capsys, text, flags, told: str) -> None:
    path, out = small(text)
    assert fill_table([*flags, str(path), str(out)]) == 2
    assert told in capsys.readouterr().err
    assert not out.exists()


@pytest.mark.parametrize(
    ("flags", "told"),
    [
        (("--region", "moon"), "--region or FILLWRIGHT_REGION: 'moon' is no region; there are"),
        (("--processes", "0"), "'0' is no number from 1 to 256"),
        # Dask is no part of the default install nor of what the tests need; `tests/bench/cluster.py` tries it.
        (("--scheduler", "tcp://127.0.0.1:1"), "--scheduler"),
    ],
)
def test_a_flag_that_cannot_be_used_is_told(small, flags, told: str) -> None:
    done = run(*flags, *small())
    assert done.returncode == 2
    assert told in done.stderr


def test_files_that_are_not_there_and_a_table_onto_itself_are_told(small, tmp_path: Path, capsys) -> None:
    path, out = small()
    before = path.read_bytes()
    for given, told in (
        ((tmp_path / "none.csv", out), "none.csv: cannot be read: No such file or directory"),
        ((path, tmp_path / "none" / "out.csv"), "out.csv: cannot be written: No such file or directory"),
        ((path, path), "in.csv: holds something else than answers"),
    ):
        assert fill_table(list(map(str, given))) == 2
        assert told in capsys.readouterr().err
    assert path.read_bytes() == before


def test_a_terminal_shows_how_far_it_is(small) -> None:
    path, out = small()
    ours, theirs = pty.openpty()
    with subprocess.Popen(command(path, out, processes=1), stderr=theirs) as process:
        os.close(theirs)
        shown = b""
        while piece := _read(ours):
            shown += piece
    os.close(ours)
    assert process.returncode == 0
    assert b"100%  3 rows, " in shown


def _read(terminal: int) -> bytes:
    try:
        return os.read(terminal, 4096)
    except OSError:  # the other end was closed
        return b""
