"""How many questions it takes to settle, asked in three orders: `python tests/bench/asking.py [BOXES]`.

Random boxes hide behind an empty question; each reply is what the box really has. The orders are: what the answer
proposes, the order in which the fields stand, and a random order.
"""

import random
import statistics
import sys
from collections.abc import Callable, Mapping, Sequence
from typing import Any

from knowledge.assemble import read_knowledge
from knowledge.base import KnowledgeBase
from knowledge.box.question import FillQuestion
from knowledge.fill.answer import AskNext, FillAnswer, Reply
from knowledge.fill.compute import compute_fill_answer

Choice = Callable[[Sequence[AskNext], random.Random], AskNext]

FIXED = (
    "/rings", "/rings/0/facing", "/rings/0/body", "/rings/0/cones", "/rings/0/condition", "/yellow_metal",
    "/final_drive", "/limited_slip", "/wet_clutch", "/coldest_start_c", "/duty", "/sump_hot_c",
)  # fmt: skip
ORDERS: dict[str, Choice] = {
    "as proposed": lambda asked, _: asked[0],
    "fixed order": lambda asked, _: min(asked, key=lambda item: FIXED.index(item.pointer)),
    "random order": lambda asked, chance: chance.choice(asked),
}


def random_box(base: KnowledgeBase, chance: random.Random) -> dict[str, str]:
    """A hidden box: for each pointer the reply it would give."""
    replies: dict[str, list[str]] = {}
    for row in base.plausible_values:
        replies.setdefault(base.unknowns[row.field].pointer, []).append(row.value)
    box = {pointer: chance.choice(values) for pointer, values in replies.items()}
    duty = base.duties[box["/duty"]]
    return box | {"/sump_hot_c": f"{chance.choice((duty.sump_low_c, duty.sump_high_c)):g}"}


def reply_of(asked: AskNext, box: Mapping[str, str]) -> Reply:
    """What the box replies; where that is not offered, the first that is."""
    offered = {str(reply.value).lower().removesuffix(".0"): reply for reply in asked.answers}
    return offered.get(box[asked.pointer], asked.answers[0])


def questions_until_settled(base: KnowledgeBase, box: Mapping[str, str], choose: Choice, chance: random.Random) -> int:
    """How many replies it takes until the answer no longer depends."""
    known: dict[str, Any] = {}
    asked = 0
    while (answer := compute_fill_answer(FillQuestion.model_validate(known), base, detail="full")).outcome == "depends":
        known |= reply_of(choose(may_be_asked(answer), chance), box).patch
        asked += 1
    return asked


def may_be_asked(answer: FillAnswer) -> Sequence[AskNext]:
    """A ring's other fields only once it is known that there is a ring."""
    is_of_ring = any(item.pointer == "/rings" for item in answer.ask_next)
    return [item for item in answer.ask_next if not (is_of_ring and item.pointer.startswith("/rings/"))]


def main() -> None:
    """Print the table."""
    base = read_knowledge()
    boxes = int(sys.argv[1]) if len(sys.argv) > 1 else 100
    print(f"{boxes} random boxes, questions until settled")
    for name, choose in ORDERS.items():
        chance = random.Random(3448)
        counts = [questions_until_settled(base, random_box(base, chance), choose, chance) for _ in range(boxes)]
        mean, median = statistics.mean(counts), statistics.median(counts)
        print(f"{name:14} mean {mean:5.2f}  median {median:4.1f}  most {max(counts)}")


if __name__ == "__main__":
    main()
