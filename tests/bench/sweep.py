"""How often each class leads, and what breaks: `python -m tests.bench.sweep [--boxes N] [--questions N]`.

Alone it prints who leads over 900 stated boxes, as the table of DEVELOPERS.md. With `--boxes` it tries the laws of the
fill on so many random boxes, with `--questions` whether any of so many random answers contradicts itself. What is
broken is told on standard error as it is found; the exit code is 1 when anything is.
"""

import argparse
import json
import random
import sys
from collections import Counter
from collections.abc import Callable, Iterable
from itertools import product
from typing import Any

from hypothesis import given

from knowledge.assemble import read_knowledge
from knowledge.base import KnowledgeBase
from knowledge.box.question import FillQuestion
from knowledge.fill.compute import compute_fill_answer
from tests.knowledge.fill.boxes import questions, stated_boxes
from tests.knowledge.fill.contradictions import contradictions
from tests.knowledge.fill.laws import LAWS
from tests.knowledge.law import law

FACINGS = ("bronze", "molybdenum", "sintered", "paper", "carbon")
DUTIES = ("street", "highway", "towing", "competition")
COLD_C = (5, -10, -20, -30, -40)
FINAL_DRIVES = ("none", "helical", "hypoid")
RINGS: tuple[dict[str, Any], ...] = (
    {"cones": 1, "condition": "new"},
    {"cones": 1, "condition": "worn"},
    {"cones": 3, "condition": "new"},
)
EXAMPLES_SHOWN = 3


def wire(base: KnowledgeBase, question: dict[str, Any], detail: Any = "short") -> dict[str, Any]:
    """The answer to a question, both as they travel over the wire."""
    asked = FillQuestion.model_validate_json(json.dumps(question))
    return json.loads(compute_fill_answer(asked, base, detail=detail).model_dump_json())


def boxes() -> Iterable[tuple[str, dict[str, Any]]]:
    """The 900 boxes, each with its facing."""
    for facing, duty, cold, drive, ring in product(FACINGS, DUTIES, COLD_C, FINAL_DRIVES, RINGS):
        stated = {"limited_slip": False, "wet_clutch": False, "yellow_metal": True, "final_drive": drive}
        yield facing, {"rings": [{"facing": facing, **ring}], "duty": duty, "coldest_start_c": cold, **stated}


def who_leads(base: KnowledgeBase) -> str:
    """The table of how many boxes each class leads, in markdown."""
    counts: Counter[tuple[str, str]] = Counter()
    by: Counter[str] = Counter()
    for facing, box in boxes():
        leader = wire(base, box)["leader"]
        counts[leader["lubricant"]["id"] if leader else "nothing", facing] += 1
        by[leader["leads_by"] if leader else "nothing"] += 1
    sums = {id: sum(counts[id, facing] for facing in FACINGS) for id, _ in counts}
    lines = [f"| leads | {' | '.join(FACINGS)} | of {counts.total()} |", "|---" * (len(FACINGS) + 2) + "|"]
    for id in sorted(sums, key=lambda id: (-sums[id], id)):
        lines.append(f"| {id} | {' | '.join(str(counts[id, facing]) for facing in FACINGS)} | {sums[id]} |")
    return "\n".join([*lines, "", ", ".join(f"by {name}: {count}" for name, count in by.most_common())])


def broken_laws(base: KnowledgeBase, count: int) -> dict[str, list[str]]:
    """How each law is broken over random boxes."""
    oils = {oil.id: oil for oil in base.lubricants}
    broken: dict[str, list[str]] = {one.__name__: [] for one in LAWS}

    def tried(box: dict[str, Any]) -> None:
        answers: dict[str, dict[str, Any]] = {}

        def ask(question: dict[str, Any]) -> dict[str, Any]:
            key = json.dumps(question, sort_keys=True)
            return answers[key] if key in answers else answers.setdefault(key, wire(base, question))

        for one in LAWS:
            chance = random.Random(json.dumps(box))
            for found in one(box, ask, oils, chance):
                note(broken, one.__name__, f"{found}: {json.dumps(box)}")

    law(count)(given(stated_boxes(base))(tried))()
    return broken


def contradicting(base: KnowledgeBase, count: int) -> dict[str, list[str]]:
    """What contradicts itself in the answers to random questions, by its first words."""
    broken: dict[str, list[str]] = {}

    def tried(question: dict[str, Any]) -> None:
        for found in contradictions(wire(base, question), wire(base, question, "full")):
            kind = " ".join(found.split()[-4:] if found.endswith("leads") else found.split(":")[0].split()[:4])
            note(broken, kind, f"{found} | {json.dumps(question)}")

    law(count)(given(questions(base))(tried))()
    return broken


def note(broken: dict[str, list[str]], name: str, found: str) -> None:
    """Keep what is broken, and tell the first of each kind at once."""
    examples = broken.setdefault(name, [])
    examples.append(found)
    if len(examples) <= EXAMPLES_SHOWN:
        print(f"{name}: {found}", file=sys.stderr, flush=True)


def told(broken: dict[str, list[str]]) -> bool:
    """Print how often each is broken; whether any is."""
    for name, found in sorted(broken.items(), key=lambda pair: -len(pair[1])):
        print(f"{len(found):6} {name}")
    return any(broken.values())


def main() -> int:
    """Print what was asked for."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--boxes", type=int, default=0)
    parser.add_argument("--questions", type=int, default=0)
    given_flags = parser.parse_args()
    base = read_knowledge()
    trials: list[tuple[int, Callable[[KnowledgeBase, int], dict[str, list[str]]]]]
    trials = [(given_flags.boxes, broken_laws), (given_flags.questions, contradicting)]
    if not any(count for count, _ in trials):
        print(who_leads(base))
    broken = [told(tried(base, count)) for count, tried in trials if count]
    return int(any(broken))


if __name__ == "__main__":
    sys.exit(main())
