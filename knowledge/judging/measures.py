"""What stands a lubricant before another in a case, in one number; and who would lead if its family were named."""

from typing import Any

import numpy as np
from numpy.typing import NDArray

from knowledge.judging.columns import Flags
from knowledge.judging.custom import HEAT_AT, HEAT_BITS
from knowledge.judging.grid import Grid
from knowledge.judging.judge import Judged

# The measures of one lubricant in one case stand in one number, the weightiest in the highest bits, custom and heat
# in the lowest.
CARE_BITS, NAMED_BITS = 1, 4
CARE_AT = HEAT_AT + HEAT_BITS
NAMED_AT = CARE_AT + CARE_BITS
REFUSED_AT = NAMED_AT + NAMED_BITS

# What leads in a case where no lubricant does.
NOTHING, CONFLICT = -1, -2


def hindrances(refused: Flags, cared: Flags) -> NDArray[np.int32]:
    """What is held against each lubricant in each case, in the bits of its measures."""
    found: NDArray[np.int32] = refused.astype(np.int32) << (REFUSED_AT - CARE_AT)
    found = found + cared
    found <<= CARE_AT
    return found


def least(measures: NDArray[np.int32]) -> NDArray[np.intp]:
    """The best lubricant in each case; NOTHING where all are refused."""
    found = measures.argmin(axis=1)
    found[measures[np.arange(len(found)), found] >= 1 << REFUSED_AT] = NOTHING
    return found


class IfNamed:
    """What is refused, and what wants care, if its family is named: on a grid that is finer where that takes it.

    `at` is the cell of the grid of the box that each of its cells lies in.
    """

    def __init__(self, judged: Judged, grid: Grid, custom: NDArray[np.int32]) -> None:
        named, size = judged.as_if_named, judged.lubricants.size
        of_grades, graves, cares = named.where("of-grade"), named.where("grave"), named.where("wary")
        self.grid, self.at = grid.refined([*of_grades, *graves, *cares])
        self._of_grade, self._grave, self._cared = (
            self._of_each(self.grid.any_along(flags), size) for flags in (of_grades, graves, cares)
        )
        self._custom = np.broadcast_to(custom, (*grid.shape, size)).reshape(-1, size)[self.at]

    def _of_each(self, flags: Flags, size: int) -> Flags:
        """Flags with an entry for each lubricant."""
        return np.broadcast_to(flags, (*flags.shape[:-1], size))

    def grave(self, members: NDArray[np.intp]) -> Flags:
        """Whether some lubricants are refused for what does lasting harm, by cases."""
        return self._by_cases(self._grave[..., members])

    def measures(self, members: NDArray[np.intp], *, is_of_grade_kept: bool, is_grave_kept: bool) -> NDArray[np.int32]:
        """The measures of some lubricants in each case, where some refusals are kept although their family is named."""
        of_grade, grave, cared = (flags[..., members] for flags in (self._of_grade, self._grave, self._cared))
        refused = (of_grade & is_of_grade_kept) | (grave & is_grave_kept)
        return self._by_cases(hindrances(refused, cared)) + self._custom[:, members]

    def _by_cases(self, values: NDArray[Any]) -> Any:
        """Values of some lubricants, by the cells of the grid."""
        return np.broadcast_to(values, (*self.grid.shape, values.shape[-1])).reshape(-1, values.shape[-1])
