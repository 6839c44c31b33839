"""How many questions it takes to settle, asked in three orders: `python tests/bench/asking.py [BOXES]`.

Random boxes hide behind an empty question; each reply is what the box really has. The orders are: what the answer
proposes, the order in which the fields stand, and a random order.
"""

import random
import statistics
import sys
from collections.abc import Callable, Sequence

from knowledge.assemble import read_knowledge
from knowledge.base import KnowledgeBase
from knowledge.box.question import FillQuestion
from knowledge.fill.answer import AskNext, FillAnswer
from knowledge.fill.compute import compute_fill_answer

Choice = Callable[[Sequence[AskNext], random.Random], AskNext]

ORDERS: dict[str, Choice] = {
    "as proposed": lambda asked, _: asked[0],
    "fixed order": lambda asked, _: min(asked, key=lambda item: FIXED.index(item.pointer)),
    "random order": lambda asked, chance: chance.choice(asked),
}
FIXED = (
    "/rings",
    "/rings/0/facing",
    "/rings/0/body",
    "/rings/0/cones",
    "/rings/0/condition",
    "/yellow_metal",
    "/final_drive",
    "/limited_slip",
    "/wet_clutch",
    "/coldest_start_c",
    "/duty",
    "/sump_hot_c",
)


def random_box(base: KnowledgeBase, chance: random.Random) -> dict[str, str]:
    """A hidden box: for each pointer the reply it would give."""
    replies = {}
    for row in base.plausible_values:
        replies.setdefault(base.unknowns[row.field].pointer, []).append(row.value)
    box = {pointer: chance.choice(values) for pointer, values in replies.items()}
    duty = base.duties[box["/duty"]]
    box["/sump_hot_c"] = f"{chance.choice((duty.sump_low_c, duty.sump_high_c)):g}"
    return box


def replied(known: dict, asked: AskNext, box: dict[str, str]) -> dict:
    """The question with one more reply; a reply the box cannot give is taken from those offered."""
    offered = [reply.value for reply in asked.answers]
    value = box[asked.pointer] if box[asked.pointer] in offered else offered[0]
    known = {**known, "rings": [dict(ring) for ring in known["rings"]] if known.get("rings") else known.get("rings")}
    if asked.pointer == "/rings":
        known["rings"] = [] if value == "none" else [{"facing": value}]
    elif asked.pointer.startswith("/rings/0/"):
        known["rings"] = known["rings"] or [{}]
        field = asked.pointer.rsplit("/", 1)[1]
        known["rings"][0][field] = int(value) if field == "cones" else value
    elif value in ("true", "false"):
        known[asked.pointer[1:]] = value == "true"
    else:
        known[asked.pointer[1:]] = float(value) if asked.pointer.endswith("_c") else value
    return known


def questions_until_settled(base: KnowledgeBase, box: dict[str, str], choose: Choice, chance: random.Random) -> int:
    """How many replies it takes until the answer no longer depends."""
    known: dict = {}
    asked = 0
    while (answer := compute_fill_answer(FillQuestion.model_validate(known), base, detail="full")).outcome == "depends":
        known = replied(known, choose(_open(answer), chance), box)
        asked += 1
    return asked


def _open(answer: FillAnswer) -> Sequence[AskNext]:
    """What may be asked: a ring's other fields only once it is known that there is a ring."""
    if any(item.pointer == "/rings" for item in answer.ask_next):
        return [item for item in answer.ask_next if not item.pointer.startswith("/rings/")]
    return answer.ask_next


def main() -> None:
    """Print the table."""
    base = read_knowledge()
    boxes = int(sys.argv[1]) if len(sys.argv) > 1 else 100
    print(f"{boxes} random boxes, questions until settled")
    for name, choose in ORDERS.items():
        chance = random.Random(3448)
        counts = [questions_until_settled(base, random_box(base, chance), choose, chance) for _ in range(boxes)]
        print(
            f"{name:14} mean {statistics.mean(counts):5.2f}",
            f"median {statistics.median(counts):4.1f}  most {max(counts)}",
        )


if __name__ == "__main__":
    main()
