"""The rows of a catalogue answered beside each other: part by part, in order, by processes of this machine."""

import logging
import multiprocessing
import os
import signal
import threading
from collections import deque
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from concurrent.futures import BrokenExecutor, ProcessPoolExecutor
from contextlib import contextmanager
from functools import cache
from itertools import islice
from typing import NamedTuple

from api.table_files import TableLine
from knowledge.assemble import read_knowledge, read_shop
from knowledge.base import KnowledgeBase
from knowledge.fill.table import fill_row, problem_row
from knowledge.shop.shop import Shop

log = logging.getLogger("fillwright")

# So many parts wait for each process: enough that none is idle, few enough to be held in memory.
PARTS_AHEAD = 3
MOST_LOSSES = 3
UNEXPECTED = "this row could not be answered, by a fault of the program"

Asked = Mapping[str, str] | str
Filled = list[dict[str, str]]
Part = list[TableLine]


class Work(NamedTuple):
    """Some rows to be answered, and by which edition and in which region."""

    rows: Sequence[Asked]
    digest: str
    region: str | None


class Workers(NamedTuple):
    """Whoever answers: takes work and gives what waits for its result; so many parts at once are enough."""

    submit: Callable[[Work], Callable[[], Filled]]
    at_once: int


def in_order(parts: Iterable[Part], workers: Workers, digest: str, region: str | None) -> Iterator[tuple[Part, Filled]]:
    """Each part with its results, in the order of the parts; no more are held than the workers need.

    Errors: BrokenExecutor, when the workers were lost again and again.
    """
    waiting: deque[tuple[Part, Work, Callable[[], Filled]]] = deque()
    lost = 0
    coming = iter(parts)
    while True:
        for part in islice(coming, workers.at_once - len(waiting)):
            work = Work([row.asked for row in part], digest, region)
            waiting.append((part, work, workers.submit(work)))
        if not waiting:
            return
        part, _, result = waiting[0]
        try:
            results = result()
        except BrokenExecutor:
            lost += 1
            if lost > MOST_LOSSES:
                raise
            waiting = deque((part, work, workers.submit(work)) for part, work, _ in waiting)
            continue
        lost = 0
        waiting.popleft()
        yield part, results


@contextmanager
def pool(processes: int) -> Iterator[Workers]:
    """Processes of this machine, each with the knowledge read once; lost ones are replaced."""

    def begin() -> ProcessPoolExecutor:
        return ProcessPoolExecutor(processes, multiprocessing.get_context("spawn"), _end_with_parent)

    executor = begin()

    def submit(work: Work) -> Callable[[], Filled]:
        nonlocal executor
        with _interrupts_later():
            try:
                return executor.submit(answer, work).result
            except BrokenExecutor:
                executor = begin()
                return executor.submit(answer, work).result

    try:
        yield Workers(submit, processes * PARTS_AHEAD)
    finally:
        executor.shutdown(cancel_futures=True)


@contextmanager
def _interrupts_later() -> Iterator[None]:
    """An interrupt reaches this process afterwards, and never one that is begun meanwhile: it inherits the mask."""
    if not hasattr(signal, "pthread_sigmask"):  # no POSIX
        yield
        return
    before = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
    try:
        yield
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)


def _end_with_parent() -> None:
    """Where the parent is killed, nobody is left who would end its processes."""

    def wait() -> None:
        if (parent := multiprocessing.parent_process()) is not None:
            parent.join()
            os._exit(1)

    threading.Thread(target=wait, daemon=True).start()


@cache
def _read(region: str | None) -> tuple[KnowledgeBase, Shop]:
    """The knowledge of this process, read once."""
    base = read_knowledge()
    return base, read_shop(None, base, region)


def answer(work: Work) -> Filled:
    """The answers to some rows, in a process of its own; whatever is wrong with one row stays in that row.

    Errors: OSError, when the tables here are of another edition.
    """
    base, shop = _read(work.region)
    if base.digest != work.digest:
        raise OSError(f"a worker has other tables, {base.version} {base.digest}, where {work.digest} is asked")
    return [_answer(asked, base, shop) for asked in work.rows]


def _answer(asked: Asked, base: KnowledgeBase, shop: Shop) -> dict[str, str]:
    if isinstance(asked, str):
        return problem_row(asked)
    try:
        return fill_row(asked, base, shop)
    except Exception:
        log.exception("fault while answering a row")
        return problem_row(UNEXPECTED)
