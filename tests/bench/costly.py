"""What a question of 4 KB may cost at most: `python -m tests.bench.costly [QUESTIONS] [SEED]`.

Tries random questions of every POST route, of families that make much work of few bytes, in process and with their
JSON, and prints the costliest of each family as a multiple of a fully stated fill question of the same run; what is
asked in full also as one of that question in full. Long work, which has a lane of its own, is tried a tenth as often.
"""

import json
import random
import sys
import time
from collections.abc import Callable, Mapping
from functools import partial
from typing import Any

from pydantic import BaseModel
from pydantic_core import to_json

from knowledge.assemble import read_knowledge
from knowledge.base import KnowledgeBase
from knowledge.box.question import FillQuestion
from knowledge.drain.compute import compute_drain_answer
from knowledge.drain.question import DrainQuestion
from knowledge.errors import UnknownIds
from knowledge.fill.compute import compute_fill_answer, compute_lubricant_answer
from knowledge.fill.firmness import MOST_DRAWS, FirmnessQuestion, firmness
from knowledge.fill.leader_map import leader_map
from knowledge.fill.turns import turns_of
from knowledge.jug.compute import compute_jug_answer
from knowledge.jug.question import JugQuestion
from knowledge.rings.shift_question import ShiftQuestion
from knowledge.shift.compute import compute_shift_answer
from knowledge.stock.compute import compute_stock_answer
from knowledge.stock.question import StockQuestion
from knowledge.symptom.compute import compute_symptom_answer
from knowledge.symptom.question import SymptomQuestion
from tests.bench.fill_speed import never_asked_before

MOST_BYTES = 4096
ROUNDS = 3
Fields = dict[str, Any]
Make = Callable[[random.Random, KnowledgeBase], Fields]


def figure(chance: random.Random, base: KnowledgeBase) -> Fields:
    """A jug of which one figure is known."""
    return chance.choice(
        (
            {"kv40_mm2_s": round(chance.uniform(20, 300), 1)},
            {"kv100_mm2_s": round(chance.uniform(3, 30), 1)},
            {"density15_kg_m3": chance.randint(840, 920)},
            {"t150_c": chance.randint(-60, -10)},
            {"copper_strip": {"rating": chance.choice(("1a", "2c", "4c"))}},
            {"limited_slip": chance.random() < 0.5},
            {"label": {"grade": chance.choice(base.lubricants).grade}},
            {"brookfield": [{"temperature_c": chance.randint(-50, -10), "viscosity_mpa_s": 200_000}]},
            {"kv40_mm2_s": 95, "kv100_mm2_s": 15, "kv100_sheared_mm2_s": round(chance.uniform(8, 14.9), 1)},
        )
    )


def box(chance: random.Random, base: KnowledgeBase) -> Fields:
    """A box of which little or much is known, in it up to twelve sets of rings."""
    ring: Fields = {"facing": chance.choice((None, *base.facings)), "cones": chance.choice((None, 1, 2, 3))}
    known: Fields = {
        "rings": [ring | {"body": chance.choice((None, *base.bodies))} for _ in range(chance.choice((1, 2, 12)))],
        "yellow_metal": chance.random() < 0.5,
        "final_drive": chance.choice(("none", "helical", "hypoid")),
        "limited_slip": False,
        "wet_clutch": False,
        "coldest_start_c": round(chance.uniform(-40, 10), 1),
        "sump_hot_c": round(chance.uniform(60, 150), 1),
        "duty": chance.choice(tuple(base.duties)),
        "service_data": {"family": chance.choice(tuple(base.families))},
    }
    share = chance.choice((0.0, 0.1, 0.4, 1.0))
    return {name: value for name, value in known.items() if chance.random() < share}


def with_jugs(chance: random.Random, base: KnowledgeBase) -> Fields:
    """A box with many jugs alike in which figure is known, or of all kinds."""
    kind, seed = chance.random() < 0.5, chance.random()
    jugs = [figure(random.Random(seed) if kind else chance, base) for _ in range(chance.choice((1, 5, 20, 50)))]
    for place, jug in enumerate(jugs):
        if "kv100_mm2_s" in jug and len(jug) == 1:
            jug["kv100_mm2_s"] += round(0.05 * place, 2)
    return box(chance, base) | {"on_hand": jugs}


def with_old_fluid(chance: random.Random, base: KnowledgeBase) -> Fields:
    """A box with a fluid in it."""
    return box(chance, base) | {"in_it_now": figure(chance, base)}


def jug(chance: random.Random, base: KnowledgeBase) -> Fields:
    """A jug for a box."""
    return figure(chance, base) | {"question": with_jugs(chance, base)}


def drain(chance: random.Random, base: KnowledgeBase) -> Fields:
    """A change of fluid in a box."""
    fluids = {name: figure(chance, base) for name in ("old", "new") if chance.random() < 0.8}
    amounts = chance.choice(({"capacity_l": 2.2, "drained_l": 0.05, "rounds": 20}, {"capacity_l": 2, "top_up_l": 0.3}))
    return fluids | amounts | {"question": with_jugs(chance, base)}


def symptom(chance: random.Random, base: KnowledgeBase) -> Fields:
    """Complaints about a box with a fluid in it."""
    ids = base.ids("symptoms")
    symptoms = chance.sample(ids, min(len(ids), chance.choice((1, 20))))
    return {"symptoms": symptoms, "question": with_jugs(chance, base) | with_old_fluid(chance, base)}


def shift(chance: random.Random, base: KnowledgeBase) -> Fields:
    """A shift of every facing, with all that can be stated or next to nothing."""
    known: Fields = {
        "fluid": chance.choice(base.lubricants).id,
        "direction": chance.choice(("up", "down")),
        "shift_force_n": chance.randint(50, 1500),
        "cones": chance.choice((1, 2, 3)),
        "shifts": chance.choice((1, 100, 1000)),
        "shift_interval_s": chance.choice((0.5, 3, 60)),
        "sump_c": chance.randint(-20, 140),
        "start_c": chance.randint(-40, 100),
        "cone_half_angle_deg": round(chance.uniform(5, 8), 1),
        "contact_share": round(chance.uniform(0.2, 1), 2),
    }
    load = {"inertia_kg_m2": round(chance.uniform(0.001, 0.1), 4), "speed_difference_rpm": chance.randint(100, 6000)}
    share = chance.choice((0.0, 0.5, 1.0))
    return load | {name: value for name, value in known.items() if chance.random() < share}


def stock(chance: random.Random, base: KnowledgeBase) -> Fields:
    """As many boxes to stock for as there is room for."""
    boxes: list[Fields] = []
    while len(json.dumps({"boxes": boxes})) < MOST_BYTES - MOST_BYTES // 10:
        boxes.append({"name": "a", "question": chance.choice(({}, box(chance, base)))})
    return {"boxes": boxes}


def drawn(chance: random.Random, base: KnowledgeBase) -> Fields:
    """A box whose figures are drawn as often as they may be."""
    return {"question": box(chance, base), "draws": MOST_DRAWS}


def first_class(question: FillQuestion, base: KnowledgeBase) -> BaseModel:
    """The first class explained for a box."""
    return compute_lubricant_answer(base.lubricants[0].id, question, base)


Answer = Callable[[Any, KnowledgeBase], Any]
Route = tuple[Make, type[BaseModel], Answer]


def in_full(answer: Callable[..., BaseModel]) -> Answer:
    """The same with all that stands behind it."""
    return partial(answer, detail="full")


ROUTES: Mapping[str, Route] = {
    "POST /v1/fill, a box": (box, FillQuestion, compute_fill_answer),
    "POST /v1/fill, many jugs": (with_jugs, FillQuestion, compute_fill_answer),
    "POST /v1/fill, a fluid in it": (with_old_fluid, FillQuestion, compute_fill_answer),
    "POST /v1/jug": (jug, JugQuestion, compute_jug_answer),
    "POST /v1/drain": (drain, DrainQuestion, compute_drain_answer),
    "POST /v1/symptom": (symptom, SymptomQuestion, compute_symptom_answer),
    "POST /v1/shift": (shift, ShiftQuestion, compute_shift_answer),
}
FAMILIES: Mapping[str, Route] = {
    **ROUTES,
    **{f"{name}, full": (make, model, in_full(answer)) for name, (make, model, answer) in ROUTES.items()},
    "POST /v1/fill/lubricants/{id}": (box, FillQuestion, first_class),
}
LONG: Mapping[str, Route] = {
    "POST /v1/fill/turns": (box, FillQuestion, turns_of),
    "POST /v1/fill/map": (box, FillQuestion, leader_map),
    "POST /v1/fill/firmness": (drawn, FirmnessQuestion, firmness),
    "POST /v1/stock": (stock, StockQuestion, compute_stock_answer),
}


def cost_s(question: BaseModel, answer: Answer, base: KnowledgeBase) -> float:
    """Seconds of CPU for an answer with its JSON, the best of some rounds."""
    best = float("inf")
    for _ in range(ROUNDS):
        start = time.process_time()
        to_json(answer(question, base))
        best = min(best, time.process_time() - start)
    return best


def main() -> None:
    """Print the costliest question of each family."""
    count, seed = (int(text) for text in (*sys.argv[1:], "30", "4096")[:2])
    base = read_knowledge()
    stated, in_as_full = (
        min(cost_s(never_asked_before(), of, base) for _ in range(10))
        for of in (compute_fill_answer, in_full(compute_fill_answer))
    )
    for name, (make, model, answer) in {**FAMILIES, **LONG}.items():
        chance, costs = random.Random(seed), []
        while len(costs) < (max(count // 10, 3) if name in LONG else count):
            fields = make(chance, base)
            body = json.dumps(fields)
            if len(body) <= MOST_BYTES:
                question = model.model_validate(fields)
                try:
                    costs.append((cost_s(question, answer, base), body))
                except UnknownIds as error:
                    raise SystemExit(f"{body}: {error}") from error
        worst, body = max(costs)
        stated = min(stated, *(cost_s(never_asked_before(), compute_fill_answer, base) for _ in range(5)))
        of_full = f" ({worst / in_as_full:.1f} in full)" if name.endswith("full") else ""
        print(f"{name:34}{worst / stated:7.1f} times a stated one{of_full}  {body[:160]}", flush=True)


if __name__ == "__main__":
    main()
