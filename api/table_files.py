"""A catalogue as a file: its rows read one by one, and the answers written behind those of a run that was stopped."""

import csv
import hashlib
import io
import os
from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import suppress
from pathlib import Path
from typing import BinaryIO, NamedTuple, TextIO

from knowledge.base import KnowledgeBase
from knowledge.fill.table import COLUMNS, NAMES, NUMBERS, RESULTS, header_faults
from knowledge.loading.cells import CellFault, cells_by_name
from knowledge.loading.sheets import (
    LONGEST_LINE,
    SheetRow,
    UnreadableSheet,
    column_names,
    encoding_of,
    errors_of,
    rows_of,
    separator_of,
)

PIECE_BYTES = 1 << 20
# What each row of answers says beside them: from where in the catalogue, by which tables, of which cells.
LINE, KNOWLEDGE, MADE_OF = "line", "knowledge", "made_of"
END = "\r\n"


class CannotFill(Exception):
    """The catalogue cannot be read, or its answers cannot be written; nothing was lost."""


def opened_to_read(path: Path) -> BinaryIO:
    """Errors: CannotFill."""
    try:
        return path.open("rb")
    except OSError as error:
        raise CannotFill(f"{path}: cannot be read: {error.strerror}") from None


def opened_to_write(path: Path) -> BinaryIO:
    """A file that is there or is made, and that no other run writes, where the system can tell.

    Errors: CannotFill.
    """
    try:
        file = path.open("r+b" if path.exists() else "x+b")
    except OSError as error:
        raise CannotFill(f"{path}: cannot be written: {error.strerror}") from None
    try:
        with suppress(ImportError):
            import fcntl

            fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except BlockingIOError:
        file.close()
        raise CannotFill(f"{path}: another run is writing it") from None
    return file


class TableLine(NamedTuple):
    """A row of the catalogue: its cells by column, or its problem; what it is called is copied."""

    line: int
    keys: tuple[str, ...]
    asked: Mapping[str, str] | str
    digest: str


class Catalogue:
    """The rows of a file as a spreadsheet saves it, held in memory only while they are asked."""

    def __init__(self, file: BinaryIO, keys: Sequence[str], told: str = "") -> None:
        """Read the names of the columns; `told` is what else the answers depend on.

        Errors: CannotFill.
        """
        self._file = file
        try:
            encoding = encoding_of(iter(lambda: file.read(PIECE_BYTES), b""))
        except UnreadableSheet as error:
            raise CannotFill(f"{file.name}: {error}") from None
        self.size = file.seek(0, os.SEEK_END)
        file.seek(0)
        self._text = io.TextIOWrapper(file, encoding, errors_of(encoding), newline="")
        lines = _lines(self._text)
        first = next(lines, "")
        self.separator = separator_of(first)
        self._told, self._rows = told, rows_of(_and(first, lines), self.separator)
        header = next(self._rows, SheetRow(1, ()))
        self._names = column_names(header.cells)
        self.keys = tuple(keys) or tuple(name for name in NAMES if name in self._names)
        faults = [header.fault] if header.fault else [*header_faults(self._names, self.keys), *self._taken()]
        if faults:
            copied = "name a column of your own with --key, and it is copied"
            raise CannotFill("\n".join((*(f"{file.name}:1: {fault}" for fault in faults), copied)))

    def _taken(self) -> Iterator[str]:
        taken = (LINE, *RESULTS, KNOWLEDGE, MADE_OF)
        return (f"column {key!r} is one of the answers; give it another name" for key in self.keys if key in taken)

    @property
    def share(self) -> float:
        """How much of the file was read."""
        return self._file.tell() / self.size

    def __iter__(self) -> Iterator[TableLine]:
        """The rows in which something stands, each once."""
        for row in self._rows:
            if row.fault or any(cell.strip() for cell in row.cells):
                yield self._line(row)

    def _line(self, row: SheetRow) -> TableLine:
        asked = self._asked(row)
        keys = tuple(_on_one_line(cell) for name in self.keys for cell in self._of(row, name))
        made_of = "\0".join((self._told, *self._names, *row.cells, row.fault))
        digest = hashlib.sha256(made_of.encode(errors="surrogatepass")).hexdigest()[:12]
        return TableLine(row.line, keys, asked, digest)

    def _of(self, row: SheetRow, name: str) -> tuple[str]:
        place = self._names.index(name)
        return (row.cells[place] if place < len(row.cells) else "",)

    def _asked(self, row: SheetRow) -> Mapping[str, str] | str:
        if row.fault:
            return row.fault
        found = cells_by_name(self._names, row.cells, NUMBERS, self.separator)
        if isinstance(found, CellFault):
            return found.message
        return {name: cell for name, cell in found.items() if name in COLUMNS}


def _lines(file: TextIO) -> Iterator[str]:
    """Lines with their ends; of one that is too long the beginning, one sign too long."""
    while line := file.readline(LONGEST_LINE + 1):
        yield line
        while len(line) > LONGEST_LINE and not line.endswith(("\n", "\r")):
            line = file.readline(LONGEST_LINE + 1)


def _and(first: str, others: Iterator[str]) -> Iterator[str]:
    if first:
        yield first
        yield from others


def _on_one_line(cell: str) -> str:
    """A cell without line breaks: a row of answers that was written whole is one that ends with the only one."""
    return " ".join(cell.encode("utf-8", "replace").decode().splitlines())


class Answers:
    """The file of answers, grown row by row; each is there whole or is written again."""

    def __init__(self, file: BinaryIO, catalogue: Catalogue, base: KnowledgeBase) -> None:
        """Begin the file, or find where an earlier run on the same catalogue stopped.

        Errors: CannotFill, when the file holds something else.
        """
        self._file, self._catalogue = file, catalogue
        self._knowledge = f"{base.version} {base.digest.removeprefix('sha256:')[:8]}"
        self.kept = 0
        self._continue()

    def _continue(self) -> None:
        header = f"\ufeff{self._row((LINE, *self._catalogue.keys, *RESULTS, KNOWLEDGE, MADE_OF))}".encode()
        first = self._file.readline(len(header) + 1)
        if first != header:
            if not header.startswith(first):
                raise CannotFill(f"{self._file.name}: holds something else than answers to these columns; {OTHERWISE}")
            self._write_from(0, header)
            return
        rows = iter(self._catalogue)
        while (line := self._file.readline()).endswith(b"\n"):
            self._hold_to(line, next(rows, None))
            self.kept += 1
        self._write_from(self._file.tell() - len(line), b"")

    def _write_from(self, place: int, content: bytes) -> None:
        self._file.seek(place)
        self._file.truncate()
        self._file.write(content)
        self._file.flush()

    def _hold_to(self, line: bytes, row: TableLine | None) -> None:
        """Errors: CannotFill, when a row of answers is not the one that stands at its place."""
        (written,) = csv.reader([line.decode(errors="replace")], delimiter=self._catalogue.separator)
        place = f"{self._file.name}:{self.kept + 2}"
        if row is None:
            raise CannotFill(f"{place}: the catalogue ends before this row; {OTHERWISE}")
        if written[-2:-1] != [self._knowledge]:
            raise CannotFill(f"{place}: was made by other tables than {self._knowledge}; {OTHERWISE}")
        if (written[0], written[-1]) != (str(row.line), row.digest):
            raise CannotFill(f"{place}: was made of another row than line {row.line} of the catalogue; {OTHERWISE}")

    def write(self, rows: Iterable[TableLine], results: Iterable[Mapping[str, str]]) -> int:
        """Write the answers to some rows; how many of them have a problem."""
        told = [(row, [result[name] for name in RESULTS]) for row, result in zip(rows, results, strict=True)]
        written = (self._row((str(row.line), *row.keys, *cells, self._knowledge, row.digest)) for row, cells in told)
        self._file.write("".join(written).encode())
        self._file.flush()
        return sum(bool(cells[-1]) for _, cells in told)

    def _row(self, cells: Sequence[str]) -> str:
        line = io.StringIO()
        csv.writer(line, delimiter=self._catalogue.separator, lineterminator=END).writerow(cells)
        return line.getvalue()


OTHERWISE = "name another file for the answers, or delete this one"
