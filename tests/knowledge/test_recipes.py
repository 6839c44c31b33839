"""What a contributor adds by rows of tables alone, and in how many files: a class, a caution, a facing."""

import re
from pathlib import Path

import pytest

from knowledge.assemble import read_knowledge
from knowledge.base import KnowledgeBase
from knowledge.box.question import FillQuestion
from knowledge.fill.compute import compute_fill_answer
from knowledge.judging.judgement import Judgement
from knowledge.rings.shift_question import ShiftQuestion
from knowledge.shift.compute import compute_shift_answer

CAUTION = """
[leaking-seal]
severity = "note"
when = ["cold-start"]
text = "Look at the seals."
because = "Cold seals leak."
sources = [{id = "trade-practice"}]
"""

FACING_TABLES = {
    "facings.toml": r"\[paper\]\n(?:.+\n)+",
    "facing_families.csv": r"^paper,.*\n",
    "ring_lands.csv": r"^paper,.*\n",
    "friction.csv": r"^paper,.*,true,.*\n",
    "friction_by_fluid.csv": r"^paper,.*\n",
    "facing_limits.csv": r"^paper,.*,true,.*\n",
    "facing_thermal.csv": r"^paper,.*,true,.*\n",
    "shift_bounds.csv": r"^half_angle_deg,paper,.*\n",
}


def append(path: Path, text: str) -> None:
    """Add text at the end of a table."""
    path.write_text(path.read_text(encoding="utf-8") + text, encoding="utf-8")


@pytest.fixture
def with_felt(tables: Path) -> KnowledgeBase:
    """A facing made up of the rows of the paper lining."""
    for file, pattern in FACING_TABLES.items():
        rows = re.findall(pattern, (tables / file).read_text(encoding="utf-8"), re.MULTILINE)
        made_up = "".join(rows).replace("[paper]", "[felt]").replace("paper-lined rings", "felt-lined rings")
        assert made_up
        append(
            tables / file,
            ("\n" if file.endswith(".toml") else "") + re.sub(r"(^|,)paper,", r"\1felt,", made_up, flags=re.MULTILINE),
        )
    return read_knowledge(tables)


def test_a_class_is_one_row_of_one_table(tables: Path, base: KnowledgeBase, box, of) -> None:
    append(
        tables / "lubricants.csv",
        "gl-4-75w-110,GL-4 gear oil 75W-110,gl-4,sae-j306,75W-110,,,150,190,878,,rare,140,150,-28,trade-practice,,"
        "common-practice,,,,,\n",
    )
    answer = compute_fill_answer(FillQuestion.model_validate(box()), read_knowledge(tables), detail="full")
    assert of(answer, "gl-4-75w-110").verdict == "fits"
    assert len(answer.candidates) == len(base.lubricants) + 1


def test_a_caution_is_one_entry_of_one_table(tables: Path, box) -> None:
    append(tables / "cautions.toml", CAUTION)
    judgement = Judgement.of(FillQuestion.model_validate(box(coldest_start_c=-35)), read_knowledge(tables))
    assert "Look at the seals." in [caution.text for caution in judgement.cautions()]


def test_a_facing_is_rows_of_eight_tables(with_felt: KnowledgeBase, base: KnowledgeBase, box) -> None:
    assert len(FACING_TABLES) == 8
    answer, twin = (
        compute_fill_answer(FillQuestion.model_validate(box(facing)), knowledge, detail="full")
        for facing, knowledge in (("felt", with_felt), ("paper", base))
    )
    assert [item.verdict for item in answer.candidates] == [item.verdict for item in twin.candidates]
    load = ShiftQuestion(facing="felt", inertia_kg_m2=0.01, speed_difference_rpm=1500)
    assert [item.facing for item in compute_shift_answer(load, with_felt).facings] == ["felt"]


def test_a_facing_that_is_added_is_tried_in_the_kinds_of_box_that_have_it(with_felt: KnowledgeBase, tables) -> None:
    kinds = tables / "box_kinds.toml"
    text, count = re.subn(r"\bpaper = (\d+)", r"paper = 0, felt = \1", kinds.read_text(encoding="utf-8"))
    assert count
    kinds.write_text(text, encoding="utf-8")
    stated = {"box_kind": "front-drive", "service_data": {"family": "gl-5"}}
    answer = compute_fill_answer(FillQuestion.model_validate(stated), read_knowledge(tables), detail="full")
    replies = {reply.value: reply.words for asked in answer.ask_next for reply in asked.answers}
    assert replies["felt"] == "felt-lined rings"
