"""The outcomes that rules about lubricants can have, as arrays by code."""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Any, Literal, get_args

import numpy as np
from numpy.typing import NDArray

from knowledge.base import KnowledgeBase
from knowledge.judging.column_rule import CAUTIONS, EXCLUDES, Decision
from knowledge.judging.columns import Flags
from knowledge.judging.rules import RULES
from knowledge.loading.schema import OutcomeRow
from knowledge.parts.provenance import EFFECTS_FROM_WORST, SEVERITIES_FROM_WORST

# What an outcome is to the order: a refusal, one for lasting harm, one for its grade alone, care, or either.
Sort = Literal["refused", "grave", "of-grade", "cared", "wary"]
SORTS: tuple[Sort, ...] = get_args(Sort)


@dataclass(frozen=True, slots=True, eq=False)
class Outcomes:
    """The outcomes that a rule can have, by code: the rows of its table in order."""

    rows: tuple[OutcomeRow, ...]
    codes: Mapping[str, int]
    effects: NDArray[np.int8]
    severities: NDArray[np.int8]
    is_concerned: NDArray[np.bool_]
    is_of_grade: NDArray[np.bool_]
    is_grave: NDArray[np.bool_]
    severity_of_effect: Mapping[int, int]
    """The severity of an effect, where all outcomes of that effect have the same."""

    is_of: Mapping[Sort, Flags]
    """Whether an outcome is of a sort, by code."""

    @classmethod
    def of(cls, rows: Sequence[OutcomeRow]) -> "Outcomes":
        """The outcomes of the rows of one rule."""
        severities: dict[int, set[int]] = {}
        for row in rows:
            of_effect = severities.setdefault(EFFECTS_FROM_WORST.index(row.effect), set())
            of_effect.add(SEVERITIES_FROM_WORST.index(row.severity))
        effects = np.array([EFFECTS_FROM_WORST.index(row.effect) for row in rows], np.int8)
        is_of_grade = np.array([row.is_of_grade for row in rows], bool)
        is_grave = np.array([row.is_grave for row in rows], bool)
        return cls(
            rows=tuple(rows),
            codes={row.outcome: code for code, row in enumerate(rows)},
            effects=effects,
            severities=np.array([SEVERITIES_FROM_WORST.index(row.severity) for row in rows], np.int8),
            is_concerned=np.array([row.is_concerned for row in rows], bool),
            is_of_grade=is_of_grade,
            is_grave=is_grave,
            severity_of_effect={effect: min(found) for effect, found in severities.items() if len(found) == 1},
            is_of={
                "refused": effects == EXCLUDES,
                "grave": (effects == EXCLUDES) & is_grave,
                "of-grade": (effects == EXCLUDES) & is_of_grade,
                "cared": effects == CAUTIONS,
                "wary": effects <= CAUTIONS,
            },
        )

    def has_any(self, outcomes: Collection[str]) -> Flags:
        """Whether it is one of some outcomes, by code."""
        return np.array([row.outcome in outcomes for row in self.rows])

    def resolve(self, decision: Decision) -> NDArray[np.int8]:
        """The code of the first outcome that holds, for every case and lubricant; raises KeyError on an unknown one."""
        chosen: Any = self.codes[decision.otherwise]
        open_choices = []
        for condition, outcome in decision.choices:
            if condition.ndim:
                open_choices.append((condition, self.codes[outcome]))
            elif condition:
                # What holds everywhere leaves nothing to the choices behind it.
                chosen = self.codes[outcome]
                break
        if open_choices and all(condition.ndim == 1 for condition, _ in open_choices):
            # One case: filling in place takes a third of the time.
            found = np.full(open_choices[0][0].shape, chosen, np.int8)
            for condition, code in reversed(open_choices):
                found[condition] = code
            return found
        chosen = np.int8(chosen)
        for condition, code in reversed(open_choices):
            chosen = np.where(condition, np.int8(code), chosen)
        return np.asarray(chosen)


@dataclass(frozen=True, slots=True, eq=False)
class EveryOutcome:
    """The outcomes of every rule, in the order of RULES, and those of all rules one after another."""

    of_rules: tuple[Outcomes, ...]
    deciding: tuple[int, ...]
    """The rules that can refuse a lubricant or ask for care; the others only tell."""
    telling_of_sheets: tuple[int, ...]
    """The rules that have a line for a data sheet."""
    offsets: NDArray[np.intp]
    effects: NDArray[np.int8]
    severities: NDArray[np.int8]
    is_of_grade: Flags
    is_grave: Flags


@lru_cache(maxsize=2)
def outcomes_of(base: KnowledgeBase) -> EveryOutcome:
    """The outcomes of every rule of this knowledge; kept, since every answer needs them."""
    of_rules = tuple(Outcomes.of([row for row in base.outcomes if row.rule == rule.id]) for rule in RULES)
    sizes = [len(known.rows) for known in of_rules]
    return EveryOutcome(
        of_rules=of_rules,
        deciding=tuple(place for place, known in enumerate(of_rules) if known.effects.min() <= CAUTIONS),
        telling_of_sheets=tuple(at for at, known in enumerate(of_rules) if any(row.sheet_line for row in known.rows)),
        offsets=np.cumsum([0, *sizes[:-1]])[:, None],
        effects=np.concatenate([known.effects for known in of_rules]),
        severities=np.concatenate([known.severities for known in of_rules]),
        is_of_grade=np.concatenate([known.is_of_grade for known in of_rules]),
        is_grave=np.concatenate([known.is_grave for known in of_rules]),
    )
