"""What notices a wrong cell: `python -m tests.mutation.corrupt_tables [TABLE ...]`

Every cell of every table is spoilt in turn: a number times ten, its sign, one of its digits; a yes for a no; an id, a
unit or a standing for another one; what is there taken out, and something put where nothing was. Whatever the second
typing of the table does not see goes to `knowledge check`; what neither sees is printed. Texts for people to read are
compared with nothing and counted apart.
"""

import csv
import io
import re
import shutil
import sys
import tempfile
import tomllib
from collections import Counter
from collections.abc import Callable, Collection, Iterator
from pathlib import Path
from typing import NamedTuple

from knowledge.assemble import CSV_TABLES, TOML_TABLES, read_knowledge
from knowledge.errors import FaultyTables
from knowledge.faq import PLACE
from knowledge.loading.files import TABLES
from tests.golden.second_typing import FREE_TEXT, differences

TOKEN = re.compile(r'(?P<name>\w+)\s*=|"(?P<text>(?:[^"\\]|\\.)*)"|(?P<bare>true|false|-?\d+(?:\.\d+)?)')
NUMBER = re.compile(r"-?\d+(\.\d+)?")
OUTCOMES = ("seen by the second typing", "by the check", "survived", "free text")


class Cell(NamedTuple):
    """One cell: where it stands, what is in it, and the whole table with something else there."""

    line: int
    column: str
    text: str
    replaced: Callable[[str], str]


def file_of(table: str) -> Path:
    """Where a table is kept."""
    return TABLES / f"{table}.{'csv' if table in CSV_TABLES else 'toml'}"


def cells_of(table: str) -> Iterator[Cell]:
    """Every cell of a table as it is shipped."""
    text = file_of(table).read_text(encoding="utf-8")
    return _csv_cells(text) if table in CSV_TABLES else _toml_cells(text)


def _csv_cells(text: str) -> Iterator[Cell]:
    rows = list(csv.reader(io.StringIO(text)))

    def replaced(at: int, column: int, new: str) -> str:
        spoilt = [list(row) for row in rows]
        spoilt[at][column] = new
        out = io.StringIO()
        csv.writer(out, lineterminator="\n").writerows(spoilt)
        return out.getvalue()

    for at, row in enumerate(rows[1:], start=1):
        for column, name in enumerate(rows[0]):
            yield Cell(at + 1, name, row[column], lambda new, at=at, column=column: replaced(at, column, new))


def _toml_cells(text: str) -> Iterator[Cell]:
    """The texts, numbers and flags, each named by the key before it; the only `id` within a row is that of a source."""
    name, start = "", 0
    for number, line in enumerate(text.splitlines(keepends=True), start=1):
        for token in () if line.startswith("[") else TOKEN.finditer(line):
            if token["name"]:
                name = "source" if token["name"] == "id" else token["name"]
                continue
            group = "bare" if token["text"] is None else "text"
            first, last = start + token.start(group), start + token.end(group)
            yield Cell(number, name, token[group], lambda new, a=first, b=last: text[:a] + new + text[b:])
            for place in PLACE.finditer(token[group]) if name == "answer" else ():
                inside = (first + place.start(1), first + place.end(1))
                yield Cell(number, "places", place[1], lambda new, a=inside[0], b=inside[1]: text[:a] + new + text[b:])
        start += len(line)


def corruptions(cell: Cell, others: Collection[str]) -> Iterator[str]:
    """Wrong contents for a cell; `others` is what stands in the cells of that name."""
    if NUMBER.fullmatch(cell.text):
        if float(cell.text):
            yield f"{float(cell.text) * 10:g}"
            yield cell.text.removeprefix("-") if cell.text.startswith("-") else f"-{cell.text}"
        yield re.sub(r"\d(?=\D*$)", lambda digit: str((int(digit[0]) + 1) % 10), cell.text)
    elif cell.text in ("true", "false"):
        yield "false" if cell.text == "true" else "true"
    else:
        yield next((other for other in others if other not in ("", cell.text)), "other")
    if cell.text:
        yield ""


def noticed_by(table: str, spoilt: str, folder: Path) -> str:
    """What notices that a table is spoilt; the folder holds a sound copy of them all and holds it again after."""
    try:
        if any(differences(table, spoilt)):
            return "seen by the second typing"
    except tomllib.TOMLDecodeError:
        pass  # It is no table any more, which the check has to say.
    file = folder / file_of(table).name
    file.write_text(spoilt, encoding="utf-8")
    try:
        read_knowledge(folder)
    except FaultyTables:
        return "by the check"
    finally:
        shutil.copyfile(file_of(table), file)
    return "survived"


def main(tables: Collection[str]) -> int:
    """Spoil the tables and print what notices; 1 when something survives."""
    cells = {table: tuple(cells_of(table)) for table in (*CSV_TABLES, *TOML_TABLES)}
    standing: dict[str, dict[str, None]] = {}
    for cell in (cell for table in cells.values() for cell in table):
        standing.setdefault(cell.column, {})[cell.text] = None
    total: Counter[str] = Counter()
    with tempfile.TemporaryDirectory() as scratch:
        folder = Path(shutil.copytree(TABLES, Path(scratch) / "tables"))
        for table in tables or cells:
            found: Counter[str] = Counter()
            for cell in cells[table]:
                if cell.column in FREE_TEXT:
                    found["free text"] += 1
                    continue
                for wrong in corruptions(cell, standing[cell.column]):
                    outcome = noticed_by(table, cell.replaced(wrong), folder)
                    found[outcome] += 1
                    if outcome == "survived":
                        print(f"{file_of(table).name}:{cell.line}: {cell.column}: {cell.text!r} as {wrong!r}")
            print(f"{table:18}" + "".join(f"{found[outcome]:>6} {outcome}" for outcome in OUTCOMES), flush=True)
            total += found
    print(f"{'all tables':18}" + "".join(f"{total[outcome]:>6} {outcome}" for outcome in OUTCOMES))
    return 1 if total["survived"] else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
