"""Which figures most deserve a better source: `python -m tests.bench.firmness [--boxes N] [--seed S]`.

Draws every figure that no source proves for the fill questions of the demo and for random boxes as the trade meets
them, and prints how firm the answers are and the ten figures that turn most of them, as tables for DEVELOPERS.md.
"""

import argparse
import json
from collections import Counter
from pathlib import Path
from random import Random

from knowledge.assemble import read_knowledge
from knowledge.base import KnowledgeBase
from knowledge.box.question import FillQuestion
from knowledge.fill.firmness import FirmnessQuestion, firmness
from tests.knowledge.conftest import usual_questions

DEMO = Path(__file__).parents[2] / "demo_data" / "questions"
MOST_TOLD = 10


def demo_questions() -> list[dict]:
    """The fill questions of the demo that speak of no shop."""
    files = (json.loads(path.read_bytes()) for path in sorted(DEMO.glob("*.json")))
    asked = (file["question"] for file in files if file["ask"] == "fill")
    return [question for question in asked if not {"box_ref", "use_shelf"} & question.keys()]


def table(questions: list[dict], base: KnowledgeBase) -> None:
    """Print the words of the answers, and the figures by the share of all draws that each would have kept."""
    words: Counter[str] = Counter()
    lost: Counter[str] = Counter()
    held = 0.0
    for fields in questions:
        found = firmness(FirmnessQuestion(question=FillQuestion.model_validate(fields)), base)
        words[found.word] += 1
        held += found.holds
        for item in found.matters_most:
            lost[item.figure] += item.effect * (1 - found.holds)
    told = ", ".join(f"{word} {count}" for word, count in words.most_common())
    print(f"{len(questions)} boxes: {told}; the leader stays in {held / len(questions):.1%} of the draws\n")
    print("| figure | draws that it turns, of all |\n|---|---|")
    for figure, weight in lost.most_common(MOST_TOLD):
        print(f"| `{figure}` | {weight / len(questions):.2%} |")


if __name__ == "__main__":
    arguments = argparse.ArgumentParser(description=__doc__)
    arguments.add_argument("--boxes", type=int, default=300)
    arguments.add_argument("--seed", type=int, default=1)
    given = arguments.parse_args()
    knowledge = read_knowledge()
    boxes = usual_questions(knowledge, max(given.boxes, 300))
    Random(given.seed).shuffle(boxes)
    table([*demo_questions(), *boxes[: given.boxes]], knowledge)
