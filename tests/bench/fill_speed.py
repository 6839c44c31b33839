"""What an answer costs, as ratios of one run: `python tests/bench/fill_speed.py`.

The unit is a plain Python loop timed in the same run, so that figures from two machines can be compared. CPU
time is measured, the best of several rounds.
"""

import asyncio
import gc
import random
import time
from collections.abc import Callable, Iterator
from dataclasses import replace
from itertools import islice

import httpx
from fastapi import FastAPI
from stated_box import STATED as STATED_BOX

from api.app import create_app
from api.settings import Settings
from knowledge.assemble import read_knowledge
from knowledge.base import KnowledgeBase
from knowledge.box.question import FillQuestion
from knowledge.fill.answer import FillAnswer
from knowledge.fill.compute import compute_fill_answer

STATED = {**STATED_BOX, "coldest_start_c": -15, "sump_hot_c": 85}
FIELDS = ("wet_clutch", "limited_slip", "final_drive", "yellow_metal", "duty", "sump_hot_c", "coldest_start_c", "rings")
ROUNDS = 7
TURNS_PER_LOOP = 100_000


def best_ms(work: Callable[[], object], turns: int) -> float:
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


def stated(coldest_start_c: float, sump_hot_c: float) -> FillQuestion:
    """A fully stated question."""
    return FillQuestion.model_validate({**STATED, "coldest_start_c": coldest_start_c, "sump_hot_c": sump_hot_c})


def as_people_ask() -> Iterator[FillQuestion]:
    """Fully stated questions in whole degrees, in random order; what was computed for one degree is kept for the next."""
    while True:
        yield stated(float(random.randint(-30, 0)), float(random.randint(70, 110)))


def never_asked_before() -> Iterator[FillQuestion]:
    """Fully stated questions whose temperatures never come back, so that no cache answers for the rules that read them."""
    while True:
        yield stated(random.uniform(-30, 0), random.uniform(70, 110))


def in_turn(questions: Iterator[FillQuestion], base: KnowledgeBase) -> Callable[[], FillAnswer]:
    """Answers one question after the other."""
    return lambda: compute_fill_answer(next(questions), base)


def round_trip_ms(app: FastAPI, path: str, body: object, turns: int) -> float:
    """Milliseconds of CPU for one request through the whole application, without a socket."""

    async def run() -> float:
        transport = httpx.ASGITransport(app)
        async with httpx.AsyncClient(transport=transport, base_url="http://bench") as client:
            best = float("inf")
            for _ in range(ROUNDS):
                start = time.process_time()
                for _ in range(turns):
                    (await client.post(path, json=body)).raise_for_status()
                best = min(best, (time.process_time() - start) / turns)
            return best * 1000

    return asyncio.run(run())


def with_constant_answer(base: KnowledgeBase) -> FastAPI:
    """The application with one more route, which returns a ready answer through the same framework."""
    app = create_app(Settings(), base)
    ready = {name: compute_fill_answer(FillQuestion.model_validate(body), base) for name, body in BODIES.items()}

    @app.post("/bench/{name}")
    async def constant(name: str, question: FillQuestion) -> FillAnswer:
        return ready[name]

    return app


BODIES = {"stated": STATED, "nothing": {}}


def main() -> None:
    """Print the table."""
    base = read_knowledge()
    gc.collect()
    gc.freeze()
    unit = best_ms(plain_loop, 5)
    print(f"unit: {TURNS_PER_LOOP} turns of a plain loop, {unit:.2f} ms\n")

    def show(name: str, milliseconds: float, of: str = "unit", by: float = unit) -> None:
        print(f"{name:58}{milliseconds:9.2f} ms {milliseconds / by:9.2f} x {of}")

    start = time.process_time()
    compute_fill_answer(stated(-12.5, 81.5), base)
    first = (time.process_time() - start) * 1000
    for question in islice(as_people_ask(), 500):
        compute_fill_answer(question, base)
    known = best_ms(in_turn(as_people_ask(), base), 20)
    nothing = best_ms(lambda: compute_fill_answer(FillQuestion(), base), 3)
    show("the first question of a process, fully stated", first)
    show("fully stated question, whole degrees", known)
    show("fully stated question, temperatures never asked before", best_ms(in_turn(never_asked_before(), base), 20))
    show("nothing stated", nothing)
    show("nothing stated against fully stated", nothing, "stated", known)

    app = with_constant_answer(base)
    for name, body in BODIES.items():
        same = round_trip_ms(app, f"/bench/{name}", body, 5)
        show(f"HTTP round trip, ready answer ({name})", same)
        show(f"HTTP round trip ({name})", round_trip_ms(app, "/v1/fill", body, 5), "ready", same)

    print("\ngrowth with unknown fields")
    fields = dict(STATED)
    for count, field in enumerate(FIELDS, start=1):
        del fields[field]
        question = FillQuestion.model_validate(fields)
        worlds = compute_fill_answer(question, base, detail="full").worlds.tried
        show(
            f"{count} unknown, {worlds} worlds",
            best_ms(lambda: compute_fill_answer(question, base), 3),
            "stated",
            known,
        )

    print("\ngrowth with classes")
    for times in (1, 2, 4):
        many = replace(base, oils=tuple(replace(oil) for _ in range(times) for oil in base.lubricants))
        for name, question in (("stated", stated(-15.0, 85.0)), ("nothing", FillQuestion())):
            ms = best_ms(lambda: compute_fill_answer(question, many), 3)
            show(f"{len(many.oils)} classes, {name}", ms, name, known if name == "stated" else nothing)


if __name__ == "__main__":
    main()
