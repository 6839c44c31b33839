"""Tables as spreadsheets save them: any of their encodings and separators, row by row. Opens no file."""

import codecs
import csv
import re
from collections import deque
from collections.abc import Iterable, Iterator, Sequence
from itertools import islice
from typing import NamedTuple

SEPARATORS = (",", ";", "\t")
# A cell may hold line breaks; a quotation mark that nobody closed must not swallow the rest of a table.
MOST_LINES_OF_A_ROW = 50
LONGEST_LINE = 100_000
SAVE_AS_TEXT = "save the table as CSV UTF-8"
OWN_FORMATS = (b"PK\x03\x04", b"\xd0\xcf\x11\xe0")
TWO_OF_UTF_8 = re.compile(rb"[\xc2-\xdf][\x80-\xbf]|[\xe0-\xef][\x80-\xbf]{2}")
CANNOT_BE_SEEN = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f]")
NO_TEXT = re.compile(r"[\ud800-\udfff\ufffd]")

MONTHS = (
    "jan(uary|uar|v)?|feb(ruary|ruar)?|f[eé]v(r)?|mar(ch|s)?|mrz|m[aä]rz?|mrt|apr(il)?|avr(il)?|abr|ma[iy]|mag|mei|"
    "june?|juni?|juin|giu|july?|juli?|juil|lug|aug(ust)?|ao[uû]t|ago|sept?(ember)?|o[ck]t(ober)?|ott|nov(ember)?|"
    "de[cz](ember)?|d[eé]c|dic|ene|gen"
)
DATES = re.compile(
    rf"\d+\W*({MONTHS})\.?(\W*\d+)?|({MONTHS})\.?(\W*\d+){{1,2}}|"  # 01. Feb, 2-Jan-25, Jan 2
    r"(\d{4}[-./]\d{1,2}[-./]\d{1,2}|\d{1,2}[-./]\d{1,2}[-./](\d{4}|0\d|1[3-9]|[2-9]\d))([ T]\d.*)?|"  # 2025-01-02
    r"\d{1,2}\.\d{1,2}\.|0\d[-./]\d{1,2}|\d{1,2}[-./]0\d|"  # 1.2., 01/02
    r"[2-6]\d{4}([.,]0+)?",  # 44928: the days since 1900
    re.IGNORECASE,
)
PLAIN_NUMBER = re.compile(r"\d+[.,]?\d*")
GROUPED = re.compile(r"[+-]?[1-9]\d{0,2}([.,'\s]\d{3})+([.,]\d+)?")
WITH_A_COMMA = re.compile(r"[+-]?\d*,\d+")
# What is a number with decimals, and no doubt about it, where this sets the columns apart.
DECIMAL = {",": re.compile(r"[+-]?\d*\.\d+"), ";": WITH_A_COMMA}


class UnreadableSheet(ValueError):
    """The file is no table that was saved as text."""


class SheetRow(NamedTuple):
    """The cells of a row and the line it begins at; with a fault they are not to be relied upon."""

    line: int
    cells: Sequence[str]
    fault: str = ""


def decoded(content: bytes) -> str:
    """The text of a whole file; what is no text in it stands there as a sign that `cell_fault` tells.

    Errors: UnreadableSheet.
    """
    encoding = encoding_of((content,))
    return content.decode(encoding, errors_of(encoding))


def encoding_of(pieces: Iterable[bytes]) -> str:
    """The encoding of a file: UTF-8 or UTF-16 with its mark, UTF-8, else the Windows-1252 of older spreadsheets.

    A file with UTF-8 in it that is not UTF-8 throughout counts as such: somebody spoilt it.
    Errors: UnreadableSheet.
    """
    reader = codecs.getincrementaldecoder("utf-8")()
    is_utf_8, has_utf_8, begins = True, False, True
    for piece in pieces:
        if begins and piece.startswith(OWN_FORMATS):
            raise UnreadableSheet(f"is a spreadsheet's own file and no text; {SAVE_AS_TEXT}")
        if begins and piece.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
            return "utf-16"
        begins = False
        has_utf_8 = has_utf_8 or TWO_OF_UTF_8.search(piece) is not None
        try:
            reader.decode(piece)
        except UnicodeDecodeError:
            is_utf_8 = False
            reader.reset()
    return "utf-8-sig" if is_utf_8 or has_utf_8 else "cp1252"


def errors_of(encoding: str) -> str:
    """How bytes that are no text are marked, so that only their cell is refused."""
    return "replace" if encoding == "utf-16" else "surrogateescape"


def cell_fault(cell: str) -> str:
    """What keeps a cell from being read, if anything does."""
    if CANNOT_BE_SEEN.search(cell):
        return "holds a character that cannot be seen; type the cell anew"
    return f"holds what is no text; {SAVE_AS_TEXT}" if NO_TEXT.search(cell) else ""


def separator_of(header: str) -> str:
    """What sets the columns apart, by the line that names them."""
    return max(SEPARATORS, key=header.count)


def column_names(cells: Iterable[str]) -> list[str]:
    """The names of the columns, however they are spaced and in any case, without blank ones at the end."""
    names = ["_".join(re.split(r"[\s-]+", cell.strip().lower())) for cell in cells]
    while names and not names[-1]:
        names.pop()
    return names


def rows_of(lines: Iterable[str], separator: str) -> Iterator[SheetRow]:
    """The rows of some lines with their ends, blank ones too; one that cannot be read costs no other."""
    source, ahead, line = iter(lines), deque[str](), 1
    while (first := ahead.popleft() if ahead else next(source, None)) is not None:
        if len(first) > LONGEST_LINE:
            yield SheetRow(line, (), f"is longer than {LONGEST_LINE} characters")
            line += 1
            continue
        more = _lines_in_quotes(first, ahead, source)
        cells = _cells((first, *islice(ahead, more)), separator) if more else None
        if cells is None:
            more, cells = 0, _cells((first,), separator)
        if cells is None:
            (guessed,) = csv.reader((first,), delimiter=separator)
            yield SheetRow(line, guessed, "a quotation mark is not closed, or out of place")
        else:
            yield SheetRow(line, cells)
        for _ in range(more):
            ahead.popleft()
        line += 1 + more


def _lines_in_quotes(first: str, ahead: deque[str], source: Iterator[str]) -> int:
    """How many lines more the row has by its quotation marks; none where they do not close it soon."""
    if first.count('"') % 2 == 0:
        return 0
    for count in range(MOST_LINES_OF_A_ROW):
        if count == len(ahead):
            further = next(source, None)
            if further is None:
                return 0
            ahead.append(further)
        if ahead[count].count('"') % 2:
            return count + 1
    return 0


def _cells(lines: Sequence[str], separator: str) -> Sequence[str] | None:
    """The cells of one row; None where the lines are not just one."""
    try:
        rows = list(csv.reader(lines, delimiter=separator, strict=True))
    except csv.Error:
        return None
    return rows[0] if len(rows) == 1 else None


def looks_like_a_date(cell: str) -> bool:
    """Whether a spreadsheet may have made a date of what was typed: `01. Feb` of `1-2`, `14. Feb` of `14.2`."""
    return DATES.fullmatch(cell.strip()) is not None


def number_fault(cell: str, separator: str) -> str:
    """What keeps a number from having one meaning, if anything does."""
    if looks_like_a_date(cell) and not PLAIN_NUMBER.fullmatch(cell):
        return "looks like a date that a spreadsheet made of a number; make the column one of numbers and type it anew"
    is_decimal = separator in DECIMAL and DECIMAL[separator].fullmatch(cell)
    if GROUPED.fullmatch(cell) and not is_decimal:
        return "may have its decimals or its thousands set apart; write it without thousands set apart"
    return ""


def with_point(cell: str, separator: str) -> str:
    """A number with a point before its decimals: a comma is one where it does not set the columns apart."""
    return cell.replace(",", ".") if separator != "," and WITH_A_COMMA.fullmatch(cell) else cell
