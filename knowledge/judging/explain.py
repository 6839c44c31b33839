"""The finding of one rule on one lubricant: its sentence, figures, limits and sources, made when it is shown."""

from collections.abc import Iterator
from typing import Any

import numpy as np

from knowledge.box.facts import pointers
from knowledge.judging.column_rule import CAUTIONS, EXCLUDES
from knowledge.judging.condition import only_if
from knowledge.judging.judge import Judged, RuleColumn
from knowledge.judging.spot import Spot
from knowledge.loading.schema import OutcomeRow
from knowledge.parts.provenance import (
    EFFECTS_FROM_WORST,
    Figure,
    Finding,
    LimitUsed,
)
from knowledge.text import significant

ALL_THE_SAME = (
    " The service data names this class all the same, so this warns and does not refuse: ask the manufacturer."
)


def explain(judged: Judged, rule: int, lubricant: int) -> Finding:
    """What the rule at a place of RULES says of a lubricant: its worst outcome over all cases."""
    column = judged.columns[rule]
    told = _Told(judged, column, lubricant)
    spot = Spot(judged.x, told.case, lubricant)
    row = column.outcomes.rows[told.code]
    figures = tuple(_figures(column, spot))
    limits = column.rule.limits if isinstance(column.rule.limits, tuple) else column.rule.limits(spot)
    return Finding(
        rule=column.rule.id,
        effect=EFFECTS_FROM_WORST[told.effect],
        severity=row.severity,
        text=_sentence(
            row, column, spot, is_softened=told.is_softened, is_worst_of_many=bool(figures) and told.is_many
        ),
        about=_about(column, len(judged.cases.question.rings or ())),
        figures=figures,
        limits=tuple(_limit_used(judged, id) for id in limits) if row.is_concerned else (),
        margin=_margin(column, lubricant),
        sources=column.rule.sources if row.is_concerned else (),
        only_if=told.condition if row.is_concerned else None,
        share_of_worlds=told.share,
    )


class _Told:
    """The worst outcome of a rule on a lubricant, the case that shows it, and in which cases it is so."""

    def __init__(self, judged: Judged, column: RuleColumn, lubricant: int) -> None:
        self._judged, self._column = judged, column
        effect, code = _of(column.effect, lubricant), _of(column.code, lubricant)
        self.effect = int(effect.min())
        told = np.broadcast_to(effect == self.effect, np.broadcast_shapes(effect.shape, code.shape))
        self.case = self._worst_case(told, np.broadcast_to(code, told.shape), lubricant)
        self.code = int(np.broadcast_to(code, told.shape)[self.case])
        softened = column.softened
        self.is_softened = softened is not None and bool(
            np.broadcast_to(_of(softened, lubricant), told.shape)[self.case]
        )
        self._all = told
        outcomes = column.outcomes
        self._meant = told & (outcomes.is_concerned[code] == outcomes.is_concerned[self.code])
        self.is_many = int(self._meant.sum()) > 1

    def _worst_case(self, told: Any, code: Any, lubricant: int) -> tuple[int, ...]:
        """Among the cases of the worst effect: one that is concerned, of the gravest severity, of the least tie-break."""
        if told.size == 1:
            return (0,) * told.ndim
        outcomes, tie_break = self._column.outcomes, self._column.tie_break
        grades = np.full(told.shape, np.inf)
        if tie_break is not None:
            found = _of(tie_break, lubricant)
            grades = np.broadcast_to(np.where(np.isnan(found), np.inf, found), told.shape)
        keys = (
            np.arange(told.size),
            grades.ravel(),
            outcomes.severities[code].ravel(),
            ~outcomes.is_concerned[code].ravel(),
            ~told.ravel(),
        )
        return tuple(int(at) for at in np.unravel_index(np.lexsort(keys)[0], told.shape))

    @property
    def share(self) -> float:
        """The share of the cases in which the worst effect holds, by weight."""
        found = self._all.astype(float)
        for axis in range(found.ndim):
            if found.shape[axis] > 1:
                places, weights = self._column.places[axis], self._judged.cases.axes[axis].weights
                assert places is not None, "an outcome changes only along axes that the rule reads"
                share = np.bincount(places, weights=weights) / weights.sum()
                shape = [1] * found.ndim
                shape[axis] = len(share)
                found = (found * share.reshape(shape)).sum(axis=axis, keepdims=True)
        return float(found.reshape(-1)[0])

    @property
    def condition(self) -> str | None:
        """What has to be so for the outcome that is shown; None where it always is."""
        if self._meant.all():
            return None
        holds = {}
        for axis in range(self._meant.ndim):
            places = self._column.places[axis]
            if self._meant.shape[axis] > 1 and places is not None:
                others = tuple(other for other in range(self._meant.ndim) if other != axis)
                holds[axis] = self._meant.any(axis=others)[places]
        return only_if(holds, self._column.rule.fields, self._judged.cases)


def _of(column: Any, lubricant: int) -> Any:
    """A column over all axes at one lubricant."""
    return column[..., lubricant if column.shape[-1] > 1 else 0]


def _sentence(row: OutcomeRow, column: RuleColumn, spot: Spot, *, is_softened: bool, is_worst_of_many: bool) -> str:
    words = _Words(column, spot)
    text = row.text.format_map(words)
    if is_softened:
        text += ALL_THE_SAME
    elif row.unless:
        text = f"{text} {row.unless.format_map(words)}"
    return f"At worst: {text[0].lower()}{text[1:]}" if is_worst_of_many else text


class _Words(dict[str, Any]):
    """The places of a text, each filled in when it is asked for."""

    def __init__(self, column: RuleColumn, spot: Spot) -> None:
        super().__init__()
        self._column, self._spot = column, spot

    def __missing__(self, name: str) -> Any:
        if name == "label":
            return self._spot.lubricant.family.label
        return self._spot.limit if name == "limit" else self._column.rule.words[name](self._spot)


def _about(column: RuleColumn, ring_sets: int) -> tuple[str, ...]:
    read = [pointer for fact in column.rule.reads for pointer in pointers(fact, ring_sets)]
    named = ("/service_data",) if column.rule.uses_service_data else ()
    return tuple(dict.fromkeys((*read, *named)))


def _margin(column: RuleColumn, lubricant: int) -> float | None:
    if column.margin is None:
        return None
    least = float(np.fmin.reduce(_of(column.margin, lubricant).ravel()))
    return None if np.isnan(least) else significant(least)


def _figures(column: RuleColumn, spot: Spot) -> Iterator[Figure]:
    """The figures of a rule over all cases."""
    if column.rule.figures is None:
        return
    for figure in column.rule.figures(spot):
        low, high = (_ends(edge, spot.index) for edge in (figure.low, figure.high))
        if not (np.isnan(low).all() or np.isnan(high).all()):
            yield Figure(
                name=figure.name,
                unit=figure.unit,
                min=significant(float(np.nanmin(low))),
                max=significant(float(np.nanmax(high))),
                standing="computed",
                rests_on=figure.rests_on,
                screening=bool(np.any(figure.screening)),
            )


def _ends(edge: Any, lubricant: int) -> Any:
    found = np.asarray(edge, float)
    if not found.ndim:
        return found.reshape(1)
    return np.atleast_1d(found[..., lubricant if found.shape[-1] > 1 else 0]).ravel()


def _limit_used(judged: Judged, id: str) -> LimitUsed:
    quantity = judged.cases.base.quantity(id)
    return LimitUsed(id=id, value=quantity.value, unit=quantity.unit, standing=quantity.standing)


def is_against(effect: int) -> bool:
    """Whether an effect cautions or refuses."""
    return effect in (CAUTIONS, EXCLUDES)
