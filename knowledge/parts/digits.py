"""With how many digits a figure is shown: what is judged or from memory bears two."""

from typing import overload

from knowledge.parts.provenance import UNCHECKED, LimitUsed, Standing
from knowledge.text import digits


def _bears(standing: Standing) -> int:
    return 2 if standing in UNCHECKED else 4


def shown(value: float, standing: Standing) -> str:
    """A figure in words, with at most three digits."""
    return digits(value, min(_bears(standing), 3))


def shown_limit(limit: LimitUsed) -> str:
    """A limit in words."""
    return shown(limit.value, limit.standing)


def shown_beside(value: float, standing: Standing, limit: LimitUsed) -> str:
    """A figure beside its limit; `just over` or `just under` it where rounding would hide on which side it lies."""
    text, at = shown(value, standing), shown_limit(limit)
    if value == limit.value or _side(float(text), float(at)) == _side(value, limit.value):
        return text
    return f"just {'over' if value > limit.value else 'under'} {at}"


def _side(value: float, limit: float) -> int:
    return (value > limit) - (value < limit)


@overload
def rounded(value: float, standing: Standing = ..., *, most: int = ...) -> float: ...
@overload
def rounded(value: float | None, standing: Standing = ..., *, most: int = ...) -> float | None: ...
def rounded(value: float | None, standing: Standing = "computed", *, most: int = 4) -> float | None:
    """A figure as a number, in two digits where its standing is low, else in four; in short answers in three."""
    return None if value is None else float(digits(value, min(_bears(standing), most)))


def rounded_ratio(ratio: float, standing: Standing) -> float:
    """A ratio as a number, on its own side of 1, where its limit lies."""
    found = rounded(ratio, standing)
    return found if found != 1 or ratio == 1 else 1.1 if ratio > 1 else 0.99
