"""Whoever shows an answer in another language has a code and parameters for each of its sentences."""

import json
import re
from collections.abc import Iterator
from itertools import product
from typing import Any

import pytest

from api.settings import DEMO
from knowledge.assemble import read_shop
from knowledge.box.question import FillQuestion
from knowledge.fill.compute import WITH_CODES, compute_fill_answer

DEMOS = [json.loads(path.read_text(encoding="utf-8")) for path in sorted((DEMO / "questions").glob("*.json"))]
BOOKS = (
    None,
    {"family": "gl-5", "grade": "75W-90"},
    {"family": "mtf"},
    {"grade": "90"},
    {"note": "not read"},
    {"family": "gl-5", "grade": "90"},
)
NAMED = ({}, {"fluid_named": {"family": "mtf", "grade": "75W-80"}})
STATED = {"final_drive": "none", "coldest_start_c": -30, "duty": "street", "wet_clutch": False, "limited_slip": False}
ASKED = [
    *(demo["question"] for demo in DEMOS if demo["ask"] == "fill"),
    *(
        {**STATED, "rings": [{"facing": facing, **named}], "service_data": book}
        for facing, book, named in product(("bronze", "paper"), BOOKS, NAMED)
    ),
    *({"rings": rings, "final_drive": "hypoid", "wet_clutch": wet} for rings, wet in product(([], None), (True, None))),
    {"rings": [{"facing": "paper"}], "final_drive": "hypoid"},
    {"rings": [{"facing": "bronze"}], "sump_hot_c": 135, "duty": "competition"},
]
# What a label prints is no sentence.
AS_PRINTED = re.compile(r"/(name|grade|locator)$|/never_on_the_label/|/window/grades/|/assumed/\d+/value$")
# Elsewhere these have one too.
SENTENCES = re.compile(r"/jugs/\d+/(because|label_findings/\d+/text)|/question/assumed/\d+/reason|/upkeep/.*")
# Other rules than those of classes, and rows of other tables.
OF_OTHERS = re.compile(r"/(jugs|leftover|cautions|upkeep|question)/")


@pytest.fixture(scope="module")
def answers(base) -> list[dict[str, Any]]:
    """The answers in full."""
    shop = read_shop(DEMO, base)
    asked = (FillQuestion.model_validate(question) for question in ASKED)
    return [compute_fill_answer(question, base, shop, "full").model_dump(mode="json") for question in asked]


def texts(part: Any, at: str = "") -> Iterator[tuple[str, str]]:
    """Every text of several words in a part of an answer, with its JSON pointer."""
    if isinstance(part, str) and " " in part:
        yield at, part
    below = part.items() if isinstance(part, dict) else enumerate(part) if isinstance(part, list) else ()
    for name, value in below:
        yield from texts(value, f"{at}/{name}")


def test_every_sentence_of_these_parts_has_one_code(answers) -> None:
    for answer in answers:
        places = [message["at"] for message in answer["messages"]]
        assert len(places) == len(set(places))
        sentences = texts({name: answer[name] for name in WITH_CODES})
        assert {at for at, _ in sentences if not AS_PRINTED.search(at)} <= set(places)
        assert {at for at, _ in texts(answer) if SENTENCES.fullmatch(at)} <= set(places)
        for place, finding in enumerate(answer["findings"]):
            assert f"/findings/{place}/text" in places
            assert finding["only_if"] is None or f"/findings/{place}/only_if" in places


def test_code_and_parameters_say_all_that_the_sentence_says(answers) -> None:
    """No two sentences share them: a translation can be made of them alone."""
    said: dict[str, set[str]] = {}
    for answer in answers:
        told = dict(texts(answer))
        for message in answer["messages"]:
            if message["at"] in told:
                key = json.dumps({name: value for name, value in message.items() if name != "at"})
                said.setdefault(key, set()).add(told[message["at"]])
    assert len(said) > 100
    assert {key: found for key, found in said.items() if len(found) > 1} == {}


def test_the_code_of_what_a_rule_says_names_the_rule_and_its_outcome(answers, base) -> None:
    known = {f"{row.rule}/{row.outcome}" for row in base.outcomes} | {f"{row.rule}/sheet-line" for row in base.outcomes}
    told = [message for answer in answers for message in answer["messages"]]
    of_rules = {one["code"].removesuffix("/when-named") for one in told if not OF_OTHERS.match(one["at"])}
    assert {code for code in of_rules if "/" in code} <= known
    codes = {one["code"] for message in told for one in (message, *message["parts"])}
    assert all(re.fullmatch(r"[a-z0-9-]+(/[a-z0-9-]+)?(/when-named|/aloud)?", code) for code in codes)
