"""What stands a lubricant before another in a case, in one number; and who would lead if its family were named."""

import numpy as np
from numpy.typing import NDArray

from knowledge.judging.column_rule import CAUTIONS, EXCLUDES
from knowledge.judging.columns import Flags
from knowledge.judging.custom import HEAT_AT, HEAT_BITS
from knowledge.judging.grid import Grid
from knowledge.judging.judge import Judged, RuleColumn

# The measures of one lubricant in one case stand in one number, the weightiest in the highest bits, custom and heat
# in the lowest.
CARE_BITS, NAMED_BITS = 1, 4
CARE_AT = HEAT_AT + HEAT_BITS
NAMED_AT = CARE_AT + CARE_BITS
REFUSED_AT = NAMED_AT + NAMED_BITS

# What leads in a case where no lubricant does.
NOTHING, CONFLICT = -1, -2


def scores(refused: Flags, cared: Flags, small: NDArray[np.int32]) -> NDArray[np.int32]:
    """The measures of each lubricant in each case in one number, less is better."""
    found = refused.astype(np.int32) << REFUSED_AT
    found += cared.astype(np.int32) << CARE_AT
    found += small
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
        columns, self._size = judged.as_if_named.columns, judged.lubricants.size
        of_grades, graves, cares = (
            [column.where(flags) for column in columns if (flags := is_so(column)).any()]
            for is_so in (is_of_grade, is_grave, is_wary)
        )
        self.grid, self.at = grid.refined([*of_grades, *graves, *cares])
        self.of_grade, self.grave, self.cared = (
            self.grid.any_of(flags, self._size) for flags in (of_grades, graves, cares)
        )
        self._custom = np.broadcast_to(custom, (*grid.shape, self._size)).reshape(-1, self._size)[self.at]
        self._measures: dict[tuple[bool, bool], NDArray[np.int32]] = {}

    def measures(self, *, is_of_grade_kept: bool, is_grave_kept: bool) -> NDArray[np.int32]:
        """The measures of each lubricant in each case, where some refusals are kept although its family is named."""
        kept = is_of_grade_kept, is_grave_kept
        if kept not in self._measures:
            refused = (self.of_grade & is_of_grade_kept) | (self.grave & is_grave_kept)
            self._measures[kept] = scores(refused, self.cared, self._custom)
        return self._measures[kept]


def is_of_grade(column: RuleColumn) -> Flags:
    return (column.effect == EXCLUDES) & column.outcomes.is_of_grade[column.code]


def is_grave(column: RuleColumn) -> Flags:
    return (column.effect == EXCLUDES) & column.outcomes.is_grave[column.code]


def is_wary(column: RuleColumn) -> Flags:
    return np.asarray(column.effect <= CAUTIONS)
