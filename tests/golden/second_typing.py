"""The tables typed a second time, under `retyped/`, and where a table differs from its second typing, as text.

A copy has the columns that are compared. It was typed from the standards and from notes of them where there are any,
and else again from what we judged; never by copying the table. Three forms:

    duties.csv                     the rows of the table, in its order
    sae_j306_2019.csv              the rows of one edition
    facing_families.fitness.csv    one column, laid out by the two others that its corner names
"""

import csv
import re
import tomllib
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

from knowledge.faq import PLACE

RETYPED = Path(__file__).parent / "retyped"
# A standard's own names for what the table calls otherwise.
RENAMED = {
    "ccs_max_mpa_s": "cranking_viscosity_max_mpa_s",
    "ccs_temperature_c": "cranking_temperature_c",
    "mrv_max_mpa_s": "pumping_viscosity_max_mpa_s",
    "mrv_temperature_c": "pumping_temperature_c",
    "hths150_min_mpa_s": "high_shear_viscosity_min_mpa_s",
    "applies_to": "for_grades",
    "midpoint_kv40_mm2_s": "midpoint_mm2_s",
}
# Columns for people to read, which no code reads and no copy holds.
FREE_TEXT = frozenset(
    "locator note name label term words reason appearance meaning looks_like text because short question how_to_tell phrase "
    "answer citation what_it_is fluid_reason means first_suspects check how safety result only_if in_short".split()
)
# Printed in the standard, worked out from the midpoint here.
NOT_IN_THE_TABLE = ("kv40_min_mm2_s", "kv40_max_mm2_s")
EDITION = re.compile(r"_(20\d\d)$")

Rows = list[dict[str, str]]
Cells = Mapping[tuple[str, ...], str]


def typed_copies(table: str) -> list[Path]:
    """The files in which a table was typed again."""
    return [path for path in sorted(RETYPED.glob("*.csv")) if re.fullmatch(rf"{table}(_20\d\d|\.\w+)?", path.stem)]


def typed_columns(table: str) -> set[str]:
    """The columns of a table that were typed again."""
    columns: set[str] = set()
    for path in typed_copies(table):
        corner, *names = _csv_rows(path.read_text(encoding="utf-8"))[0]
        if "/" in corner:
            columns |= {*corner.split("/"), path.stem.partition(".")[2]}
        else:
            columns |= {RENAMED.get(name, name) for name in (corner, *names)} - set(NOT_IN_THE_TABLE)
            columns |= {"edition"} if EDITION.search(path.stem) else set()
    return columns


def differences(table: str, text: str) -> Iterator[str]:
    """What a table of the project, given as its text, has otherwise than it was typed the second time."""
    rows = _toml_rows(text) if text.lstrip().startswith("[") else _csv_rows(text)
    for path in typed_copies(table):
        typed = _csv_rows(path.read_text(encoding="utf-8"))
        is_laid_out = "/" in next(iter(typed[0]))
        ours, theirs = _laid_out(path, rows, typed) if is_laid_out else _in_order(path, rows, typed)
        for place in {**theirs, **ours}:
            if ours.get(place) != theirs.get(place):
                yield f"{path.name}: {' '.join(place)} is {ours.get(place)!r}, typed was {theirs.get(place)!r}"


def _in_order(path: Path, rows: Rows, typed: Rows) -> tuple[Cells, Cells]:
    if edition := EDITION.search(path.stem):
        rows = [row for row in rows if row["edition"] == edition[1]]
    columns = [name for name in typed[0] if name not in NOT_IN_THE_TABLE]
    ours = {
        (f"row {at}", name): row.get(RENAMED.get(name, name), "") for at, row in enumerate(rows, 1) for name in columns
    }
    theirs = {(f"row {at}", name): row[name] for at, row in enumerate(typed, 1) for name in columns}
    return ours, theirs


def _laid_out(path: Path, rows: Rows, typed: Rows) -> tuple[Cells, Cells]:
    corner, *names = typed[0]
    (down, across), column = corner.split("/"), path.stem.partition(".")[2]
    ours = {(row[down], row[across]): row[column] for row in rows}
    theirs = {(row[corner], name): row[name] for row in typed for name in names}
    return {("rows",): str(len(rows)), **ours}, {("rows",): str(len(theirs)), **theirs}


def _csv_rows(text: str) -> Rows:
    """Between the names of a list in one cell a comma means nothing."""
    return [
        {name: cell.replace(",", "") for name, cell in row.items()}
        for row in csv.DictReader(text.splitlines(), strict=True)
    ]


def _toml_rows(text: str) -> Rows:
    tables = tomllib.loads(text)
    return [
        {"id": id, "places": " ".join(PLACE.findall(row.get("answer", "")))}
        | {name: _as_text(value) for name, value in row.items()}
        for id, row in tables.items()
    ]


def _as_text(value: Any) -> str:
    """A value as a copy writes it: of what is cited the ids, of the results of a check what they point to."""
    match value:
        case bool():
            return str(value).lower()
        case {"id": id}:
            return id
        case {"points_to": suspects}:
            return " ".join(suspects)
        case dict():
            return " ".join(f"{name}={_as_text(part)}" for name, part in value.items())
        case [{"points_to": _}, *_]:
            return " | ".join(map(_as_text, value))
        case list():
            return " ".join(map(_as_text, value))
        case _:
            return str(value)
