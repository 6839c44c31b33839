"""The examples in the docstrings are true."""

import doctest
import importlib

import pytest

TOPICS = (
    "viscosity",
    "density",
    "wiping",
    "bearing",
    "film",
    "blending",
    "cone",
    "synchronizing",
    "interface_heat",
)


@pytest.mark.parametrize("topic", TOPICS)
def test_examples_in_docstrings_are_true(topic):
    result = doctest.testmod(importlib.import_module(f"knowledge.physics.{topic}"))
    assert result.attempted > 0
    assert result.failed == 0
