"""From the text of a table to its rows, each with the line and column where its cells stand. Opens no file."""

import io
import re
import tomllib
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from typing import Any, Generic, NamedTuple, TypeVar

from pydantic import ValidationError

from knowledge.errors import Fault
from knowledge.loading.schema import Row
from knowledge.loading.sheets import (
    WITH_A_COMMA,
    cell_fault,
    column_names,
    number_fault,
    rows_of,
    separator_of,
    with_point,
)
from knowledge.text import nearest

LONGEST_ECHO = 60
SENTENCES = {
    "missing": "must not be blank",
    "float_parsing": "must be a number",
    "finite_number": "must be a number that ends",
    "int_parsing": "must be a whole number",
    "bool_parsing": "must be yes or no, or blank when nobody knows",
    "string_too_long": "must be at most {max_length} characters long",
    "greater_than_equal": "must be {ge:g} or more",
    "greater_than": "must be more than {gt:g}",
    "less_than_equal": "must be {le:g} or less",
    "less_than": "must be less than {lt:g}",
    "literal_error": "must be one of {expected}",
}
PATTERNS = {
    r"^[a-z0-9]+(-[a-z0-9]+)*$": "must be small letters and digits, with single hyphens between them",
    r"^[1-4][a-e]$": "must be a rating of the copper strip test, from 1a to 4c",
    r"^[0-9]+W?$": "must be a whole number, with a W after it for a winter grade",
    r"^[^{}]*\{values\}[^{}]*$": "must hold {values} once, and no other braces",
}


AnyRow = TypeVar("AnyRow", bound=Row)


class Placed(NamedTuple, Generic[AnyRow]):
    """A row and where each of its cells stands: field name -> (line, column)."""

    row: AnyRow
    file: str
    line: int
    cells: Mapping[str, tuple[int, int]]

    def fault(self, field: str, message: str) -> Fault:
        """A fault of this row, placed at one of its cells."""
        line, column = self.cells.get(field, (self.line, 1))
        return Fault(self.file, line, column, message)


@dataclass(frozen=True, slots=True)
class Tables:
    """The rows of every table, each with its place, asked for by their model."""

    models: Mapping[str, type[Row]]
    placed: Mapping[type[Row], tuple[Placed[Any], ...]]

    def __getitem__(self, model: type[AnyRow]) -> tuple[Placed[AnyRow], ...]:
        return self.placed[model]

    def rows(self, model: type[AnyRow]) -> tuple[AnyRow, ...]:
        """The rows of a table without their places."""
        return tuple(placed.row for placed in self.placed[model])

    @property
    def by_name(self) -> Mapping[str, type[Row]]:
        """The row model of each table by its name, which is its file without the ending."""
        return {file.partition(".")[0]: model for file, model in self.models.items()}

    def ids(self, table: str) -> tuple[str, ...]:
        """The ids of a table by its name; where other columns tell its rows apart, none."""
        model = self.by_name[table]
        return tuple(row_id(placed.row) for placed in self.placed[model]) if model.keys else ()


def row_id(row: Row) -> str:
    """What other tables and questions call a row."""
    return str(getattr(row, row.keys[0].columns[0]))


class _Cells(NamedTuple):
    file: str
    line: int
    values: Mapping[str, Any]
    places: Mapping[str, tuple[int, int]]


def placed_rows(
    file: str, text: str, model: type[AnyRow], faults: list[Fault], *, as_saved: bool = False
) -> tuple[Placed[AnyRow], ...]:
    """The sound rows of a table; every fault is added to the list.

    In a comma-separated one a blank cell is not known; in TOML the name of each table is its id. A table `as_saved` by
    a spreadsheet has its columns set apart and its numbers written as there.
    """
    if file.endswith(".csv"):
        cells = _csv_cells(file, text, model, faults, as_saved)
        return tuple(_validated(cells, model.model_validate_strings, faults))
    return tuple(_validated(_toml_cells(file, text, faults), model.model_validate, faults))


def _csv_cells(file: str, text: str, model: type[Row], faults: list[Fault], as_saved: bool) -> Iterator[_Cells]:
    lines = list(io.StringIO(text, newline=""))
    if not text.strip():
        faults.append(Fault(file, 1, 1, "the table is empty; its first line must name the columns"))
        return
    if lines[-1] == lines[-1].rstrip("\r\n"):
        # Whatever is cut off within a line shows here, even where the rest would pass for a row.
        message = "the last line does not end with a line break, so it may have been cut off; add one"
        faults.append(Fault(file, len(lines), 1, message))
    separator = separator_of(lines[0]) if as_saved else ","
    header, *rows = rows_of(lines, separator)
    if header.fault:
        faults.append(Fault(file, 1, 1, header.fault))
        return
    names = column_names(header.cells) if as_saved else [name.strip() for name in header.cells]
    if header_faults := tuple(_header_faults(file, names, model)):
        faults.extend(header_faults)
        return
    numbers = numbers_of(model) if as_saved else frozenset()
    for line, cells, fault in rows:
        if fault:
            faults.append(Fault(file, line, 1, fault))
        elif any(cell.strip() for cell in cells):
            found = cells_by_name(names, cells, numbers, separator)
            if isinstance(found, CellFault):
                faults.append(Fault(file, line, found.column, found.message))
            else:
                yield _Cells(file, line, found, {name: (line, at) for at, name in enumerate(names, start=1)})


class CellFault(NamedTuple):
    """What keeps a row from being read, and the column from 1 that it is in."""

    column: int
    message: str


@cache
def numbers_of(model: type[Row]) -> frozenset[str]:
    """The columns of a table that hold numbers."""
    shapes = model.model_json_schema(mode="validation")["properties"]
    kinds = {name: {part.get("type") for part in shape.get("anyOf", [shape])} for name, shape in shapes.items()}
    return frozenset(name for name, found in kinds.items() if found & {"number", "integer"})


def cells_by_name(
    names: Sequence[str], cells: Sequence[str], numbers: frozenset[str], separator: str
) -> dict[str, str] | CellFault:
    """The cells of a row that are not blank, by the names of their columns, or the first fault among them."""
    count = len(names)
    if len(cells) < count or any(cell.strip() for cell in cells[count:]):
        return CellFault(min(len(cells), count) + 1, f"has {len(cells)} cells, the header has {count}")
    values: dict[str, str] = {}
    for column, (name, given) in enumerate(zip(names, cells, strict=False), start=1):
        # A data sheet prints a true minus.
        cell = given.strip().replace("\N{MINUS SIGN}", "-") if name in numbers else given.strip()
        if fault := cell_fault(given) or (number_fault(cell, separator) if name in numbers else ""):
            return CellFault(column, f"{name}: {fault}")
        if cell:
            values[name] = with_point(cell, separator) if name in numbers else cell
    return values


def _header_faults(file: str, header: list[str], model: type[Row]) -> Iterator[Fault]:
    if len(header) == 1 and ";" in header[0]:
        yield Fault(file, 1, 1, "the columns are set apart by semicolons; save the table with commas between them")
        return
    if fault := next(filter(None, map(cell_fault, header)), ""):
        yield Fault(file, 1, 1, fault)
        return
    for column, name in enumerate(header, start=1):
        shown = name[:LONGEST_ECHO]
        if name not in model.model_fields:
            hint = nearest(shown, model.model_fields)
            also = f"; did you mean {hint!r}?" if hint else ""
            yield Fault(file, 1, column, f"column {shown!r} is not wanted here{also}")
        elif name in header[: column - 1]:
            yield Fault(file, 1, column, f"column {shown!r} stands twice")
    for name, field in model.model_fields.items():
        if field.is_required() and name not in header:
            yield Fault(file, 1, 1, f"column {name!r} is missing")


def _toml_cells(file: str, text: str, faults: list[Fault]) -> Iterator[_Cells]:
    try:
        tables = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        at = re.search(r"line (\d+), column (\d+)", str(error))
        line, column = (int(at[1]), int(at[2])) if at else (text.count("\n") + 1, 1)
        faults.append(Fault(file, line, column, str(error)))
        return
    places = _toml_places(text)
    for id_, values in tables.items():
        here = places.get(id_, {"": (1, 1)})
        if isinstance(values, dict):
            yield _Cells(file, here[""][0], {"id": id_, **values}, here)
        else:
            faults.append(Fault(file, *here[""], f"{id_!r} stands outside of a [table]"))


def _toml_places(text: str) -> dict[str, dict[str, tuple[int, int]]]:
    places: dict[str, dict[str, tuple[int, int]]] = {}
    here: dict[str, tuple[int, int]] = {}
    for line, content in enumerate(text.splitlines(), start=1):
        if table := re.match(r"\s*\[\"?([^\]\"]+)\"?\]", content):
            here = places.setdefault(table[1], {"": (line, 1), "id": (line, 2)})
        elif key := re.match(r"(\s*)([A-Za-z0-9_]+)\s*=", content):
            here.setdefault(key[2], (line, len(key[1]) + 1))
    return places


def _validated(
    cells: Iterator[_Cells], validate: Callable[[Mapping[str, Any]], AnyRow], faults: list[Fault]
) -> Iterator[Placed[AnyRow]]:
    for file, line, values, places in cells:
        try:
            yield Placed(validate(values), file, line, places)
        except ValidationError as error:
            for item in error.errors(include_url=False):
                field = str(item["loc"][0]) if item["loc"] else ""
                at, column = places.get(field, (line, 1))
                faults.append(Fault(file, at, column, f"{'.'.join(map(str, item['loc']))}: {sentence(item)}"))


def sentence(error: Mapping[str, Any]) -> str:
    """An error of a cell in words."""
    context, message = error.get("ctx", {}), str(error["msg"])
    if error["type"] == "string_pattern_mismatch":
        return PATTERNS.get(context["pattern"], message)
    # Where commas may stand before the decimals, none is left in a number.
    if error["type"] == "float_parsing" and WITH_A_COMMA.fullmatch(error["input"]):
        return "must be a number, with a point before the decimals"
    return SENTENCES[error["type"]].format(**context) if error["type"] in SENTENCES else message
