"""Every figure, id, unit and standing in the tables is what was typed a second time, and what is spoilt is noticed."""

import shutil
from pathlib import Path

import pytest

from knowledge.assemble import CSV_TABLES, TOML_TABLES
from knowledge.base import KnowledgeBase
from knowledge.loading.files import TABLES
from tests.golden.second_typing import FREE_TEXT, RETYPED, differences, typed_columns
from tests.mutation.corrupt_tables import cells_of, corruptions, file_of, noticed_by

MODELS = {**CSV_TABLES, **TOML_TABLES}
# Of a public question the figures are typed again by the places that they fill.
PLACES = {"faq": {"places"}}


@pytest.mark.parametrize("table", MODELS)
def test_a_table_holds_what_was_typed_a_second_time(table: str) -> None:
    assert list(differences(table, file_of(table).read_text(encoding="utf-8"))) == []


@pytest.mark.parametrize("table", MODELS)
def test_every_column_but_texts_for_people_was_typed_a_second_time(table: str) -> None:
    assert typed_columns(table) == set(MODELS[table].model_fields) - FREE_TEXT | PLACES.get(table, set())


def test_the_edges_of_iso_3448_are_those_typed_a_second_time(base: KnowledgeBase) -> None:
    lines = (RETYPED / "iso_3448.csv").read_text(encoding="utf-8").splitlines()
    names = lines[0].split(",")
    for row, line in zip(base.iso_3448, lines[1:], strict=True):
        typed = dict(zip(names, line.split(","), strict=True))
        assert row.kv40_min_mm2_s == float(typed["kv40_min_mm2_s"])
        assert row.kv40_max_mm2_s == float(typed["kv40_max_mm2_s"])


@pytest.mark.parametrize("table", MODELS)
def test_whatever_is_spoilt_in_a_row_is_noticed(tmp_path: Path, table: str) -> None:
    """In one row of each table; `tests/mutation/corrupt_tables.py` spoils them all."""
    folder = Path(shutil.copytree(TABLES, tmp_path / "tables"))
    cells = [cell for cell in cells_of(table) if cell.column not in FREE_TEXT]
    middle = cells[len(cells) // 2].line
    row = [cell for cell in cells if cell.line == middle]
    spoilt = [cell.replaced(wrong) for cell in row for wrong in corruptions(cell, ("other",))]
    assert spoilt
    assert "survived" not in {noticed_by(table, text, folder) for text in spoilt}
