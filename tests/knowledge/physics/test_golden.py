"""Runs every case of the golden files of this package: published, retyped, library and hand-worked figures."""

import importlib
import pkgutil
import tomllib
from pathlib import Path

import pytest

from knowledge import physics
from knowledge.physics.limits import OutOfRange

GOLDEN = Path(__file__).parents[2] / "golden"
TOPICS = sorted({module.name for module in pkgutil.iter_modules(physics.__path__)} - {"limits"})
ORIGINS = {"published", "retyped", "computed-by-library", "hand-worked"}
FIELDS = {"id", "of", "source", "locator", "origin", "given", "expect", "note"}


def cases():
    for topic in TOPICS:
        for case in tomllib.loads((GOLDEN / f"{topic}.toml").read_text(encoding="utf-8"))["case"]:
            yield pytest.param(topic, case, id=case["id"])


ALL_CASES = list(cases())


def matches(found, expected, case):
    if isinstance(expected, dict):
        return all(matches(getattr(found, field), value, case) for field, value in expected.items())
    if isinstance(expected, list):
        return found == tuple(expected)
    if isinstance(expected, str):
        return found == (expected or None)
    return found == pytest.approx(expected, rel=case.get("rel_tol", 0), abs=case.get("abs_tol", 0))


@pytest.mark.parametrize(("topic", "case"), ALL_CASES)
def test_golden_case(topic, case, arguments):
    function = getattr(importlib.import_module(f"knowledge.physics.{topic}"), case["of"])
    given = arguments(case["given"])
    if isinstance(case["expect"], dict) and "raises" in case["expect"]:
        with pytest.raises(OutOfRange):
            function(**given)
        return
    assert matches(function(**given), case["expect"], case)


def test_every_formula_has_a_golden_case(formulas, over_arrays):
    golden = {f"{topic}.{case['of']}" for topic, case in (param.values for param in ALL_CASES)}
    assert golden == formulas.keys() - over_arrays


def test_golden_ids_are_unique():
    ids = [case.id for case in ALL_CASES]
    assert len(ids) == len(set(ids))


@pytest.mark.parametrize(("topic", "case"), ALL_CASES)
def test_golden_case_says_where_it_comes_from(topic, case):
    assert FIELDS <= case.keys() <= FIELDS | {"rel_tol", "abs_tol"}
    assert ("rel_tol" in case) != ("abs_tol" in case)
    assert case["origin"] in ORIGINS
    assert case["source"]
    assert case["locator"]


@pytest.mark.parametrize("topic", TOPICS)
def test_docstrings_name_golden_cases_that_exist(topic):
    source = Path(importlib.import_module(f"knowledge.physics.{topic}").__file__).read_text(encoding="utf-8")
    words = {word.strip(",.;()\n") for word in source.split() if "--" in word}
    ids = {case.id for case in ALL_CASES}
    assert words
    assert {word for word in words if not any(known.endswith(word) for known in ids)} == set()
