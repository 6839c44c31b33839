"""The cases of a box under figures that are drawn anew: each draw is an alternative of an axis of its own."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from numpy.typing import NDArray

from knowledge.base import KnowledgeBase
from knowledge.box.axes import DRAWS, Axis, sump_of, weights_of
from knowledge.box.cases import Cases, FactValues, values_along
from knowledge.box.facts import FACTS


@dataclass(frozen=True, slots=True, eq=False)
class Drawn:
    """The value of a fact in all draws: each figure that is drawn is an array over them."""

    value: Any


@dataclass(frozen=True)
class DrawnCases(Cases):
    """The cases of a question in many draws; `figures` is the knowledge with an array for each figure that is drawn."""

    figures: KnowledgeBase = field(kw_only=True)

    @classmethod
    def under(cls, cases: Cases, figures: KnowledgeBase, draws: int) -> "DrawnCases":
        """Some cases in so many draws of their figures."""
        axis = Axis((), ((),) * draws, np.full(draws, 1 / draws), ())
        return cls(cases.question, cases.base, {DRAWS: axis}, figures=figures)

    def limit(self, id: str) -> Any:
        """The value of a threshold, or its values in the draws."""
        return self.figures.limit(id)

    def _fact(self, name: str) -> FactValues:
        fact, question, figures = FACTS[name], self.question, self.figures
        if not fact.is_of_figures:
            return super()._fact(name)

        def of(*given: Any) -> Any:
            if fact.reads == ("duty",):
                duty = given[0][0]
                given = ((duty, sump_of(duty, question, figures)),)
            found = fact.of(question, figures, *given)
            return Drawn(found) if _is_drawn(found) else found

        return values_along(self.axes, fact.reads, of)

    def weights(self) -> Sequence[NDArray[np.float64]]:
        """The weights of the alternatives along each axis, of shape (draws or 1, alternatives); each draw has all."""
        draws = self.axes[DRAWS].size
        found = [axis.weights[None] for axis in self.axes]
        for place, axis in enumerate(self.axes):
            if axis.size > 1 and place != DRAWS:
                met = weights_of(place, axis.alternatives, self.question, self.figures)
                weights = np.array([np.broadcast_to(of, draws) for of in met]).T
                whole = weights.sum(axis=1, keepdims=True)
                is_met = weights.any(axis=1, keepdims=True)
                found[place] = np.where(is_met, weights / np.where(is_met, whole, 1.0), axis.weights)
        found[DRAWS] = np.eye(draws)
        return found


def _is_drawn(value: Any) -> bool:
    """Whether a value of a fact has an array in it."""
    parts = value if isinstance(value, tuple) else vars(value).values() if hasattr(value, "__dict__") else (value,)
    return any(isinstance(part, np.ndarray) for part in parts)
