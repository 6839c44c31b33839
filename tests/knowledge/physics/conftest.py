"""Tables for these tests, read from the retyped copies under tests/golden, never from the project's own."""

import csv
from pathlib import Path
from types import SimpleNamespace

import pytest

RETYPED = Path(__file__).parents[2] / "golden" / "retyped"
TEXT_COLUMNS = {"grade", "applies_to", "source", "standing"}


def retyped_rows(name: str) -> list[SimpleNamespace]:
    """Rows of a retyped table as objects, blanks as None. The W rows of J300 are those with a pumping limit."""
    with (RETYPED / f"{name}.csv").open(encoding="utf-8", newline="") as file:
        rows = [
            SimpleNamespace(**{column: _cell(column, text) for column, text in record.items()})
            for record in csv.DictReader(file, strict=True)
        ]
    for row in rows:
        if hasattr(row, "mrv_temperature_c"):
            row.cold_limit_c = row.mrv_temperature_c
    return rows


def _cell(column: str, text: str) -> str | float | None:
    if column in TEXT_COLUMNS:
        return text
    return float(text) if text else None


@pytest.fixture(scope="session")
def table():
    """Reads a retyped table by its name."""
    return retyped_rows


@pytest.fixture(scope="session")
def reference_oils():
    return retyped_rows("astm_d2270")


@pytest.fixture(scope="session")
def j306_2019():
    return retyped_rows("sae_j306_2019")


@pytest.fixture(scope="session")
def j306_2005():
    return retyped_rows("sae_j306_2005")


@pytest.fixture(scope="session")
def iso_3448():
    return retyped_rows("iso_3448")
