"""What notices a wrong cell of a published scale: `python -m tests.mutation.corrupt_tables [TABLE ...]`

Every cell is spoilt in turn: a number times ten, its sign, one of its digits; a yes for a no; a name for another one;
what is there taken out. What the second typing does not see goes to `knowledge check`; what neither sees is printed.
"""

import csv
import io
import re
import shutil
import sys
import tempfile
from collections import Counter
from collections.abc import Collection, Iterator
from pathlib import Path

from knowledge.assemble import read_knowledge
from knowledge.errors import FaultyTables
from knowledge.loading.files import TABLES
from tests.golden.second_typing import FREE_TEXT, SCALES, differences

NUMBER = re.compile(r"-?\d+(\.\d+)?")


def corruptions(table: str) -> Iterator[tuple[str, str]]:
    """Each wrong content of each cell, as `line column: old as new`, and the table with it."""
    rows = list(csv.reader(io.StringIO(text_of(table))))
    for at, row in enumerate(rows[1:], start=1):
        for column, name in enumerate(rows[0]):
            for wrong in () if name in FREE_TEXT else wrong_cells(row[column]):
                spoilt = [*rows[:at], [*row[:column], wrong, *row[column + 1 :]], *rows[at + 1 :]]
                out = io.StringIO()
                csv.writer(out, lineterminator="\n").writerows(spoilt)
                yield f"{at + 1} {name}: {row[column]!r} as {wrong!r}", out.getvalue()


def wrong_cells(text: str) -> Iterator[str]:
    """Wrong contents for a cell."""
    if NUMBER.fullmatch(text):
        if float(text):
            yield f"{float(text) * 10:g}"
            yield text.removeprefix("-") if text.startswith("-") else f"-{text}"
        yield re.sub(r"\d(?=\D*$)", lambda digit: str((int(digit[0]) + 1) % 10), text)
    elif text in ("true", "false"):
        yield "false" if text == "true" else "true"
    else:
        yield "other"
    if text:
        yield ""


def text_of(table: str) -> str:
    """A table as it is shipped."""
    return (TABLES / f"{table}.csv").read_text(encoding="utf-8")


def noticed_by(table: str, spoilt: str, folder: Path) -> str:
    """What notices that a table is spoilt; the folder holds a sound copy of them all and holds it again after."""
    if any(differences(table, spoilt)):
        return "the second typing"
    file = folder / f"{table}.csv"
    file.write_text(spoilt, encoding="utf-8")
    try:
        read_knowledge(folder)
    except FaultyTables:
        return "the check"
    finally:
        file.write_text(text_of(table), encoding="utf-8")
    return "nothing"


def main(tables: Collection[str]) -> int:
    """Spoil the tables and print what notices; 1 when something goes unnoticed."""
    total: Counter[str] = Counter()
    with tempfile.TemporaryDirectory() as scratch:
        folder = Path(shutil.copytree(TABLES, Path(scratch) / "tables"))
        for table in tables or SCALES:
            for place, spoilt in corruptions(table):
                noticed = noticed_by(table, spoilt, folder)
                total[noticed] += 1
                if noticed == "nothing":
                    print(f"{table}.csv:{place}")
    print(", ".join(f"{count} noticed by {by}" for by, count in total.items()))
    return 1 if total["nothing"] else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
