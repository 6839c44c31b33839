"""Dialogues played from the answers alone: `python -m tests.bench.dialogues [DIALOGUES]`, 500 if nothing is said.

Each starts from a random question, spelt as callers spell it. One reply of one question is taken at random, its patch
is merged as RFC 7396 says and posted, and its link is asked too. The exit code is 1 where a dialogue breaks a promise.
"""

import random
import sys
from collections import Counter
from collections.abc import Callable, Iterator, Mapping
from typing import Any

from hypothesis import given
from hypothesis import strategies as st

from api.app import create_app
from api.settings import DEMO, Settings
from knowledge.assemble import read_knowledge, read_shop
from knowledge.base import KnowledgeBase
from knowledge.loading.fluid_rows import AliasRow
from knowledge.shop.shop import Shop
from tests.conftest import Client
from tests.knowledge.fill.boxes import questions
from tests.knowledge.law import law

Fill = Callable[[str, Any], Any]
Question = dict[str, Any]

MOST_QUESTIONS = 20
TABLE_OF = {"facing": "facings", "body": "bodies", "family": "families", "duty": "duties", "box_kind": "box_kinds"}
# A kind of box is asked twice: its layout, and then its era.
TWICE = "/box_kind"
ODD: Mapping[str, tuple[Any, ...]] = {
    "rings": (
        None,
        [],
        [{}],
        [{"gears": "1-2"}],
        [{"gears": "1-2", "cones": 2.0}, {"gears": "3-4", "condition": "worn"}],
        [{"facing": None, "fluid_named": {"grade": "75w90"}}],
    ),
    "service_data": ({}, {"grade": "75W-90"}, {"note": "page 12 & 13"}, {"interval_km": 80_000}),
    "in_it_now": ({}, {"label": {"family": "GL-5"}}, {"label": {"grade": "80W-90"}, "kv100_mm2_s": 15.0}),
    "bearing": ({"pitch_diameter_mm": 50, "speed_rpm": 3000},),
    "coldest_start_c": (None, -0.0, -17.25),
}


def merged(question: Any, patch: Any) -> Any:
    """RFC 7396, as its own pseudocode has it."""
    if not isinstance(patch, dict):
        return patch
    result = dict(question) if isinstance(question, dict) else {}
    for name, value in patch.items():
        if value is None:
            result.pop(name, None)
        else:
            result[name] = merged(result.get(name), value)
    return result


def starts(base: KnowledgeBase, shop: Shop) -> st.SearchStrategy[Question]:
    """Questions of which little or much is told, in any spelling, of a box of the shop or not."""
    pointers = [row.pointer for row in base.unknowns.values()] + ["/rings/1/cones", "/rings/9/facing"]
    odd = {name: st.sampled_from(values) for name, values in ODD.items()} | {
        "box_ref": st.sampled_from(sorted(shop.boxes)),
        "use_shelf": st.booleans(),
        "unanswerable": st.lists(st.sampled_from(pointers), max_size=20),
    }
    words: dict[tuple[str, str], list[str]] = {}
    for row in base.rows(AliasRow):
        if row.how == "is":
            words.setdefault((row.kind, row.ids), []).append(row.word)

    def told(usual: Question, unusual: Question, most: int, chance: random.Random) -> Question:
        whole = usual | unusual
        return spelt({name: whole[name] for name in chance.sample(sorted(whole), min(most, len(whole)))}, "", chance)

    def spelt(value: Any, name: str, chance: random.Random) -> Any:
        if isinstance(value, dict):
            return {part: spelt(of, part, chance) for part, of in value.items()}
        if isinstance(value, list):
            return [spelt(of, name, chance) for of in value]
        if not isinstance(value, str) or name not in TABLE_OF:
            return value
        return chance.choice([value, value.upper(), value.title(), *words.get((TABLE_OF[name], value), ())])

    most = st.sampled_from((0, 1, 2, 2, 3, 3, 4, 6, 20))
    return st.builds(
        told, questions(base), st.fixed_dictionaries({}, optional=odd), most, st.randoms(use_true_random=False)
    )


def broken(question: Question, fill: Fill, chance: random.Random) -> Iterator[str]:
    """Play one dialogue to its end and tell which promises it breaks.

    `fill` asks by POST or GET: it takes the method and the question or the query, and gives the answer or the problem.
    """
    answer = fill("POST", question)
    if "outcome" not in answer:
        yield f"the first question is refused: {answer['detail']}"
        return
    asked_of: Counter[str] = Counter()
    while asked := answer["ask_next"]:
        one = chance.choice(asked)
        if one["pointer"] in question.get("unanswerable", ()):
            yield f"asks what nobody can say: {one['pointer']}"
        asked_of[one["pointer"]] += 1
        if asked_of[one["pointer"]] > 1 + (one["pointer"] == TWICE) or asked_of.total() > MOST_QUESTIONS:
            yield f"asks without end, or the same again: {one['pointer']}"
            return
        reply = chance.choice(one["answers"])
        if {**question, **reply["patch"]} != merged(question, reply["patch"]):
            yield "to replace the fields of the patch is not to merge it"
        question = merged(question, reply["patch"])
        answer = fill("POST", question)
        if "outcome" not in answer:
            yield f"a merged reply is refused: {answer['detail']}"
            return
        if reply["query"] is not None and fill("GET", reply["query"]) != answer:
            yield f"the link answers something else: {reply['query']}"
        leader, then = answer["leader"] and answer["leader"]["lubricant"]["id"], reply["then"]
        if reply["value"] is None:
            if one["pointer"] not in question["unanswerable"]:
                yield f"forgets that nobody can say: {one['pointer']}"
        elif leader != then:
            yield f"{one['pointer']} {reply['value']} leads to {leader}, and not to {then}"
    if (answer["outcome"] == "depends") != (answer["safest_if_unanswered"] is not None):
        yield f"ends as {answer['outcome']}, and the safest is {answer['safest_if_unanswered']}"


def played(count: int, base: KnowledgeBase, shop: Shop, client: Client) -> tuple[int, list[str]]:
    """How many requests so many dialogues took, and what they broke."""
    found: list[str] = []
    requests: Counter[str] = Counter()

    def fill(method: str, asked: Any) -> Any:
        requests[method] += 1
        given = {"json": asked} if method == "POST" else {"params": asked}
        return client.request(method, "/v1/fill", **given).json()

    @law(count)
    @given(starts(base, shop), st.randoms(use_true_random=False))
    def play(question: Question, chance: random.Random) -> None:
        found.extend(f"{fault}, from {question}" for fault in broken(question, fill, chance))

    play()
    return requests.total(), found


def main() -> int:
    """Print how many dialogues were played, and every promise that one broke."""
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 500
    base = read_knowledge()
    requests, found = played(count, base, read_shop(DEMO, base), Client(create_app(Settings(), base)))
    print(f"{count} dialogues, {requests} requests, {len(found)} promises broken", *found, sep="\n")
    return int(bool(found))


if __name__ == "__main__":
    sys.exit(main())
