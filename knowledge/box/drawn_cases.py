"""The cases of a box under figures that are drawn anew: each draw is an alternative of an axis of its own."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

from knowledge.base import KnowledgeBase
from knowledge.box.axes import DRAWS, Axis, sump_of, weights_of
from knowledge.box.cases import Cases, FactValues, values_along
from knowledge.box.facts import FACTS


class Drawn(tuple[Any, ...]):
    """What something is in each draw."""


@dataclass(frozen=True)
class DrawnCases(Cases):
    """The cases of a question, of which each draw has figures of its own; what is not drawn is that of `base`."""

    bases: tuple[KnowledgeBase, ...] = ()

    @classmethod
    def under(cls, cases: Cases, bases: Iterable[KnowledgeBase]) -> "DrawnCases":
        """Some cases under the figures of each of these."""
        bases = tuple(bases)
        draws = Axis((), ((),) * len(bases), np.full(len(bases), 1 / len(bases)), ())
        return cls(cases.question, cases.base, {DRAWS: draws}, bases)

    def limit(self, id: str) -> Any:
        """The value of a threshold in each draw."""
        return Drawn(base.limit(id) for base in self.bases)

    def _fact(self, name: str) -> FactValues:
        fact, question = FACTS[name], self.question
        if not fact.is_of_figures:
            return super()._fact(name)

        def of(*given: Any) -> Drawn:
            if fact.reads != ("duty",):
                return Drawn(fact.of(question, base, *given) for base in self.bases)
            duty = given[0][0]
            return Drawn(fact.of(question, base, (duty, sump_of(duty, question, base))) for base in self.bases)

        return values_along(self.axes, fact.reads, of)

    @cached_property
    def _open_axes(self) -> tuple[int, ...]:
        return tuple(place for place, axis in enumerate(self.axes) if axis.size > 1 and place != DRAWS)

    def weights(self, draw: int) -> Sequence[NDArray[np.float64]]:
        """The weights of the alternatives along each axis in one draw, which has all the weight of its axis."""
        found = [axis.weights for axis in self.axes]
        for place in self._open_axes:
            weights = weights_of(place, self.axes[place].alternatives, self.question, self.bases[draw])
            if weights.any():
                found[place] = weights / weights.sum()
        found[DRAWS] = np.zeros(len(self.bases))
        found[DRAWS][draw] = 1.0
        return found
