"""Classes of lubricant: one that is added is judged, and one that cannot be is told with its place."""

from math import log10
from pathlib import Path

import chemicals
import pytest

from knowledge.assemble import read_knowledge
from knowledge.base import KnowledgeBase
from knowledge.errors import FaultyTables
from knowledge.loading.files import TABLES

MM2_S = 1e-6
NEW_CLASS = (
    "gl-4-75w-110,GL-4 gear oil 75W-110,gl-4,sae-j306,75W-110,,,150,190,878,,rare,140,150,-28,trade-practice,,"
    "common-practice,,,,,"
)


def test_there_are_classes_enough_and_of_every_family(base: KnowledgeBase) -> None:
    assert len(base.lubricants) >= 24
    assert {oil.family.id for oil in base.lubricants} == set(base.families)
    assert len(base.families) == 10


ROW = (
    "mtf-75w-80,Manual-transmission fluid 75W-80,mtf,sae-j306,75W-80,,,140,215,865,,everyday,120,135,-35,trade-practice"
)
SPOILT_CELLS = {
    "unknown family": (ROW, ROW.replace(",mtf,", ",mft,"), "family", "mtf"),
    "blank required cell": (ROW, ROW.replace(",865,", ",,"), "density15_kg_m3", ""),
    "not a number": (ROW, ROW.replace(",140,", ",nan,"), "viscosity_index_min", ""),
    "endless number": (ROW, ROW.replace(",215,", ",inf,"), "viscosity_index_max", ""),
    "word for a number": (ROW, ROW.replace(",865,", ",heavy,"), "density15_kg_m3", "number"),
    "viscosity index upside down": (ROW, ROW.replace(",140,215,", ",215,140,"), "viscosity_index_max", "above"),
    "unknown grade": (ROW, ROW.replace(",75W-80,", ",75W-81,"), "grade", "'81'"),
    "unknown scale": (ROW, ROW.replace("sae-j306", "sae-j603"), "scale", "sae-j306"),
    "unknown source": (ROW, ROW.replace("trade-practice", "trade-practise"), "source", "trade-practice"),
    "id of another row": (ROW, ROW.replace("mtf-75w-80,", "gl-4-75w-90,", 1), "id", "already"),
    "capital letters in an id": (ROW, ROW.replace("mtf-75w-80,", "MTF-75W-80,", 1), "id", ""),
}


@pytest.mark.parametrize("case", SPOILT_CELLS)
def test_a_spoilt_cell_of_a_class_is_told_with_its_line_and_column(spoilt, place, case: str) -> None:
    old, new, column, words = SPOILT_CELLS[case]
    faults = spoilt("lubricants.csv", old, new)
    here = place("lubricants.csv", old, column)
    assert here in [(fault.file, fault.line, fault.column) for fault in faults]
    assert any(words in fault.message for fault in faults)


def append(tables: Path, row: str) -> None:
    """Add a row to the table of classes."""
    path = tables / "lubricants.csv"
    path.write_text(path.read_text(encoding="utf-8") + row + "\n", encoding="utf-8")


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
        NEW_CLASS.replace(",878,,", ",878,-40,"),
        NEW_CLASS.replace("75W-110,,,150,190,878,,", "90,,,150,190,878,20,"),
    ],
    ids=[
        "no-upper-edge",
        "open-grade",
        "two-w-grades",
        "three-grades",
        "band-upside-down",
        "too-thin",
        "no-such-index",
        "too-light",
        "cold-limit-of-its-own",
        "never-flows",
    ],
)
def test_a_class_that_cannot_be_is_told_and_not_stumbled_over(tables, row) -> None:
    append(tables, row)
    with pytest.raises(FaultyTables) as error:
        read_knowledge(tables)
    assert error.value.faults[0].file == "lubricants.csv"


def test_each_corner_of_a_band_has_the_viscosity_index_of_its_class(base: KnowledgeBase) -> None:
    """Against the table of ASTM D2270 in the library `chemicals`; the fits of its appendix differ by up to 0.3."""
    for oil in base.lubricants:
        ends = (oil.viscosity_index_min, oil.viscosity_index_max)
        for corner in oil.corners:
            index = chemicals.viscosity_index(corner.kv40_mm2_s * MM2_S, corner.kv100_mm2_s * MM2_S)
            is_cut = oil.w_limit is not None and ends[0] < index < ends[1]
            assert is_cut or min(abs(index - end) for end in ends) < 0.5


def test_no_corner_is_thicker_than_its_w_grade_allows(base: KnowledgeBase) -> None:
    """Against Walther's line, short form, worked out here; SAE J306 allows 150 000 mPa·s at the W temperature."""

    def walther(kv40: float, kv100: float, celsius: float) -> float:
        log_log = [log10(log10(value + 0.7)) for value in (kv40, kv100)]
        log_t = [log10(at + 273.15) for at in (40, 100, celsius)]
        slope = (log_log[0] - log_log[1]) / (log_t[1] - log_t[0])
        return 10**10 ** (log_log[0] - slope * (log_t[2] - log_t[0])) - 0.7

    limits = {"70W": -55, "75W": -40, "80W": -26, "85W": -12}
    for oil in base.lubricants:
        celsius = limits.get(oil.grade.partition("-")[0])
        for corner in oil.corners if celsius else ():
            density = oil.density15_kg_m3 * (1 - 0.0007 * (celsius - 15))
            assert walther(corner.kv40_mm2_s, corner.kv100_mm2_s, celsius) * density / 1000 < 1.02 * 150_000


def test_how_commonly_a_class_is_sold_differs_by_region(base: KnowledgeBase) -> None:
    """Common practice, no source."""
    assert base.sold("gl-4-75w-90") == base.sold("gl-4-75w-90", "europe") == "everyday"
    assert base.sold("gl-4-75w-90", "north-america") == "to-order"


def test_one_class_under_two_ids_is_told(tables) -> None:
    append(tables, NEW_CLASS)
    append(tables, NEW_CLASS.replace("gl-4-75w-110,", "gl-4-also,", 1))
    with pytest.raises(FaultyTables) as error:
        read_knowledge(tables)
    (fault,) = error.value.faults
    assert "gl-4 / sae-j306 / 75W-110 stands already" in fault.message


def test_a_family_without_a_class_is_told_where_the_family_stands(tables, place) -> None:
    path = tables / "lubricants.csv"
    lines = path.read_text(encoding="utf-8").splitlines(keepends=True)
    path.write_text("".join(line for line in lines if ",gl-3,sae-j306," not in line), encoding="utf-8")
    with pytest.raises(FaultyTables) as error:
        read_knowledge(tables)
    assert [(fault.file, fault.line) for fault in error.value.faults] == [place("families.toml", "[gl-3]")[:2]]


@pytest.mark.parametrize("usual", ["gl-5-75w-90", "gl-1-140", "no-such-class"])
def test_a_usual_class_that_does_not_suit_its_facing_is_told(spoilt, place, usual: str) -> None:
    old = 'usual_lubricant = "gl-4-75w-90"'
    faults = spoilt("facings.toml", old, f'usual_lubricant = "{usual}"')
    assert {(fault.file, fault.line) for fault in faults} == {place("facings.toml", old)[:2]}


@pytest.mark.parametrize("change", ['copper_strip_limit = "9z"', 'copper_strip_limit = "1e"'])
def test_a_copper_strip_limit_that_is_no_rating_is_told(spoilt, change: str) -> None:
    assert {fault.file for fault in spoilt("families.toml", 'copper_strip_limit = "3b"', change)} == {"families.toml"}
