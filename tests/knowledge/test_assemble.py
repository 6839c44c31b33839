"""Files become tables: the shipped ones are sound, and a file that cannot be read as a table is told with its place."""

import pytest

from knowledge.assemble import read_knowledge
from knowledge.base import KnowledgeBase
from knowledge.box.question import FillQuestion
from knowledge.errors import FaultyTables
from knowledge.fill.compute import compute_fill_answer


def test_the_tables_are_sound(base: KnowledgeBase) -> None:
    assert base.digest.startswith("sha256:")
    assert base.version


def test_a_figure_of_a_table_is_a_quantity_with_its_unit_source_and_standing(base: KnowledgeBase) -> None:
    flow = base.quantity("flow-limit-mpa-s")
    assert (flow.value, flow.unit, flow.standing) == (150_000, "mPa·s", "standard")
    assert base.thresholds[flow.id].source == "sae-j306-201902"
    assert base.limit("flow-limit-mpa-s") == flow.value


def test_bad_toml_is_told_with_its_place(spoilt, place) -> None:
    (fault,) = spoilt("facings.toml", 'kind = "lined"', 'kind = "lined')
    assert fault.file == "facings.toml"
    assert fault.line == place("facings.toml", 'kind = "lined"')[1]
    assert fault.column > 1


def test_a_table_that_stands_twice_is_told(spoilt) -> None:
    (fault, *_) = spoilt("bodies.toml", "[steel]", "[bronze]")
    assert fault.file == "bodies.toml"


def test_every_fault_is_told_at_once(tables) -> None:
    for file, old, new in (("duties.csv", "street,Street,", "street,"), ("bodies.toml", "[steel]", "[steel")):
        path = tables / file
        path.write_text(path.read_text(encoding="utf-8").replace(old, new, 1), encoding="utf-8")
    with pytest.raises(FaultyTables) as error:
        read_knowledge(tables)
    assert {fault.file for fault in error.value.faults} >= {"duties.csv", "bodies.toml"}


def test_other_knowledge_gives_another_answer_id(tables, base, box) -> None:
    path = tables / "cautions.toml"
    text = path.read_text(encoding="utf-8")
    path.write_text(text.replace("Hot oil burns.", "Hot oil burns you.", 1), encoding="utf-8")
    other = read_knowledge(tables)
    question = FillQuestion.model_validate(box())
    assert other.digest != base.digest
    assert compute_fill_answer(question, other).answer_id != compute_fill_answer(question, base).answer_id
