"""What an answer costs: `python tests/bench/fill_speed.py`.

A question from its JSON to the JSON of its answer, in process; no temperature is asked twice, so that nothing is kept.
The unit is a plain Python loop timed in the same run, so that figures from two machines can be compared. CPU time is
measured, the best of several rounds.
"""

import gc
import json
import random
import time
from collections.abc import Callable, Iterator
from dataclasses import replace

from pydantic_core import to_json
from stated_box import STATED

from knowledge.assemble import read_knowledge
from knowledge.base import KnowledgeBase
from knowledge.box.question import FillQuestion
from knowledge.fill.compute import compute_fill_answer
from knowledge.parts.request_model import Detail

ROUNDS = 7
TURNS_PER_LOOP = 100_000


def best_ms(work: Callable[[], object], turns: int = 10) -> float:
    """Milliseconds of CPU for one turn, the best of several rounds."""
    best = float("inf")
    for _ in range(ROUNDS):
        start = time.process_time()
        for _ in range(turns):
            work()
        best = min(best, (time.process_time() - start) / turns)
    return best * 1000


def plain_loop() -> None:
    """The unit: a fixed piece of plain Python."""
    for _ in range(TURNS_PER_LOOP):
        pass


def stated() -> dict:
    """Everything stated, at temperatures that were never asked before."""
    return {**STATED, "coldest_start_c": random.uniform(-30, 0), "sump_hot_c": random.uniform(70, 110)}


def nothing() -> dict:
    """The empty question."""
    return {}


def one_field() -> dict:
    """Only the coldest start."""
    return {"coldest_start_c": random.uniform(-30, 0)}


def in_turn(question: Callable[[], dict], base: KnowledgeBase, detail: Detail = "short") -> Callable[[], bytes]:
    """Answers one question after the other."""

    def bodies() -> Iterator[bytes]:
        while True:
            yield json.dumps(question()).encode()

    asked = bodies()
    return lambda: to_json(compute_fill_answer(FillQuestion.model_validate_json(next(asked)), base, detail=detail))


def main() -> None:
    """Print the table."""
    base = read_knowledge()
    gc.collect()
    gc.freeze()
    unit = best_ms(plain_loop)
    print(f"unit: {TURNS_PER_LOOP} turns of a plain loop, {unit:.2f} ms\n")

    def show(name: str, milliseconds: float) -> None:
        print(f"{name:44}{milliseconds:9.2f} ms {milliseconds / unit:8.2f} units", flush=True)

    start = time.process_time()
    in_turn(stated, base)()
    show("the first question of a process, stated", (time.process_time() - start) * 1000)
    doubled = replace(base, lubricants=(*base.lubricants, *(replace(oil) for oil in base.lubricants)))
    for name, question in (("stated", stated), ("nothing stated", nothing), ("one field stated", one_field)):
        show(name, best_ms(in_turn(question, base)))
        show(f"{name}, {len(doubled.lubricants)} classes", best_ms(in_turn(question, doubled)))
        show(f"{name}, in full", best_ms(in_turn(question, base, "full"), 3))

    print("\ngrowth with unknown fields")
    known = stated()
    for count, field in enumerate(reversed(tuple(known)), start=1):
        del known[field]
        tried = compute_fill_answer(FillQuestion.model_validate(known), base, detail="full").worlds.tried
        show(f"{count} unknown, {tried} cases", best_ms(in_turn(lambda: known, base)))


if __name__ == "__main__":
    main()
