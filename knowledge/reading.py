"""Files to rows to a knowledge base: the only module that opens a file."""

import csv
import hashlib
import re
import tomllib
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any, NamedTuple

from pydantic import ValidationError

from knowledge import rows
from knowledge.base import KnowledgeBase
from knowledge.consistency import contradictions
from knowledge.errors import Fault, FaultyTables

TABLES = Path(__file__).parent / "tables"
VERSION_FILE = "VERSION"

CSV_TABLES: Mapping[str, type[rows.Row]] = {
    "lubricants": rows.LubricantRow,
    "sae_j306": rows.J306Row,
    "sae_j300": rows.J300Row,
    "iso_3448": rows.IsoRow,
    "astm_d2270": rows.ReferenceOilRow,
    "copper_strip": rows.CopperStripRow,
    "facing_families": rows.FacingFamilyRow,
    "ring_lands": rows.RingLandRow,
    "friction": rows.FrictionRow,
    "defaults": rows.DefaultRow,
    "thresholds": rows.ThresholdRow,
    "duties": rows.DutyRow,
    "plausible_values": rows.PlausibleValueRow,
}
TOML_TABLES: Mapping[str, type[rows.Row]] = {
    "sources": rows.SourceRow,
    "families": rows.FamilyRow,
    "facings": rows.FacingRow,
    "bodies": rows.BodyRow,
    "unknowns": rows.UnknownRow,
    "cautions": rows.CautionRow,
    "symptoms": rows.SymptomRow,
    "faq": rows.FaqRow,
}


class Placed(NamedTuple):
    """A row and where each of its cells stands: field name -> (line, column)."""

    row: rows.Row
    file: str
    line: int
    cells: Mapping[str, tuple[int, int]]

    def fault(self, field: str, message: str) -> Fault:
        """A fault of this row, placed at one of its cells."""
        line, column = self.cells.get(field, (self.line, 1))
        return Fault(self.file, line, column, message)


def read_knowledge(folder: Path | None = None) -> KnowledgeBase:
    """The knowledge base read from a folder of tables.

    Errors: FaultyTables with every fault found, each with file, line and column.
    """
    folder = folder or TABLES
    placed: dict[str, tuple[Placed, ...]] = {}
    faults: list[Fault] = []
    for name, model in CSV_TABLES.items():
        placed[name] = tuple(_placed_rows(_csv_cells(folder / f"{name}.csv", model, faults), model, faults))
    for name, model in TOML_TABLES.items():
        placed[name] = tuple(_placed_rows(_toml_cells(folder / f"{name}.toml", faults), model, faults))
    if not faults:
        faults.extend(contradictions(placed))
    if faults:
        raise FaultyTables(tuple(faults))
    version = (folder / VERSION_FILE).read_text(encoding="utf-8").strip()
    return KnowledgeBase.of(
        {name: tuple(item.row for item in items) for name, items in placed.items()},
        version=version,
        digest=_digest(folder),
    )


def _digest(folder: Path) -> str:
    sums = hashlib.sha256()
    for path in sorted(folder.iterdir()):
        if path.suffix in (".csv", ".toml") or path.name == VERSION_FILE:
            sums.update(path.name.encode() + b"\0" + path.read_bytes() + b"\0")
    return f"sha256:{sums.hexdigest()}"


class _Cells(NamedTuple):
    file: str
    line: int
    values: Mapping[str, Any]
    places: Mapping[str, tuple[int, int]]


def _text(path: Path, faults: list[Fault]) -> str:
    try:
        return path.read_text(encoding="utf-8")
    except FileNotFoundError:
        faults.append(Fault(path.name, 1, 1, "this table is missing"))
    except UnicodeDecodeError as error:
        line = path.read_bytes()[: error.start].count(b"\n") + 1
        faults.append(Fault(path.name, line, 1, "is not UTF-8 text"))
    return ""


def _csv_cells(path: Path, model: type[rows.Row], faults: list[Fault]) -> Iterator[_Cells]:
    reader = csv.reader(_text(path, faults).splitlines(keepends=True), strict=True)
    line = 1
    try:
        header = next(reader, [])
        for column, name in enumerate(header, start=1):
            if name not in model.model_fields or name in header[: column - 1]:
                faults.append(Fault(path.name, 1, column, f"column {name!r} is not wanted here or stands twice"))
        for name, field in model.model_fields.items():
            if field.is_required() and name not in header and header:
                faults.append(Fault(path.name, 1, 1, f"column {name!r} is missing"))
        line = reader.line_num + 1
        for cells in reader:
            if len(cells) != len(header):
                message = f"has {len(cells)} cells, the header has {len(header)}"
                faults.append(Fault(path.name, line, min(len(cells), len(header)) + 1, message))
            else:
                places = {name: (line, column) for column, name in enumerate(header, start=1)}
                values = {name: cell.strip() for name, cell in zip(header, cells) if cell.strip()}
                yield _Cells(path.name, line, values, places)
            line = reader.line_num + 1
    except csv.Error as error:
        faults.append(Fault(path.name, line, 1, str(error)))


def _toml_cells(path: Path, faults: list[Fault]) -> Iterator[_Cells]:
    text = _text(path, faults)
    try:
        tables = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        at = re.search(r"line (\d+), column (\d+)", str(error))
        line, column = (int(at[1]), int(at[2])) if at else (text.count("\n") + 1, 1)
        faults.append(Fault(path.name, line, column, str(error)))
        return
    places = _toml_places(text)
    for id_, values in tables.items():
        here = places.get(id_, {"": (1, 1)})
        if isinstance(values, dict):
            yield _Cells(path.name, here[""][0], {"id": id_, **values}, here)
        else:
            faults.append(Fault(path.name, *here[""], f"{id_!r} stands outside of a [table]"))


def _toml_places(text: str) -> dict[str, dict[str, tuple[int, int]]]:
    places: dict[str, dict[str, tuple[int, int]]] = {}
    here: dict[str, tuple[int, int]] = {}
    for line, content in enumerate(text.splitlines(), start=1):
        if table := re.match(r"\s*\[\"?([^\]\"]+)\"?\]", content):
            here = places.setdefault(table[1], {"": (line, 1), "id": (line, 2)})
        elif key := re.match(r"(\s*)([A-Za-z0-9_]+)\s*=", content):
            here.setdefault(key[2], (line, len(key[1]) + 1))
    return places


def _placed_rows(cells: Iterator[_Cells], model: type[rows.Row], faults: list[Fault]) -> Iterator[Placed]:
    seen: dict[str, int] = {}
    for file, line, values, places in cells:
        try:
            placed = Placed(model.model_validate(values), file, line, places)
        except ValidationError as error:
            for item in error.errors(include_url=False):
                field = str(item["loc"][0]) if item["loc"] else ""
                at, column = places.get(field, (line, 1))
                faults.append(Fault(file, at, column, f"{'.'.join(map(str, item['loc']))}: {item['msg']}"))
            continue
        id_ = getattr(placed.row, "id", None)
        if id_ is not None and seen.setdefault(id_, line) != line:
            faults.append(placed.fault("id", f"id {id_!r} stands already in line {seen[id_]}"))
        yield placed
