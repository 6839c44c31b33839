"""One lubricant in one case: what the words of an outcome are made of."""

from typing import TYPE_CHECKING, Any

import numpy as np

from knowledge.base import KnowledgeBase
from knowledge.lubricant import Lubricant
from knowledge.text import plain

if TYPE_CHECKING:
    from knowledge.judging.box_columns import BoxColumns


class Spot:
    """A lubricant, by its place, in a case, by the place of its fact's value on each axis."""

    __slots__ = ("case", "index", "x")

    def __init__(self, x: "BoxColumns", case: tuple[int, ...], index: int) -> None:
        self.x = x
        self.case = case
        self.index = index

    @property
    def base(self) -> KnowledgeBase:
        """The knowledge base."""
        return self.x.base

    @property
    def lubricant(self) -> Lubricant:
        """The lubricant itself."""
        return self.x.lubricants.rows[self.index]

    @property
    def limit(self) -> "Limits":
        """The thresholds by their ids, in words."""
        return Limits(self.base)

    def value(self, fact: str) -> Any:
        """The value that a fact has in this case."""
        axis, values, _ = self.x.cases.fact(fact)
        return values[0] if axis is None or len(values) == 1 else values[self.case[axis]]

    def number(self, column: Any) -> float:
        """What a column has here."""
        found = np.asarray(column)
        if not found.ndim:
            return float(found)
        place = self.index if found.shape[-1] > 1 else 0
        if found.ndim == 1:
            return float(found[place])
        along = (at if size > 1 else 0 for at, size in zip(self.case, found.shape[:-1], strict=True))
        return float(found[(*along, place)])


class Limits:
    """Thresholds by their ids, in words, as the places of a text ask for them."""

    __slots__ = ("base",)

    def __init__(self, base: KnowledgeBase) -> None:
        self.base = base

    def __getitem__(self, id: str) -> str:
        """The value of a threshold; raises KeyError."""
        return plain(self.base.limit(id))
