"""The fewest columns that cover all rows, and the best cover by so many: integer programs, solved to the optimum.

HiGHS is asked again for each aim, with what was reached of the aims before it held fast. All weights are whole numbers,
so half of one tells optima apart and no tolerance of the solver can.
"""

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from typing import Any, NamedTuple

import highspy


class Need(NamedTuple):
    """What may serve a row, by column: anything that serves at all, the first choice, what serves without care."""

    serving: frozenset[str]
    first: frozenset[str]
    careless: frozenset[str]


def fewest(rows: Iterable[frozenset[str]]) -> int:
    """The least number of columns that cover every row; a row that nothing covers is left out."""
    needs = {row for row in rows if row}
    if not needs:
        return 0
    program = _Program(sorted(set().union(*needs)))
    for need in sorted(needs, key=sorted):
        program.highs.addConstr(program.count(need) >= 1)
    return program.least(program.count(program.columns))


def best_cover(rows: Sequence[tuple[Need, int]], size: int, at_hand: frozenset[str]) -> tuple[str, ...]:
    """So many columns, for rows that are asked so often: the most that is served, then the most first choices,
    then the least care, then the most that is at hand."""
    asked: Counter[Need] = Counter()
    for need, times in rows:
        asked[need] += times
    program = _Program(sorted(set().union(*(need.serving for need in asked))))
    program.highs.addConstr(program.count(program.columns) == size)
    for kind in Need._fields:
        program.most(program.served(asked, kind))
    program.most(program.count(at_hand))
    return program.chosen()


class _Program:
    """Which columns are chosen, each or not."""

    def __init__(self, columns: Sequence[str]) -> None:
        self.highs = highspy.Highs()
        self.highs.silent()
        for option, value in (("threads", 1), ("mip_rel_gap", 0.0), ("mip_abs_gap", 0.0)):
            self.highs.setOptionValue(option, value)
        self.columns = {column: self.highs.addBinary() for column in columns}

    def count(self, columns: Iterable[str]) -> Any:
        """How many of these are chosen."""
        return self.highs.qsum([self.columns[column] for column in sorted(columns) if column in self.columns])

    def served(self, asked: Counter[Need], kind: str) -> Any:
        """How often a row is asked that a chosen column of this kind serves."""
        return self.highs.qsum(list(self._served(asked, kind)))

    def _served(self, asked: Counter[Need], kind: str) -> Iterator[Any]:
        for need, times in asked.items():
            served = self.highs.addBinary()
            self.highs.addConstr(served <= self.count(getattr(need, kind)))
            yield times * served

    def least(self, expression: Any) -> int:
        """The least that a whole number can come to."""
        self.highs.minimize(expression)
        return self._optimum()

    def most(self, expression: Any) -> None:
        """Let a whole number be the most that it can, from now on."""
        self.highs.maximize(expression)
        self.highs.addConstr(expression >= self._optimum() - 0.5)

    def chosen(self) -> tuple[str, ...]:
        """The columns of the last optimum."""
        return tuple(column for column, variable in self.columns.items() if self.highs.val(variable) > 0.5)

    def _optimum(self) -> int:
        if (status := self.highs.getModelStatus()) != highspy.HighsModelStatus.kOptimal:
            raise RuntimeError(f"the solver ends with {status}")
        return round(self.highs.getObjectiveValue())
