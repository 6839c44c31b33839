"""Every source a formula names can be looked up."""

import inspect
import re

import pytest

from knowledge.physics import (
    bearing,
    blending,
    cone,
    density,
    film,
    grades,
    interface_heat,
    ring_wear,
    synchronizing,
    viscosity,
    viscosity_index,
    wiping,
)

MODULES = (
    bearing,
    blending,
    cone,
    density,
    film,
    grades,
    interface_heat,
    ring_wear,
    synchronizing,
    viscosity,
    viscosity_index,
    wiping,
)
FORMULAS = [
    pytest.param(function, id=f"{module.__name__.rsplit('.', 1)[1]}.{name}")
    for module in MODULES
    for name, function in inspect.getmembers(module, inspect.isfunction)
    if function.__module__ == module.__name__ and not name.startswith("_")
]
SOURCE_ID = re.compile(r"\b[a-z]+(?:-[a-z0-9]+)*-(?:[a-z]*\d+[a-z0-9]*)\b")


@pytest.mark.parametrize("function", FORMULAS)
def test_every_source_of_a_formula_is_in_the_table(function, base) -> None:
    said = inspect.getdoc(function).partition("Sources:")[2].partition("checked by")[0]
    assert said
    assert [id for id in SOURCE_ID.findall(said) if id not in base.sources] == []
