"""What holds between the tables: references resolve, nothing lies about unused, nobody claims more than its sources."""

import re

import pytest

from knowledge.assemble import ASKED_FOR, read_knowledge
from knowledge.errors import FaultyTables
from knowledge.loading.files import TABLES

# Code that asks by id; elsewhere ids stand in examples, in the list itself, and circumstances have names like them.
ASKING = {"families": ("judging/columns.py",), "cautions": ("**/*.py",)}
EXEMPT = ("assemble", "catalogue", "circumstances")


def test_a_source_that_nobody_uses_is_told(spoilt, place) -> None:
    extra = '[nobody-1999]\nlabel = "N"\ncitation = "N."\nkind = "paper"\nstanding = "paper"\n\n[sae-j306-201902]'
    (fault,) = spoilt("sources.toml", "[sae-j306-201902]", extra)
    assert fault.file == "sources.toml"
    assert fault.line == place("sources.toml", "[sae-j306-201902]")[1]
    assert "nobody-1999" in fault.message


def test_a_source_that_was_struck_out_is_told_wherever_it_is_cited(spoilt) -> None:
    faults = spoilt("sources.toml", "[hunt-2016]", "[hunt-2017]")
    assert {"cautions.toml", "sources.toml"} <= {fault.file for fault in faults}


def test_a_circumstance_that_does_not_exist_is_told(spoilt, place) -> None:
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


def test_a_figure_that_claims_more_than_its_source_is_told(spoilt, place) -> None:
    row = "bearing,pitch_diameter_mm,55,mm,fillwright-judgement,assumed shapes,judgement"
    (fault,) = spoilt("defaults.csv", row, row.replace("shapes,judgement", "shapes,standard"))
    assert tuple(fault[:3]) == place("defaults.csv", row, "standing")
    assert "not be better than 'judgement'" in fault.message


def test_a_caution_that_nothing_calls_for_is_told(spoilt, place) -> None:
    (fault,) = spoilt("cautions.toml", 'when = ["wet-clutch"]', "when = []")
    assert (fault.file, fault.line) == place("cautions.toml", 'when = ["wet-clutch"]')[:2]


@pytest.mark.parametrize("table", ASKED_FOR)
def test_every_row_that_code_asks_for_by_id_is_required(base, table: str) -> None:
    files = [path for pattern in ASKING[table] for path in TABLES.parent.glob(pattern) if path.stem not in EXEMPT]
    strings = set(re.findall(r'"([a-z0-9-]+)"', "".join(path.read_text(encoding="utf-8") for path in files)))
    assert strings & set(base.ids(table)) == set(ASKED_FOR[table])


def test_a_row_that_code_asks_for_is_missed(spoilt) -> None:
    faults = spoilt("cautions.toml", "[lifting-the-gearbox]", "[lifting-gearboxes]")
    assert any("no table for lifting-the-gearbox" in fault.message for fault in faults)
