"""What these tests share: a plain box to vary, a way to ask about it, random questions, and tables to spoil."""

import json
import shutil
from collections.abc import Callable
from functools import lru_cache
from pathlib import Path
from random import Random
from typing import Any, NamedTuple

import pytest
from hypothesis import strategies as st

from knowledge.assemble import read_knowledge
from knowledge.base import KnowledgeBase
from knowledge.box.axes import RING_PARTS
from knowledge.box.question import FillQuestion
from knowledge.errors import Fault, FaultyTables
from knowledge.fill.answer import Candidate, FillAnswer, FullFillAnswer
from knowledge.fill.compute import compute_fill_answer
from knowledge.judging.explain import explain
from knowledge.judging.judgement import Judgement
from knowledge.judging.rules import RULES
from knowledge.jug.answer import FullJugAnswer
from knowledge.jug.compute import compute_jug_answer
from knowledge.jug.question import JugQuestion
from knowledge.loading.custom_rows import BoxKindRow
from knowledge.loading.files import TABLES
from knowledge.lubricant import Lubricant
from knowledge.parts.provenance import Figure, Finding
from tests.knowledge.every_case import Case, every_case


class AskedEveryWay(NamedTuple):
    """A partly stated question, how it is judged, and every way it could turn out."""

    question: dict[str, Any]
    judgement: Judgement
    cases: list[Case]


PLACE_OF_RULE = {rule.id: place for place, rule in enumerate(RULES)}
PLAIN_BOX = {
    "yellow_metal": False,
    "final_drive": "none",
    "limited_slip": False,
    "wet_clutch": False,
    "coldest_start_c": -15.0,
    "sump_hot_c": 90.0,
    "duty": "street",
}
DROPPABLE = (
    "rings", "facing", "body", "cones", "condition", "yellow_metal", "final_drive", "limited_slip", "wet_clutch",
    "coldest_start_c", "sump_hot_c", "duty",
)  # fmt: skip


def stated_box(facing: str | None = "bronze", /, **changes: Any) -> dict[str, Any]:
    """A plain box with everything stated, on the street with mild frost; facing None leaves the rings out."""
    if facing is None:
        return {**PLAIN_BOX, "rings": [], **changes}
    ring = {"facing": facing, "body": "bronze" if facing == "bronze" else "steel", "cones": 1, "condition": "new"}
    ring |= {name: changes.pop(name) for name in (*RING_PARTS, "replaced") if name in changes}
    yellow = facing in ("bronze", "sintered") or ring["body"] == "bronze"
    return {**PLAIN_BOX, "rings": [ring], "yellow_metal": yellow, **changes}


@pytest.fixture(scope="session")
def box() -> Callable[..., dict[str, Any]]:
    """Makes a fully stated question, to be varied by its fields."""
    return stated_box


@pytest.fixture(scope="session")
def ask(base: KnowledgeBase) -> Callable[..., FullFillAnswer]:
    """Asks for the full answer to a question given by its fields; one asked before is not computed again."""

    @lru_cache(maxsize=200)
    def answer(fields: str) -> FullFillAnswer:
        return compute_fill_answer(FillQuestion.model_validate_json(fields), base, detail="full")

    return lambda **fields: answer(json.dumps(fields, sort_keys=True))


@pytest.fixture(scope="session")
def ask_short(base: KnowledgeBase) -> Callable[..., FillAnswer]:
    """Asks for the short answer to a question given by its fields, in a small part of the time."""
    return lambda **fields: compute_fill_answer(FillQuestion.model_validate(fields), base)


@pytest.fixture(scope="session")
def judge(base: KnowledgeBase) -> Callable[..., Judgement]:
    """Judges every class for a question given by its fields; one judged before is not judged again."""

    @lru_cache(maxsize=500)
    def judgement(fields: str) -> Judgement:
        return Judgement.of(FillQuestion.model_validate_json(fields), base)

    return lambda **fields: judgement(json.dumps(fields, sort_keys=True))


@pytest.fixture(scope="session")
def place_of(base: KnowledgeBase) -> dict[str, int]:
    """The place of each class in a judgement, by its id."""
    return {row.id: place for place, row in enumerate(base.lubricants)}


@pytest.fixture(scope="session")
def finds(judge: Callable[..., Judgement], place_of: dict[str, int]) -> Callable[[dict[str, Any], str, str], Finding]:
    """What a rule finds of a class for a question given by its fields, concerned or not."""
    return lambda fields, id, rule: explain(judge(**fields).judged, PLACE_OF_RULE[rule], place_of[id])


@pytest.fixture(scope="session")
def finds_of_oil(base: KnowledgeBase) -> Callable[[dict[str, Any], Lubricant, str], Finding]:
    """What a rule finds of an oil that is no class, for a question given by its fields."""
    return lambda fields, oil, rule: explain(
        Judgement.of(FillQuestion.model_validate(fields), base, (oil,)).judged, PLACE_OF_RULE[rule], 0
    )


@pytest.fixture(scope="session")
def figure(
    judge: Callable[..., Judgement], place_of: dict[str, int]
) -> Callable[[dict[str, Any], str, str], Figure | None]:
    """A figure that the rules compute of a class for a question given by its fields; None where they compute none."""
    return lambda fields, id, name: next(
        (found for found in judge(**fields).figures(place_of[id]) if found.name == name), None
    )


@pytest.fixture(scope="session")
def of() -> Callable[[FullFillAnswer, str], Candidate]:
    """The candidate of an answer by the id of its class."""
    return lambda answer, id: next(item for item in answer.candidates if item.lubricant.id == id)


@pytest.fixture(scope="session")
def oil(base: KnowledgeBase) -> Callable[[str], Lubricant]:
    """A class as the rules see it, by its id."""
    return lambda id: next(item for item in base.lubricants if item.id == id)


def tenths(count: int) -> float:
    """A temperature from its tenths of a degree."""
    return count / 10


@pytest.fixture(scope="session")
def stated_questions(base: KnowledgeBase) -> st.SearchStrategy[dict[str, Any]]:
    """Fully stated questions of every kind, with service data or without."""
    ring = st.fixed_dictionaries(
        {
            "facing": st.sampled_from(sorted(base.facings)),
            "body": st.sampled_from(sorted(base.bodies)),
            "cones": st.sampled_from((1, 2, 3)),
            "condition": st.sampled_from(("new", "worn")),
        }
    )
    service_data = st.fixed_dictionaries(
        {
            "family": st.none() | st.sampled_from(sorted(base.families)),
            "grade": st.none() | st.sampled_from(sorted({oil.grade for oil in base.lubricants} | {"75W-110"})),
        }
    )
    return st.fixed_dictionaries(
        {
            "rings": st.lists(ring, min_size=1, max_size=2) | st.lists(ring, max_size=2),
            "yellow_metal": st.booleans(),
            "final_drive": st.sampled_from(("none", "helical", "hypoid")),
            "limited_slip": st.booleans(),
            "wet_clutch": st.booleans(),
            "coldest_start_c": st.sampled_from(range(-500, 501)).map(tenths),
            "sump_hot_c": st.sampled_from(range(400, 1501)).map(tenths),
            "duty": st.sampled_from(sorted(base.duties)),
            "service_data": st.none() | st.none() | service_data,
        }
    )


@pytest.fixture(scope="session")
def partly_stated_questions(stated_questions: st.SearchStrategy[dict[str, Any]]) -> st.SearchStrategy[dict[str, Any]]:
    """Questions with up to four fields left out, few enough worlds to try them one by one."""
    dropped = st.lists(st.sampled_from(DROPPABLE), unique=True, max_size=4)
    return st.tuples(stated_questions, dropped).map(lambda pair: without(*pair))


@pytest.fixture(scope="session")
def asked_every_way(base: KnowledgeBase, judge: Callable[..., Judgement]) -> list[AskedEveryWay]:
    """Some partly stated questions, the same in every run, each with all its cases."""
    found = []
    for question in usual_questions(base, 40):
        judgement, cases = judge(**question), every_case(question, base, judge)
        # What a grade without its family means may follow from what is open.
        if all(case.judgement.named == judgement.named for case in cases):
            found.append(AskedEveryWay(question, judgement, cases))
    return found


def usual_questions(base: KnowledgeBase, count: int) -> list[dict[str, Any]]:
    """Partly stated questions as callers put them: most of rings, few of clutches, some with what a book names."""
    draw = Random(2026)
    kinds, oils = [*base.by_id(BoxKindRow)], base.lubricants

    def one() -> dict[str, Any]:
        sets = draw.choice((0, 1, 1, 1, 1, 2))
        facings = [draw.choice([*base.facings]) for _ in range(sets)]
        replaced = draw.choice((None, None, True, False))
        rings = [
            {**stated_box(facing, cones=draw.choice((1, 2, 3)))["rings"][0], "replaced": replaced} for facing in facings
        ]
        named = draw.choice(oils)
        grade = draw.choice((named.grade, named.grade, None))
        stated = {
            "box_kind": draw.choice((None, draw.choice(kinds))),
            "rings": rings,
            "yellow_metal": draw.random() < 0.8,
            "final_drive": draw.choice(("none", "none", "helical", "hypoid")),
            "limited_slip": draw.random() < 0.1,
            "wet_clutch": draw.random() < 0.1,
            "coldest_start_c": float(draw.randrange(-40, 20)),
            "duty": draw.choice([*base.duties]),
            "sump_hot_c": draw.choice((None, float(draw.randrange(60, 151)))),
            "service_data": draw.choice((None, None, {"family": named.family.id, "grade": grade})),
        }
        return without(stated, draw.sample(DROPPABLE, 4))

    return [one() for _ in range(count)]


TRIED_AT_MOST = {"rings": 79, "facing": 5, "body": 3, "cones": 3, "coldest_start_c": 4, "duty": 4, "final_drive": 3}
MOST_WORLDS = 80


def without(question: dict[str, Any], dropped: list[str]) -> dict[str, Any]:
    """A question without some of its fields, as long as the worlds it opens stay few."""
    left = {**question, "rings": [dict(ring) for ring in question["rings"]]}
    worlds = 1
    for name in dropped:
        worlds *= TRIED_AT_MOST.get(name, 2)
        if worlds > MOST_WORLDS:
            break
        if name not in RING_PARTS:
            left[name] = None
        elif left["rings"]:
            left["rings"][0][name] = None
    return left


@pytest.fixture(scope="session")
def read(base: KnowledgeBase) -> Callable[..., FullJugAnswer]:
    """Asks for the full answer about a jug given by its fields."""
    return lambda **fields: compute_jug_answer(JugQuestion.model_validate(fields), base, detail="full")


@pytest.fixture
def tables(tmp_path: Path) -> Path:
    """A copy of the tables that may be spoilt."""
    return Path(shutil.copytree(TABLES, tmp_path / "tables"))


@pytest.fixture
def spoilt(tables: Path) -> Callable[[str, str, str], tuple[Fault, ...]]:
    """The faults that are told once a passage of a table is replaced by another."""

    def faults(file: str, old: str, new: str) -> tuple[Fault, ...]:
        path = tables / file
        text = path.read_text(encoding="utf-8")
        assert old in text
        path.write_text(text.replace(old, new, 1), encoding="utf-8")
        with pytest.raises(FaultyTables) as error:
            read_knowledge(tables)
        return error.value.faults

    return faults


@pytest.fixture(scope="session")
def place() -> Callable[..., tuple[str, int, int]]:
    """Where a passage stands in the sound tables: its line, and the cell of a column counted from 1."""

    def found(file: str, passage: str, column: str | None = None) -> tuple[str, int, int]:
        lines = (TABLES / file).read_text(encoding="utf-8").splitlines()
        line = next(number for number, text in enumerate(lines, start=1) if passage in text)
        return file, line, lines[0].split(",").index(column) + 1 if column else 1

    return found
