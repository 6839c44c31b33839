"""What a rule about lubricants is: a decision list over columns, and the words of its outcomes."""

import inspect
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, NamedTuple, TypeAlias

from knowledge.box.axes import AXIS_OF
from knowledge.box.facts import FACTS
from knowledge.judging.box_columns import BoxColumns, Column
from knowledge.judging.spot import Spot
from knowledge.lubricant import Lubricant
from knowledge.parts.provenance import EFFECTS_FROM_WORST, SEVERITIES_FROM_WORST, Citation, LimitUsed, Standing, weakest

EXCLUDES, CAUTIONS, NO_DATA, SUPPORTS = range(len(EFFECTS_FROM_WORST))
NOTE = SEVERITIES_FROM_WORST.index("note")

Choice: TypeAlias = tuple[Any, str]


class Decision(NamedTuple):
    """A decision list: the first condition that holds names the outcome.

    `margin` is how far inside its limit a lubricant is: 1 is at the limit, NaN where there is none to tell.
    `tie_break` orders what an outcome comes to in different cases, less is worse; left out, the margin does.
    """

    choices: tuple[Choice, ...]
    otherwise: str
    margin: Column | None = None
    tie_break: Column | None = None


def first_of(
    *choices: Choice, otherwise: str, margin: Column | None = None, tie_break: Column | None = None
) -> Decision:
    """The decision whose first condition that holds names the outcome."""
    return Decision(choices, otherwise, margin, tie_break)


def is_never(condition: Column) -> bool:
    """Whether a condition holds in no case, where that is plain: it has one value for all."""
    return not condition.ndim and not condition


@dataclass(frozen=True, slots=True, eq=False)
class FigureColumn:
    """A figure that a rule computed, at the low and the high end of a lubricant: a column over all cases.

    `rests_on` is the weakest standing that it comes from for a lubricant.
    """

    name: str
    span: tuple[Any, Any]
    unit: str
    rests_on: Callable[[Lubricant], Standing]
    screening: Any = False


def and_the_oil(standing: Standing) -> Callable[[Lubricant], Standing]:
    """What a figure rests on that comes from the oil as well."""
    return lambda oil: weakest(oil.standing, standing)


@dataclass(frozen=True, slots=True, eq=False)
class ColumnRule:
    """One claim about lubricants, with its sources and the facts it reads.

    `speaks_of_grade` where its texts say more of a lubricant than its family.
    `is_of_jug` where it judges what was measured of one jug: that its kind is named excuses none of its refusals.
    `words` fill the places in the texts of its outcomes.
    `limits` are the thresholds it holds a lubricant against, or what yields the limits of one.
    `bounds` tell, for an open field, the values with which it speaks against a lubricant better than those tried.
    `facts_on_axes` are the facts it reads with the axis of each, `fields` the fields that they follow from.
    """

    id: str
    claim: str
    because: str
    reads: tuple[str, ...]
    sources: tuple[Citation, ...]
    decide: Callable[[BoxColumns], Decision]
    uses_service_data: bool = False
    settled_by: str | None = None
    speaks_of_grade: bool = False
    is_of_jug: bool = False
    words: Mapping[str, Callable[[Spot], str]] = field(default_factory=dict)
    limits: tuple[str, ...] | Callable[[Spot], tuple[LimitUsed, ...]] = ()
    bounds: Mapping[str, Callable[[Spot], str]] = field(default_factory=dict)
    figures: Callable[[BoxColumns], Sequence[FigureColumn]] | None = None
    facts_on_axes: tuple[tuple[int, str], ...] = ()
    fields: frozenset[str] = frozenset()


def column_rule(
    *sources: tuple[str, str], reads: tuple[str, ...] = (), **options: Any
) -> Callable[[Callable[[BoxColumns], Decision]], ColumnRule]:
    """Make a rule of a function: its name is the id, its docstring the claim and, after a blank line, the reason.

    `settled_by` is the line of a data sheet that settles it for one jug.
    """

    def of(decide: Callable[[BoxColumns], Decision]) -> ColumnRule:
        claim, _, because = (inspect.getdoc(decide) or "").partition("\n\n")
        return ColumnRule(
            id=decide.__name__.replace("_", "-"),
            claim=" ".join(claim.split()),
            because=" ".join(because.split()),
            reads=reads,
            facts_on_axes=tuple((AXIS_OF[FACTS[fact].reads[0]], fact) for fact in reads if FACTS[fact].reads),
            fields=frozenset(name for fact in reads for name in FACTS[fact].reads),
            sources=tuple(Citation(id=id, locator=locator) for id, locator in sources),
            decide=decide,
            **options,
        )

    return of
