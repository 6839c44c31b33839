"""A counter would say the same of the jug: jugs.toml, common practice, written without looking at any answer."""

import json
import tomllib
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from knowledge.jug.compute import compute_jug_answer
from knowledge.jug.question import JugQuestion
from tests.knowledge.conftest import stated_box

CASES = tomllib.loads(Path("tests/golden/jugs.toml").read_text(encoding="utf-8"))["case"]
MOST_BYTES = 4096
MOST_BYTES_OF_A_JUG = 300
OURS = (" serves", " leads", "speaks against", "so far", "as such")


def box_of(case: dict[str, Any]) -> dict[str, Any]:
    if "open" in case:
        return case["open"]
    return stated_box(None if case["box"] == "none" else case["box"], **case.get("change", {}))


@pytest.fixture
def read_wire(base) -> Callable[..., tuple[dict[str, Any], str]]:
    """The short answer about a jug, and its whole text."""

    def read(case: dict[str, Any]) -> tuple[dict[str, Any], str]:
        asked = case["jug"] | ({"question": box_of(case)} if {"box", "open"} & case.keys() else {})
        text = compute_jug_answer(JugQuestion.model_validate_json(json.dumps(asked)), base).model_dump_json()
        return json.loads(text), text

    return read


@pytest.mark.parametrize("case", [pytest.param(case, id=case["id"]) for case in CASES if "jug" in case])
def test_a_rebuilder_would_say_the_same_of_the_jug(case, read_wire) -> None:
    answer, text = read_wire(case)
    headline = f"{answer['summary']} {answer['say']}".lower()
    departs = [] if answer["verdict"] in case.get("verdicts", [answer["verdict"]]) else [answer["verdict"]]
    departs += [f"{words} is not said" for words in case.get("says", ()) if words.lower() not in headline]
    departs += [f"{words} is not told" for words in case.get("tells", ()) if words.lower() not in text.lower()]
    departs += [f"{words} is told" for words in (*OURS, *case.get("silent", ())) if words.lower() in text.lower()]
    asked = answer["ask_of_the_sheet"]
    if "asks" in case and (case["asks"] not in asked if case["asks"] else asked):
        departs.append(f"asks for {asked}")
    if answer["j306"]["2019"] != case.get("j306", answer["j306"]["2019"]):
        departs.append(f"graded {answer['j306']['2019']}")
    assert departs == []
    assert len(text.encode()) <= MOST_BYTES


@pytest.mark.parametrize("case", [pytest.param(case, id=case["id"]) for case in CASES if "shelf" in case])
def test_a_rebuilder_would_take_the_same_jug_off_the_shelf(case, ask_wire) -> None:
    jugs = ask_wire(box_of(case) | {"on_hand": case["shelf"]})["jugs"]
    assert next((jug["name"] for jug in jugs if jug["rank"] == 1), "nothing") in case["first"]
    for jug in jugs:
        assert jug["verdict"] in case.get("verdicts", {}).get(jug["name"], [jug["verdict"]]), jug["name"]
        assert len(json.dumps(jug, ensure_ascii=False, separators=(",", ":")).encode()) <= MOST_BYTES_OF_A_JUG
        assert not any(words in jug["because"] for words in OURS)
