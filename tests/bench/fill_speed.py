"""What an answer costs in process, its JSON included, as ratios of one run: `python -m tests.bench.fill_speed`.

The unit is a plain Python loop, timed again before each figure, so that runs on two machines can be compared. CPU
time is measured, the best of several rounds.
"""

import random
import time
from collections.abc import Callable
from dataclasses import replace
from functools import partial

from knowledge.assemble import read_knowledge
from knowledge.base import KnowledgeBase
from knowledge.box.question import FillQuestion
from knowledge.fill.compute import compute_fill_answer
from tests.bench.stated_box import STATED

TEMPERATURES = {"coldest_start_c": -15.0, "sump_hot_c": 85.0}
ROUNDS = 7
TURNS_PER_UNIT = 100_000


def best_s(work: Callable[[], object], turns: int) -> float:
    """Seconds of CPU for one turn, the best of several rounds."""
    best = float("inf")
    for _ in range(ROUNDS):
        start = time.process_time()
        for _ in range(turns):
            work()
        best = min(best, (time.process_time() - start) / turns)
    return best


def plain_loop() -> None:
    """The unit: a fixed piece of plain Python."""
    for _ in range(TURNS_PER_UNIT):
        pass


def answer_json(question: FillQuestion, base: KnowledgeBase) -> str:
    """The short answer as it is served."""
    return compute_fill_answer(question, base).model_dump_json()


def never_asked_before() -> FillQuestion:
    """A fully stated question whose temperatures never come back."""
    return FillQuestion.model_validate(
        {**STATED, "coldest_start_c": random.uniform(-40, 10), "sump_hot_c": random.uniform(60, 140)}
    )


def units(work: Callable[[], object], turns: int) -> float:
    """What one turn costs, in units; the first turn is not counted."""
    work()
    unit = best_s(plain_loop, 5)
    return best_s(work, turns) / min(unit, best_s(plain_loop, 5))


def show(name: str, cost: float, of: str = "units") -> None:
    """Print one figure."""
    print(f"{name:60}{cost:7.2f} {of}", flush=True)


def main() -> None:
    """Print the table."""
    base = read_knowledge()
    print(f"a unit: {TURNS_PER_UNIT} turns of a plain loop, {best_s(plain_loop, 5) * 1000:.2f} ms here")
    stated = units(lambda: answer_json(never_asked_before(), base), 50)
    nothing = units(partial(answer_json, FillQuestion(), base), 5)
    show("fully stated, temperatures never asked before", stated)
    show("nothing stated", nothing)
    for field, value in {**STATED, **TEMPERATURES}.items():
        question = FillQuestion.model_validate({field: value})
        show(f"only {field} stated", units(partial(answer_json, question, base), 5))

    fields = {**STATED, **TEMPERATURES}
    for count, field in enumerate(tuple(fields), start=1):
        del fields[field]
        question = FillQuestion.model_validate(fields)
        cases = compute_fill_answer(question, base, detail="full").worlds.tried
        show(f"{count} fields unknown, {cases} cases", units(partial(answer_json, question, base), 5))

    for times in (2, 4):
        many = replace(base, lubricants=base.lubricants * times)
        of_many = partial(lambda base: answer_json(never_asked_before(), base), many)
        show(f"{times} times the classes, stated", units(of_many, 50) / stated, "x")
        of_nothing = partial(answer_json, FillQuestion(), many)
        show(f"{times} times the classes, nothing stated", units(of_nothing, 5) / nothing, "x")


if __name__ == "__main__":
    main()
