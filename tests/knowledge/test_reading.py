"""The tables are sound, hold what their standards print, and tell of whatever is wrong with them."""

import csv
import shutil
from collections.abc import Callable
from pathlib import Path

import chemicals
import pytest

from knowledge.base import KnowledgeBase
from knowledge.errors import Fault, FaultyTables
from knowledge.fill import fill_answer
from knowledge.questions import FillQuestion
from knowledge.reading import TABLES, read_knowledge

MM2_S = 1e-6
NEW_CLASS = "gl-4-75w-110,GL-4 gear oil 75W-110,gl-4,sae-j306,75W-110,,,150,190,878,,trade-practice,,common-practice,"
STATED = {
    "rings": [{"facing": "bronze", "body": "bronze", "cones": 1, "condition": "new"}],
    "yellow_metal": True, "final_drive": "none", "limited_slip": False, "wet_clutch": False,
    "coldest_start_c": -20.0, "sump_hot_c": 90.0, "duty": "street",
}  # fmt: skip


def place(file: str, passage: str, column: str | None = None) -> tuple[str, int, int]:
    """Where a passage stands in the sound tables: its line, and the cell of a column counted from 1."""
    lines = (TABLES / file).read_text(encoding="utf-8").splitlines()
    line = next(number for number, text in enumerate(lines, start=1) if passage in text)
    return file, line, lines[0].split(",").index(column) + 1 if column else 1


def test_the_tables_are_sound(base: KnowledgeBase) -> None:
    assert base.digest.startswith("sha256:")
    assert base.version


def test_there_are_classes_enough_and_of_every_family(base: KnowledgeBase) -> None:
    assert len(base.oils) >= 24
    assert {oil.family.id for oil in base.oils} == set(base.families)
    assert len(base.families) == 10


ROW = "mtf-75w-80,Manual-transmission fluid 75W-80,mtf,sae-j306,75W-80,,,140,185,865,,trade-practice"
SPOILT_CELLS = {
    "unknown family": (ROW, ROW.replace(",mtf,", ",mft,"), "family", "mtf"),
    "blank required cell": (ROW, ROW.replace(",865,", ",,"), "density15_kg_m3", ""),
    "not a number": (ROW, ROW.replace(",140,", ",nan,"), "viscosity_index_min", ""),
    "endless number": (ROW, ROW.replace(",185,", ",inf,"), "viscosity_index_max", ""),
    "word for a number": (ROW, ROW.replace(",865,", ",heavy,"), "density15_kg_m3", "number"),
    "viscosity index upside down": (ROW, ROW.replace(",140,185,", ",185,140,"), "viscosity_index_max", "above"),
    "unknown grade": (ROW, ROW.replace(",75W-80,", ",75W-81,"), "grade", "'81'"),
    "unknown scale": (ROW, ROW.replace("sae-j306", "sae-j603"), "scale", "sae-j306"),
    "unknown source": (ROW, ROW.replace("trade-practice", "trade-practise"), "source", "trade-practice"),
    "id of another row": (ROW, ROW.replace("mtf-75w-80,", "mtf-75w-75,", 1), "id", "already"),
    "capital letters in an id": (ROW, ROW.replace("mtf-75w-80,", "MTF-75W-80,", 1), "id", ""),
}


@pytest.mark.parametrize("case", SPOILT_CELLS)
def test_a_spoilt_cell_of_a_class_is_told_with_its_line_and_column(spoilt, case: str) -> None:
    old, new, column, words = SPOILT_CELLS[case]
    faults = spoilt("lubricants.csv", old, new)
    here = place("lubricants.csv", old, column)
    assert here in [(fault.file, fault.line, fault.column) for fault in faults]
    assert any(words in fault.message for fault in faults)


@pytest.mark.parametrize("cells", ["street,Street,extra,", "street,"], ids=["too-many", "too-few"])
def test_a_row_of_the_wrong_length_is_told(spoilt, cells) -> None:
    (fault,) = spoilt("duties.csv", "street,Street,", cells)
    assert (fault.file, fault.line) == ("duties.csv", 2)


def test_a_missing_column_is_told(spoilt) -> None:
    faults = spoilt("duties.csv", "is_light", "is_lite")
    assert {(fault.file, fault.line) for fault in faults} == {("duties.csv", 1)}
    assert any("is_light" in fault.message for fault in faults)
    assert any("is_lite" in fault.message for fault in faults)


def test_a_source_that_nobody_uses_is_told(spoilt) -> None:
    extra = '[nobody-1999]\nlabel = "N"\ncitation = "N."\nkind = "paper"\nstanding = "paper"\n\n[sae-j306-201902]'
    (fault,) = spoilt("sources.toml", "[sae-j306-201902]", extra)
    assert fault.file == "sources.toml"
    assert fault.line == place("sources.toml", "[sae-j306-201902]")[1]
    assert "nobody-1999" in fault.message


def test_a_source_that_was_struck_out_is_told_wherever_it_is_cited(spoilt) -> None:
    faults = spoilt("sources.toml", "[hunt-2016]", "[hunt-2017]")
    assert {"cautions.toml", "sources.toml"} <= {fault.file for fault in faults}


def test_bad_toml_is_told_with_its_place(spoilt) -> None:
    (fault,) = spoilt("facings.toml", 'kind = "lined"', 'kind = "lined')
    assert fault.file == "facings.toml"
    assert fault.line == place("facings.toml", 'kind = "lined"')[1]
    assert fault.column > 1


def test_a_table_that_stands_twice_is_told(spoilt) -> None:
    (fault, *_) = spoilt("bodies.toml", "[steel]", "[bronze]")
    assert fault.file == "bodies.toml"


def test_a_circumstance_that_does_not_exist_is_told(spoilt) -> None:
    (fault,) = spoilt("cautions.toml", 'when = ["yellow-metal"]', 'when = ["yellow-mettle"]')
    assert (fault.file, fault.line) == place("cautions.toml", 'when = ["yellow-metal"]')[:2]
    assert "yellow-metal" in fault.message


@pytest.mark.parametrize(
    ("file", "row", "pair"),
    [("facing_families.csv", "paper,atf,", "paper / atf"), ("ring_lands.csv", "carbon,worn,", "carbon / worn")],
)
def test_a_gap_in_a_matrix_is_told(tables, file, row, pair) -> None:
    path = tables / file
    lines = [line for line in path.read_text(encoding="utf-8").splitlines(keepends=True) if not line.startswith(row)]
    path.write_text("".join(lines), encoding="utf-8")
    with pytest.raises(FaultyTables) as error:
        read_knowledge(tables)
    assert any(fault.file == file and pair in fault.message for fault in error.value.faults)


def test_text_that_is_not_utf_8_is_told_with_its_line(tables) -> None:
    path = tables / "duties.csv"
    path.write_bytes(path.read_bytes().replace(b"Towing", b"T\xf6wing"))
    with pytest.raises(FaultyTables) as error:
        read_knowledge(tables)
    assert [(fault.file, fault.line) for fault in error.value.faults] == [("duties.csv", 4)]


def test_a_table_that_is_gone_is_told(tables) -> None:
    (tables / "duties.csv").unlink()
    with pytest.raises(FaultyTables) as error:
        read_knowledge(tables)
    assert any(fault.file == "duties.csv" and "missing" in fault.message for fault in error.value.faults)


def test_every_fault_is_told_at_once(tables) -> None:
    for file, old, new in (("duties.csv", "street,Street,", "street,"), ("bodies.toml", "[steel]", "[steel")):
        path = tables / file
        path.write_text(path.read_text(encoding="utf-8").replace(old, new, 1), encoding="utf-8")
    with pytest.raises(FaultyTables) as error:
        read_knowledge(tables)
    assert {fault.file for fault in error.value.faults} >= {"duties.csv", "bodies.toml"}


def append(tables: Path, row: str) -> None:
    """Add a row to the table of classes."""
    path = tables / "lubricants.csv"
    path.write_text(path.read_text(encoding="utf-8") + row + "\n", encoding="utf-8")


def test_a_class_that_is_added_is_judged(tables, base) -> None:
    append(tables, NEW_CLASS)
    wider = read_knowledge(tables)
    answer = fill_answer(FillQuestion.model_validate(STATED), wider)
    added = next(item for item in answer.candidates if item.lubricant.id == "gl-4-75w-110")
    assert added.verdict == "fits"
    assert wider.digest != base.digest
    assert len(answer.candidates) == len(base.oils) + 1


@pytest.mark.parametrize("column", ["id", "name", "family", "scale", "grade", "density15_kg_m3", "source", "standing"])
def test_what_was_forgotten_in_an_added_class_is_told(tables, column) -> None:
    header = (TABLES / "lubricants.csv").read_text(encoding="utf-8").splitlines()[0].split(",")
    cells = NEW_CLASS.split(",")
    cells[header.index(column)] = ""
    append(tables, ",".join(cells))
    with pytest.raises(FaultyTables) as error:
        read_knowledge(tables)
    assert header.index(column) + 1 in [fault.column for fault in error.value.faults]


@pytest.mark.parametrize(
    "row",
    [
        NEW_CLASS.replace("75W-110,,", "75W,,"),
        NEW_CLASS.replace("75W-110,,,150,190,878,,", "250,,,150,190,878,-10,"),
        NEW_CLASS.replace("75W-110,,", "75W-80W,,"),
        NEW_CLASS.replace("75W-110,,", "75W-90-140,,"),
        NEW_CLASS.replace("75W-110,,,", "75W-80,12,,"),
        NEW_CLASS.replace("sae-j306,75W-110,,,150,190,878,,", "none,free,1.5,1.9,150,190,878,-40,"),
        NEW_CLASS.replace(",150,190,", ",150,5000,"),
        NEW_CLASS.replace(",878,", ",87.8,"),
    ],
    ids="no-upper-edge open-grade two-w-grades three-grades band-upside-down too-thin no-such-index too-light".split(),
)
def test_a_class_that_cannot_be_is_told_and_not_stumbled_over(tables, row) -> None:
    append(tables, row)
    with pytest.raises(FaultyTables) as error:
        read_knowledge(tables)
    assert error.value.faults[0].file == "lubricants.csv"


@pytest.mark.parametrize(
    ("file", "start"),
    [
        ("thresholds.csv", "lining-kv100-below,"),
        ("defaults.csv", "mesh,torque_nm,"),
        ("duties.csv", "towing,"),
        ("astm_d2270.csv", "12,15,"),
        ("sae_j306.csv", "2019,80,"),
    ],
)
def test_a_row_that_the_rules_need_is_missed_before_a_question_is_asked(tables, file, start) -> None:
    path = tables / file
    lines = [line for line in path.read_text(encoding="utf-8").splitlines(keepends=True) if not line.startswith(start)]
    path.write_text("".join(lines), encoding="utf-8")
    with pytest.raises(FaultyTables):
        read_knowledge(tables)


def test_each_corner_of_a_band_has_the_viscosity_index_of_its_class(base: KnowledgeBase) -> None:
    """Against the table of ASTM D2270 in the library `chemicals`; the fits of its appendix differ by up to 0.3."""
    for oil in base.oils:
        ends = (oil.viscosity_index_min, oil.viscosity_index_max)
        for corner in oil.corners:
            index = chemicals.viscosity_index(corner.kv40_mm2_s * MM2_S, corner.kv100_mm2_s * MM2_S)
            assert min(abs(index - end) for end in ends) < 0.5


def test_other_knowledge_gives_another_answer_id(tables, base) -> None:
    path = tables / "cautions.toml"
    text = path.read_text(encoding="utf-8")
    path.write_text(text.replace("Hot oil burns.", "Hot oil burns you.", 1), encoding="utf-8")
    other = read_knowledge(tables)
    question = FillQuestion.model_validate(STATED)
    assert other.digest != base.digest
    assert fill_answer(question, other).answer_id != fill_answer(question, base).answer_id
