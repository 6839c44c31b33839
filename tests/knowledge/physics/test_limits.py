"""A refusal says what was wrong; every formula says what it takes, what it refuses and where it comes from."""

import inspect
import math

import numpy as np
import pytest

from knowledge.physics.limits import OutOfRange, check_positive, check_within


def test_refusal_says_what_was_wrong_in_plain_words():
    with pytest.raises(ValueError, match=r"^kinematic viscosity 0\.1 mm2/s is out of range: 0\.21 to 2e\+07 mm2/s\.$"):
        check_within(quantity="kinematic viscosity", value=0.1, low=0.21, high=2e7, unit="mm2/s")
    with pytest.raises(ValueError, match=r"^speed nan rpm is out of range: above 0 rpm\.$"):
        check_positive(quantity="speed", value=math.nan, unit="rpm")
    with pytest.raises(ValueError, match=r"^land share 2 is out of range: above 0 to 1\.$"):
        check_within(quantity="land share", value=2, low=0, high=1, unit="", low_included=False)


def test_refusal_carries_its_figures():
    with pytest.raises(OutOfRange) as refusal:
        check_within(quantity="KV100", value=1.9, low=2.0, unit="mm2/s")
    fault = refusal.value
    assert (fault.quantity, fault.value, fault.low, fault.high, fault.unit) == ("KV100", 1.9, 2.0, math.inf, "mm2/s")
    assert "2 mm2/s or more" in str(fault)


def test_of_an_array_the_first_value_that_is_out_of_range_is_refused():
    check_within(quantity="depth", value=np.array([1.0, 2.0]), low=0.0, high=np.array([1.0, 2.0]), unit="mm")
    with pytest.raises(OutOfRange) as refusal:
        check_within(
            quantity="depth", value=np.array([1.0, 2.5, 9.0]), low=0.0, high=np.array([1.0, 2.0, 3.0]), unit="mm"
        )
    assert (refusal.value.value, refusal.value.high) == (2.5, 2.0)
    with pytest.raises(OutOfRange):
        check_within(quantity="film", value=5.0, low=np.array([2.0, 6.0]), unit="um")
    for bad in (0.0, math.nan, math.inf):
        with pytest.raises(OutOfRange):
            check_positive(quantity="speed", value=np.array([1.0, bad]), unit="rpm")


def test_public_functions_take_keywords_only_and_are_documented(formulas):
    for function in formulas.values():
        kinds = {argument.kind for argument in inspect.signature(function).parameters.values()}
        assert kinds == {inspect.Parameter.KEYWORD_ONLY}
        for part in ("Args:", "Sources:"):
            assert part in function.__doc__
