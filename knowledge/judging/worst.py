"""The outcome of one rule that is shown of a lubricant: its worst over all cases, and the cases in which it is so."""

from collections.abc import Sequence
from typing import Any, NamedTuple

import numpy as np

from knowledge.judging.box_columns import AXES
from knowledge.judging.column_rule import NOTE
from knowledge.judging.columns import Flags
from knowledge.judging.judge import Judged

ONLY_CASE = (0,) * AXES

# A tie-break behind all that can be computed.
LAST = 1e300


class Shown(NamedTuple):
    """The outcome of a rule on a lubricant that is shown, the case that shows it, and in which cases it is so.

    `key` is the same for the lubricants of which all of that is the same.
    """

    case: tuple[int, ...]
    code: int
    is_softened: bool
    key: tuple[Any, ...]
    meant: Flags | None = None
    is_many: bool = False

    @property
    def only_where(self) -> Flags | None:
        """The cases in which it is so; None where it always is."""
        return None if self.meant is None or self.meant.all() else self.meant


def shown_of(judged: Judged, rule: int, lubricant: int) -> Shown:
    """What is shown of a rule at a place of RULES."""
    if judged.single:
        code, is_softened = judged.only_outcome(rule, lubricant)
        return Shown(ONLY_CASE, code, is_softened, (code, is_softened))
    return _worst_of_many(judged, rule).shown(lubricant)


def outcome_of(judged: Judged, rule: int, lubricant: int) -> tuple[int, bool]:
    """The code of the outcome that is shown, and whether service data softened it."""
    return judged.only_outcome(rule, lubricant) if judged.single else _worst_of_many(judged, rule).outcome(lubricant)


def codes_shown(judged: Judged, rule: int) -> set[int]:
    """The codes of the outcomes that are shown of all lubricants."""
    if judged.single:
        return {judged.only_outcome(rule, index)[0] for index in range(judged.lubricants.size)}
    return set(_worst_of_many(judged, rule).codes)


def _worst_of_many(judged: Judged, rule: int) -> "_WorstOfMany":
    if rule not in judged.shown:
        judged.shown[rule] = _WorstOfMany(judged, rule)
    worst: _WorstOfMany = judged.shown[rule]
    return worst


class _WorstOfMany:
    """The worst outcome over all cases, of each lubricant or of all alike.

    Among the cases of the worst effect one that is concerned, of the gravest severity, of the least tie-break.
    """

    def __init__(self, judged: Judged, rule: int) -> None:
        column = judged.column(rule)
        shape = np.broadcast_shapes(column.effect.shape, column.code.shape)
        is_open = shape[:-1] != (1,) * AXES
        order = judged.tie_break(rule) if is_open else None
        if order is not None:
            shape = np.broadcast_shapes(shape, order.shape)
        code, effect = (np.broadcast_to(part, shape).reshape(-1, shape[-1]) for part in (column.code, column.effect))
        softened = np.zeros(1, bool) if column.softened is None else column.softened
        softened = np.broadcast_to(softened, shape).reshape(code.shape)
        oils = np.arange(shape[-1])
        is_worst, is_concerned = effect == effect.min(axis=0), column.outcomes.is_concerned[code]
        gravity = column.outcomes.severities[code] + (NOTE + 1) * (~is_concerned + 2 * ~is_worst)
        tie_break = np.where(gravity == gravity.min(axis=0), 0.0, np.inf)
        if order is not None:
            found = np.broadcast_to(order, shape).reshape(code.shape)
            tie_break = tie_break + np.where(np.isnan(found), LAST, np.minimum(found, LAST))
        place = tie_break.argmin(axis=0)
        self._shape = shape[:-1]
        along = (axis.tolist() for axis in np.unravel_index(place, self._shape))
        self._cases: Sequence[tuple[int, ...]] = tuple(zip(*along, strict=True))
        self.codes: Sequence[int] = code[place, oils].tolist()
        self._softened: Sequence[bool] = softened[place, oils].tolist()
        self._meant: Flags | None = None
        if is_open:
            meant = is_worst & (is_concerned == is_concerned[place, oils])
            self._meant, self._counts = np.ascontiguousarray(meant.T), meant.sum(axis=0).tolist()
        self._found: dict[int, Shown] = {}

    def outcome(self, lubricant: int) -> tuple[int, bool]:
        """Of a lubricant the code of the outcome, and whether service data softened it."""
        oil = lubricant if len(self.codes) > 1 else 0
        return self.codes[oil], self._softened[oil]

    def shown(self, lubricant: int) -> Shown:
        """What is shown of a lubricant, made when it is first asked for."""
        oil = lubricant if len(self.codes) > 1 else 0
        if oil not in self._found:
            self._found[oil] = self._shown(oil)
        return self._found[oil]

    def _shown(self, oil: int) -> Shown:
        found = self._cases[oil], self.codes[oil], self._softened[oil]
        if self._meant is None:
            return Shown(*found, key=found)
        meant = self._meant[oil]
        return Shown(*found, (*found, meant.tobytes()), meant.reshape(self._shape), self._counts[oil] > 1)
