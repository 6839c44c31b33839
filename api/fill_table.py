"""`python -m api fill-table`: a whole catalogue answered, on all cores of this machine or on a cluster."""

import argparse
import os
import sys
import time
from collections.abc import Iterable, Iterator, Sequence
from concurrent.futures import BrokenExecutor
from contextlib import AbstractContextManager
from itertools import islice
from pathlib import Path

from api.shop import REGION_VARIABLE
from api.table_files import Answers, CannotFill, Catalogue, TableLine, opened_to_read, opened_to_write
from api.table_work import Part, Workers, in_order, pool
from knowledge.assemble import read_knowledge, read_shop
from knowledge.base import KnowledgeBase
from knowledge.fill.table import MOST_RING_SETS

ROWS_AT_ONCE = 50
SHOW_EVERY_S = 0.5
MOST_PROCESSES = 256
GO_ON = "what is answered is kept, and the same command continues"


def fill_table(flags: Sequence[str]) -> int:
    """Answer each row of a catalogue; 2 when it cannot be read or its answers be written, 1 when work breaks off.

    Errors: UnknownRegion.
    """
    given = _parser().parse_args(list(flags))
    try:
        with opened_to_read(given.catalogue) as file:
            catalogue = Catalogue(file, [name.lower() for name in given.key], given.region or "")
            base = read_knowledge()
            read_shop(None, base, given.region)
            with opened_to_write(given.answers) as out:
                return _fill(catalogue, Answers(out, catalogue, base), base, given)
    except CannotFill as error:
        print(error, file=sys.stderr)
        return 2
    except KeyboardInterrupt:
        print(f"\nstopped; {GO_ON}", file=sys.stderr)
        return 130
    except (BrokenExecutor, OSError) as error:
        print(f"broken off: {error}; {GO_ON}", file=sys.stderr)
        return 1


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="python -m api fill-table",
        description="Answer a catalogue: one row a box, columns as in a shop's boxes.csv, coldest_start_c, sump_hot_c, "
        f"and for up to {MOST_RING_SETS} ring sets facing_1 ... as in rings.csv. Run again after a stop, it continues.",
    )
    parser.add_argument("catalogue", type=Path, metavar="IN.csv", help="the table, as a spreadsheet saves it")
    parser.add_argument("answers", type=Path, metavar="OUT.csv", help="where the answers go, row by row")
    parser.add_argument(
        "--key", action="append", default=[], metavar="COLUMN", help="column to copy; repeatable; default id and name"
    )
    parser.add_argument("--region", default=os.environ.get(REGION_VARIABLE) or None, help="where the boxes are")
    parser.add_argument(
        "--processes", type=_count, default=_cores(), metavar="N", help="default: one a core, %(default)s"
    )
    parser.add_argument("--scheduler", metavar="tcp://HOST:PORT", help="answer on this Dask cluster instead")
    return parser


def _count(text: str) -> int:
    if not text.isdigit() or not 1 <= int(text) <= MOST_PROCESSES:
        raise argparse.ArgumentTypeError(f"{text[:20]!r} is no number from 1 to {MOST_PROCESSES}")
    return int(text)


def _cores() -> int:
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1


def _fill(catalogue: Catalogue, answers: Answers, base: KnowledgeBase, given: argparse.Namespace) -> int:
    rows = problems = 0
    show = Progress(answers.kept)
    with _workers(given.scheduler, given.processes) as workers:
        for part, results in in_order(_parts(catalogue), workers, base.digest, given.region):
            problems += answers.write(part, results)
            rows += len(part)
            show(rows, catalogue.share)
    show.end()
    kept = f", {answers.kept} kept from before" if answers.kept else ""
    print(f"{rows} rows answered, {problems} of them with a problem{kept}: {given.answers}", file=sys.stderr)
    return 0


def _workers(scheduler: str | None, processes: int) -> AbstractContextManager[Workers]:
    if scheduler is None:
        return pool(processes)
    from api.cluster import cluster

    return cluster(scheduler)


def _parts(catalogue: Iterable[TableLine]) -> Iterator[Part]:
    rows = iter(catalogue)
    while part := list(islice(rows, ROWS_AT_ONCE)):
        yield part


class Progress:
    """One line on a terminal that tells how far it is; nothing where nobody watches."""

    def __init__(self, kept: int) -> None:
        self._kept, self._begun, self._next = kept, time.monotonic(), 0.0
        self._is_watched = sys.stderr.isatty()

    def __call__(self, rows: int, share: float) -> None:
        """Show the line, not too often."""
        now = time.monotonic()
        if self._is_watched and now >= self._next:
            self._next = now + SHOW_EVERY_S
            bar = "#" * round(20 * share)
            speed = rows / (now - self._begun)
            print(
                f"\r[{bar:20}] {share:4.0%}  {self._kept + rows} rows, {speed:.0f} a second ", end="", file=sys.stderr
            )

    def end(self) -> None:
        """Leave the line."""
        if self._is_watched:
            print(file=sys.stderr)
