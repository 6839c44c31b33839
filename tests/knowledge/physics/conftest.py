"""What these tests share: every formula, and tables read from the retyped copies, never from the project's own."""

import csv
import importlib
import inspect
import pkgutil
from collections.abc import Callable
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest

from knowledge import physics
from knowledge.physics.viscosity import viscosity_line

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
def formulas() -> dict[str, Callable]:
    """Each public function of the package by topic and name; only the refusals themselves are no formulas."""
    topics = {module.name for module in pkgutil.iter_modules(physics.__path__)} - {"limits"}
    modules = {topic: importlib.import_module(f"knowledge.physics.{topic}") for topic in sorted(topics)}
    return {
        f"{topic}.{name}": function
        for topic, module in modules.items()
        for name, function in inspect.getmembers(module, inspect.isfunction)
        if function.__module__ == module.__name__ and not name.startswith("_")
    }


@pytest.fixture(scope="session")
def over_arrays() -> set[str]:
    """The formulas over arrays, which are held to those for one oil and refuse nothing: what is out of range is NaN."""
    return {
        "viscosity.kinematic_viscosities_mm2_s",
        "viscosity.viscosity_lines",
        "viscosity_index.kv40_at_viscosity_indices_mm2_s",
        "density.densities_kg_m3",
    }


@pytest.fixture(scope="session")
def table():
    """Reads a retyped table by its name."""
    return retyped_rows


@pytest.fixture(scope="session")
def arguments() -> Callable[[dict[str, Any]], dict[str, Any]]:
    """The keyword arguments of a golden case: an oil becomes its line, a table name its retyped rows."""
    resolve = {"line": lambda oil: viscosity_line(**oil), "rows": retyped_rows, "reference_oils": retyped_rows}
    return lambda given: {name: resolve.get(name, lambda value: value)(value) for name, value in given.items()}


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
