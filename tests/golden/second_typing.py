"""The published scales typed a second time, under `retyped/`, and where a table differs from its second typing.

A copy was typed from the standard or from notes of it, never by copying the table; `sae_j306_2019.csv` has the rows of
one edition. It holds every column but texts for people.
"""

import csv
import re
from collections.abc import Iterator
from pathlib import Path

RETYPED = Path(__file__).parent / "retyped"
SCALES = ("sae_j306", "sae_j300", "iso_3448", "astm_d2270", "copper_strip")
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
FREE_TEXT = frozenset({"locator", "note", "appearance"})
# Printed in the standard, computed from the midpoint here.
NOT_IN_THE_TABLE = frozenset({"kv40_min_mm2_s", "kv40_max_mm2_s"})
EDITION = re.compile(r"_(20\d\d)$")

Rows = list[dict[str, str]]


def typed_copies(table: str) -> list[Path]:
    """The files in which a scale was typed again."""
    return [path for path in sorted(RETYPED.glob("*.csv")) if EDITION.sub("", path.stem) == table]


def typed_columns(table: str) -> set[str]:
    """The columns of a scale that were typed again."""
    columns: set[str] = set()
    for path in typed_copies(table):
        columns |= set(_rows(path.read_text(encoding="utf-8"))[0])
        columns |= {"edition"} if EDITION.search(path.stem) else set()
    return columns


def differences(table: str, text: str) -> Iterator[str]:
    """What a scale of the project, given as its text, has otherwise than it was typed the second time."""
    for path in typed_copies(table):
        ours, typed = _rows(text), _rows(path.read_text(encoding="utf-8"))
        if edition := EDITION.search(path.stem):
            ours = [row for row in ours if row["edition"] == edition[1]]
        if len(ours) != len(typed):
            yield f"{path.name}: {len(ours)} rows, typed were {len(typed)}"
        for at, (row, again) in enumerate(zip(ours, typed, strict=False), start=1):
            for name, cell in again.items():
                if row[name] != cell:
                    yield f"{path.name}: row {at} {name} is {row[name]!r}, typed was {cell!r}"


def _rows(text: str) -> Rows:
    """Between the names of a list in one cell a comma means nothing."""
    return [
        {RENAMED.get(name, name): cell.replace(",", "") for name, cell in row.items() if name not in NOT_IN_THE_TABLE}
        for row in csv.DictReader(text.splitlines(), strict=True)
    ]
