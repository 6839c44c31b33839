"""How many questions it takes to settle, asked in three orders: `python tests/bench/asking.py [BOXES]`.

Boxes as the trade meets them hide behind an empty question; each reply is what the box really has, and nobody has the
book. The orders are: what the answer proposes, the order in which the fields stand, and a random order.
"""

import random
import statistics
import sys
from collections.abc import Callable, Mapping, Sequence
from typing import Any

from knowledge.assemble import read_knowledge
from knowledge.base import KnowledgeBase
from knowledge.box.question import FillQuestion
from knowledge.box.weights import BY_KIND, how_often
from knowledge.fill.answer import AskNext, FillAnswer, Reply
from knowledge.fill.compute import compute_fill_answer
from knowledge.loading.custom_rows import BoxKindRow
from knowledge.text import value_text

Choice = Callable[[Sequence[AskNext], random.Random], AskNext]

FIXED = (
    "/box_kind", "/service_data/family", "/rings", "/rings/0/facing", "/rings/0/body", "/rings/0/cones",
    "/rings/0/condition", "/yellow_metal", "/final_drive", "/limited_slip", "/wet_clutch", "/coldest_start_c", "/duty",
)  # fmt: skip
ORDERS: dict[str, Choice] = {
    "as proposed": lambda asked, _: asked[0],
    "fixed order": lambda asked, _: min(asked, key=lambda item: FIXED.index(item.pointer)),
    "random order": lambda asked, chance: chance.choice(asked),
}


def random_box(base: KnowledgeBase, chance: random.Random) -> dict[str, tuple[str, ...]]:
    """A hidden box: for each pointer the replies that are true of it."""
    kinds = [row for row in base.rows(BoxKindRow) if row.callers_percent]
    kind = chance.choices(kinds, [row.callers_percent or 0.0 for row in kinds])[0]
    box = {"box_kind": kind.id}
    for field, column in BY_KIND.items():
        met = getattr(kind, column)
        box[field] = chance.choices(list(met), list(met.values()))[0]
    for field in ("body", "cones", "condition", "yellow_metal", "limited_slip", "wet_clutch", "coldest_start_c"):
        tried = [one.value for one in base.plausible_values if one.field == field]
        box[field] = chance.choices(tried, [how_often(field, value, box, base) for value in tried])[0]
    found = {base.unknowns[field].pointer: (value,) for field, value in box.items()}
    return found | {"/rings": (box["facing"],), "/box_kind": (kind.id, kind.layout or kind.id)}


def reply_of(asked: AskNext, box: Mapping[str, tuple[str, ...]]) -> Reply:
    """What is true of the box; where that is not offered, or nobody knows it, that the caller can't say."""
    true = box.get(asked.pointer, ())
    return next((reply for reply in asked.answers if value_text(reply.value).lower() in true), asked.answers[-1])


def questions_until_settled(
    base: KnowledgeBase, box: Mapping[str, tuple[str, ...]], choose: Choice, chance: random.Random
) -> int:
    """How many replies it takes until nothing more is asked."""
    known: dict[str, Any] = {}
    asked = 0
    while (answer := compute_fill_answer(FillQuestion.model_validate(known), base, detail="full")).ask_next:
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
    print(f"{boxes} boxes, questions until nothing more is asked")
    for name, choose in ORDERS.items():
        chance = random.Random(3448)
        counts = [questions_until_settled(base, random_box(base, chance), choose, chance) for _ in range(boxes)]
        mean, median = statistics.mean(counts), statistics.median(counts)
        print(f"{name:14} mean {mean:5.2f}  median {median:4.1f}  most {max(counts)}")


if __name__ == "__main__":
    main()
