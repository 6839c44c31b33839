"""Every argument of every formula is taken up to the ends of the range its docstring states, and refused beyond them.

tests/golden/ranges.csv holds the ranges, retyped from the docstrings. An end may be the name of another argument; no
high end means any finite number, and "inf" that infinity is allowed too.
"""

import csv
import inspect
import math
import tomllib
from pathlib import Path

import pytest

from knowledge.physics.limits import OutOfRange

GOLDEN = Path(__file__).parents[2] / "golden"
with (GOLDEN / "ranges.csv").open(encoding="utf-8", newline="") as file:
    RANGES = list(csv.DictReader(file, strict=True))
NO_NUMBERS = {"line", "rows", "reference_oils", "upshift", "triangular"}
RANGE_FOLLOWS_FROM_THE_OTHERS = {
    "viscosity.kinematic_viscosity_mm2_s": {"temperature_c"},
    "viscosity.kinematic_viscosity_from_z_mm2_s": {"z"},
    "viscosity_index.kv40_at_viscosity_index_mm2_s": {"viscosity_index"},
    "cone.index_torque_nm": {"chamfer_friction"},
    "cone.least_friction_to_block": {"chamfer_friction"},
    "wiping.wiping_time_s": {"groove_depth_mm"},
}


def sound_arguments(formula, argument):
    """What the first golden case of a formula gives that gives this argument."""
    topic, name = formula.split(".")
    golden = tomllib.loads((GOLDEN / f"{topic}.toml").read_text(encoding="utf-8"))["case"]
    return next(case["given"] for case in golden if case["of"] == name and argument in case["given"])


def end(text, given):
    """An end of a range as a number."""
    return float(given.get(text, text or "inf"))


def beyond(low, low_included, high, infinity_allowed):
    """The nearest numbers that must be refused, and those that are none."""
    yield from (math.nan, -math.inf, math.nextafter(low, -math.inf) if low_included else low)
    if not infinity_allowed:
        yield math.inf
    if high < math.inf:
        yield math.nextafter(high, math.inf)


def instead_of(given, value):
    """A value in the place of the one given, or of the first of several."""
    return [value, *given[1:]] if isinstance(given, list) else value


@pytest.mark.parametrize("row", RANGES, ids=[f"{row['function']}-{row['argument']}" for row in RANGES])
def test_what_lies_beyond_its_range_is_refused_by_name(row, formulas, arguments):
    formula, argument = formulas[row["function"]], row["argument"]
    given = arguments(sound_arguments(row["function"], argument))
    low, high, low_included = end(row["low"], given), end(row["high"], given), row["low_included"] == "yes"
    assert formula(**given) is not None
    for edge in ([low] if low_included else []) + ([high] if high < math.inf else []):
        try:
            assert formula(**given | {argument: instead_of(given[argument], edge)}) is not None
        except OutOfRange as fault:  # of another figure, which follows from this one
            assert fault.quantity != row["quantity"]
    for value in beyond(low, low_included, high, row["high"] == "inf"):
        with pytest.raises(OutOfRange) as refusal:
            formula(**given | {argument: instead_of(given[argument], value)})
        fault = refusal.value
        assert (fault.quantity, fault.unit) == (row["quantity"], row["unit"])
        assert (fault.low, fault.high, fault.low_included) == (low, high, low_included)
        assert fault.value == value or (math.isnan(fault.value) and math.isnan(value))


def test_no_argument_is_without_its_range(formulas, over_arrays):
    stated = {(row["function"], row["argument"]) for row in RANGES}
    stated |= {(formula, name) for formula, names in RANGE_FOLLOWS_FROM_THE_OTHERS.items() for name in names}
    assert len(stated) == len(RANGES) + 6
    assert stated == {
        (formula, name)
        for formula, function in formulas.items()
        if formula not in over_arrays
        for name in inspect.signature(function).parameters
        if name not in NO_NUMBERS
    }
