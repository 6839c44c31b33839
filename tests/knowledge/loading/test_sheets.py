"""Sheets read row by row: nothing one row holds costs another, and the project's own tables stay strict."""

import csv
import io

import pytest
from hypothesis import given
from hypothesis import strategies as st

from knowledge.assemble import read_knowledge
from knowledge.errors import FaultyTables
from knowledge.loading.sheets import decoded, rows_of, separator_of


def rows(text: str, separator: str = ",") -> list[tuple[int, tuple[str, ...], bool]]:
    """Line, cells and whether it is sound, of each row; the cells of a faulty one are left out."""
    found = rows_of(io.StringIO(text, newline=""), separator)
    return [(row.line, () if row.fault else tuple(row.cells), not row.fault) for row in found]


@given(
    st.lists(st.lists(st.text(st.characters(codec="utf-8"), max_size=6), min_size=1, max_size=4), max_size=6),
    st.sampled_from(",;\t"),
)
def test_what_a_csv_writer_writes_is_read_back(table: list[list[str]], separator: str) -> None:
    """The csv module of the standard library writes, as RFC 4180 says."""
    written = io.StringIO()
    csv.writer(written, delimiter=separator, quoting=csv.QUOTE_ALL).writerows(table)
    assert [cells for _, cells, _ in rows(written.getvalue(), separator)] == [tuple(row) for row in table]


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ('a,"b\nc\n', [(1, (), False), (2, ("c",), True)]),
        ('5" box,b\n6" box,c\nd,e\n', [(1, ('5" box', "b"), True), (2, ('6" box', "c"), True), (3, ("d", "e"), True)]),
        ('a,"b\n' + "c,d\n" * 60, [(1, (), False), *((line, ("c", "d"), True) for line in range(2, 62))]),
        ("a,b\n" + "c" * 100_001 + "\nd,e\n", [(1, ("a", "b"), True), (2, (), False), (3, ("d", "e"), True)]),
        ('"a\nb",c\nd,e\n', [(1, ("a\nb", "c"), True), (3, ("d", "e"), True)]),
    ],
)
def test_a_row_that_cannot_be_read_costs_no_other(text: str, expected) -> None:
    assert rows(text) == expected


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "cp1252"])
def test_the_letters_of_a_name_outlive_any_encoding(encoding: str) -> None:
    """The encoders are those of Python."""
    assert decoded("id,name\nx,Größer – é\n".encode(encoding)) == "id,name\nx,Größer – é\n"


@pytest.mark.parametrize(("header", "separator"), [("id,name", ","), ("id;name", ";"), ("id\tname", "\t"), ("id", ",")])
def test_the_header_tells_what_sets_the_columns_apart(header: str, separator: str) -> None:
    assert separator_of(header) == separator


@pytest.mark.parametrize(
    ("change", "told"),
    [
        (lambda content: content.replace(b",", b";"), "set apart by semicolons; save the table with commas"),
        (lambda content: content.replace(b"id,value", b"ID,value"), "column 'ID' is not wanted here"),
        (lambda content: content + b"\xff,1,K,s,l,judgement,\n", "is not UTF-8 text"),
    ],
)
def test_the_tables_of_the_project_stay_strict(tables, change, told: str) -> None:
    path = tables / "thresholds.csv"
    before = path.read_bytes()
    path.write_bytes(change(before))
    assert path.read_bytes() != before
    with pytest.raises(FaultyTables) as error:
        read_knowledge(tables)
    assert any(fault.file == "thresholds.csv" and told in fault.message for fault in error.value.faults)
