"""The one error of this package: a value outside the range its formula is stated for."""

import math

import numpy as np


class OutOfRange(ValueError):
    """A value for which the source of a formula makes no promise.

    Attributes:
        quantity: what the value is, as its argument is named without the unit.
        value: the value that was refused.
        low: lower end of the stated range.
        high: upper end of the stated range; infinite when there is none.
        unit: unit of value, low and high; empty for a pure number.
        low_included: whether low itself is allowed.
    """

    def __init__(
        self, *, quantity: str, value: float, low: float, high: float, unit: str, low_included: bool = True
    ) -> None:
        self.quantity = quantity
        self.value = value
        self.low = low
        self.high = high
        self.unit = unit
        self.low_included = low_included
        super().__init__(f"{quantity} {value:g} {unit}".rstrip() + f" is out of range: {self.allowed}.")

    @property
    def allowed(self) -> str:
        """The range in words, for a message."""
        tail = f" {self.unit}".rstrip()
        if math.isinf(self.high):
            return f"{self.low:g}{tail} or more" if self.low_included else f"above {self.low:g}{tail}"
        return f"{'' if self.low_included else 'above '}{self.low:g} to {self.high:g}{tail}"


def check_within(
    *, quantity: str, value: float, low: float, high: float = math.inf, unit: str, low_included: bool = True
) -> None:
    """Raise OutOfRange unless value is finite and between low and high, both ends allowed.

    NaN and the infinities are refused as well. With low_included=False the value has to exceed low. Any of them
    may be an array; then each is checked.
    """
    is_within = (value >= low if low_included else value > low) & (value <= high)
    if not isinstance(is_within, np.ndarray):
        if is_within and math.isfinite(value):
            return
    else:
        is_within &= np.isfinite(value)
        if is_within.all():
            return
        value, low, high = (float(part[~is_within][0]) for part in np.broadcast_arrays(value, low, high))
    raise OutOfRange(quantity=quantity, value=value, low=low, high=high, unit=unit, low_included=low_included)


def check_positive(*, quantity: str, value: float, unit: str) -> None:
    """Raise OutOfRange unless value, or every value of an array, is finite and above zero."""
    if isinstance(value, np.ndarray):
        check_within(quantity=quantity, value=value, low=0.0, unit=unit, low_included=False)
        return
    if not 0.0 < value < math.inf:
        raise OutOfRange(quantity=quantity, value=value, low=0.0, high=math.inf, unit=unit, low_included=False)
