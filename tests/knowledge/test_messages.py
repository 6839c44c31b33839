"""The sentences of jug, drain, shift and complaint have a code each, as those of a fill: see fill/test_messages.py."""

import json
import re
from collections.abc import Iterator
from itertools import product
from typing import Any

import pytest

from api.settings import DEMO
from knowledge.assemble import read_shop
from knowledge.drain.compute import compute_drain_answer
from knowledge.drain.question import DrainQuestion
from knowledge.drain.rules import LEFTOVER_RULES
from knowledge.judging.rules import RULES
from knowledge.jug.compute import compute_jug_answer
from knowledge.jug.question import JugQuestion
from knowledge.jug.rules.label import LABEL_RULES
from knowledge.rings.shift_question import ShiftQuestion
from knowledge.shift.compute import full_shift_answer
from knowledge.shift.rules.shift import SHIFT_RULES
from knowledge.symptom.compute import compute_symptom_answer
from knowledge.symptom.question import SymptomQuestion
from tests.knowledge.fill.test_messages import texts

DEMOS = [json.loads(path.read_text(encoding="utf-8")) for path in sorted((DEMO / "questions").glob("*.json"))]
BOXES = (
    {},
    {"rings": [{"facing": "paper"}], "yellow_metal": True},
    {"rings": [{"facing": "bronze"}], "duty": "towing"},
)
FAMILIES = ("gl-4", "gl-5", "mtf", "engine-oil", "mt-1", None)
SHEETS = (
    {},
    {"kv40_mm2_s": 95, "kv100_mm2_s": 15.2, "kv100_sheared_mm2_s": 9, "t150_c": -41},
    {"kv100_mm2_s": 7, "copper_strip": {"rating": "3b", "temperature_c": 121, "hours": 3}, "t150_c": -12},
    {"density15_kg_m3": 700, "copper_strip": {"rating": "1a"}, "limited_slip": True, "kv100_mm2_s": 1.5},
)
LABELS = [{"family": family, "grade": grade} for family, grade in product(FAMILIES, ("75W-90", "10W-40", "90", None))]
SHIFTS = [
    {"inertia_kg_m2": 0.01, "speed_difference_rpm": 1500, "direction": way, "fluid": oil, "start_c": start, "shifts": 9}
    for way, oil, start in product(("up", "down"), (None, "gl-5-75w-90", "mtf-75w-80"), (-30, 80))
]  # fmt: skip

ASKED: dict[str, list[dict[str, Any]]] = {
    "jug": [{"label": label, **sheet, "question": box} for label, sheet, box in product(LABELS[::3], SHEETS, BOXES)],
    "drain": [
        {"old": {"family": old}, "new": {"family": new}, "capacity_l": 2, "drained_l": drained, "question": box}
        for old, new, drained, box in product(FAMILIES, FAMILIES[:3], (0.4, 1.9), BOXES)
    ],
    "symptom": [
        {"symptoms": [id], "question": {**box, "in_it_now": {"label": label}}}
        for id, label, box in product(("grinds-one-gear", "grinds-reverse-at-rest"), LABELS[::5], BOXES)
    ],
    "shift": SHIFTS,
}
# The parts of each answer whose sentences have a code.
WITH_CODES = {
    "jug": r"/(label_)?findings/\d+/(text|only_if)|/cautions/\d+/only_if|/summary|/say|/because|/care/\d+"
    r"|/cold_limit/basis|/viscosity_index_reason|/nearest_classes/\d+/off/\d+|/assumed/\d+/reason",
    "drain": r"/findings/\d+/(text|only_if)|/cautions/\d+/only_if|/summary|/say|/job_card|/assumed/\d+/reason",
    "symptom": r"/fluid_in_it/(findings/\d+/)?(text|only_if)|/suspects/\d+/(for|against)/\d+/text|/summary|/say|/reason"
    r"|/ring_gap/text|/ask_for/\d+",
    "shift": r"/facings/\d+/(findings/\d+/text|verdict_text|sync_reason|friction/reason)|/summary|/sync_reason"
    r"|/friction/reason|/compare/\d+/(why|what_else)|/least_changes/\d+/(text|reason)|/how_judged/\d+"
    r"|/question/assumed/\d+/reason",
}


@pytest.fixture(scope="module")
def answers(base) -> dict[str, list[dict[str, Any]]]:
    """The answers in full."""
    shop = read_shop(DEMO, base)
    ask = {
        "jug": lambda given: compute_jug_answer(JugQuestion.model_validate(given), base, shop, "full"),
        "drain": lambda given: compute_drain_answer(DrainQuestion.model_validate(given), base, shop, "full"),
        "symptom": lambda given: compute_symptom_answer(SymptomQuestion.model_validate(given), base, shop, "full"),
        "shift": lambda given: full_shift_answer(ShiftQuestion.model_validate(given), base),
    }
    demos = {job: [demo["question"] for demo in DEMOS if demo["ask"] == job] for job in ASKED}
    return {job: [ask[job](given).model_dump(mode="json") for given in (*demos[job], *ASKED[job])] for job in ASKED}


def sentences(answers) -> Iterator[tuple[str, str, str, dict[str, Any]]]:
    """Every sentence that has to have a code: of which job, where, what it says, and the messages of its answer."""
    for job, of_job in answers.items():
        for answer in of_job:
            messages = {message["at"]: message for message in answer["messages"]}
            assert len(messages) == len(answer["messages"])
            for at, text in texts(answer):
                if re.fullmatch(WITH_CODES[job], at):
                    yield job, at, text, messages


def test_every_sentence_of_these_parts_has_one_code(answers) -> None:
    assert {job for job, *_ in sentences(answers)} == set(WITH_CODES)
    assert [(job, at) for job, at, _, messages in sentences(answers) if at not in messages] == []


def test_code_and_parameters_say_all_that_the_sentence_says(answers) -> None:
    said: dict[str, set[str]] = {}
    for _, at, text, messages in sentences(answers):
        told = {name: value for name, value in messages[at].items() if name != "at"}
        said.setdefault(json.dumps(told), set()).add(text)
    assert len(said) > 200
    assert {key: found for key, found in said.items() if len(found) > 1} == {}


def test_the_code_names_the_rule_and_its_outcome_or_the_suspect_and_what_was_seen(answers, base) -> None:
    rules = {rule.id for rule in (*RULES, *LABEL_RULES, *LEFTOVER_RULES, *SHIFT_RULES)}
    for job, at, _, messages in sentences(answers):
        of, _, outcome = messages[at]["code"].partition("/")
        if not re.search(r"/(findings|for|against)/\d+/text$", at):
            continue
        assert of in (base.ids("suspects") if "/suspects/" in at else rules), (job, at)
        assert re.fullmatch(r"[a-z0-9-]+(/when-named)?", outcome)
