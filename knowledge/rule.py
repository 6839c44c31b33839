"""What a rule is, and the words in which it speaks."""

import inspect
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, NamedTuple

from knowledge.base import KnowledgeBase
from knowledge.lubricant import Lubricant
from knowledge.parts.provenance import Citation, Effect, Figure, Finding, LimitUsed, Severity, Standing
from knowledge.text import significant

GIVEN = ("oil", "family", "is_named", "base")


class Measured(NamedTuple):
    """A figure a rule computed, over the whole region of an oil."""

    name: str
    low: float
    high: float
    unit: str
    rests_on: Standing
    screening: bool = False

    @property
    def figure(self) -> Figure:
        """The figure as it travels."""
        return Figure(
            name=self.name,
            unit=self.unit,
            min=significant(self.low),
            max=significant(self.high),
            standing="computed",
            rests_on=self.rests_on,
            screening=self.screening,
        )


class RuleOutcome(NamedTuple):
    """What a rule says of one oil.

    `margin` is how far inside its limit the oil is: 1 is at the limit. A rule that is not concerned has
    nothing against the oil for want of anything to judge, and cites nothing. `against` is the text without
    what would lift a refusal. `tie_break` orders what it says in different worlds where no margin does: more is better.
    `is_of_grade` when it refuses a grade and not the family, so that service data which names the family alone
    excuses nothing.
    """

    effect: Effect
    text: str
    severity: Severity = "note"
    figures: tuple[Measured, ...] = ()
    margin: float | None = None
    is_concerned: bool = True
    against: str = ""
    tie_break: float = float("inf")
    is_of_grade: bool = False
    limits: tuple[LimitUsed, ...] = ()


@dataclass(frozen=True, slots=True, eq=False)
class Rule:
    """One claim about lubricants, with its sources and the facts it reads.

    Most rules look at nothing of an oil but its family; those are asked once for each family.
    """

    id: str
    claim: str
    because: str
    reads: tuple[str, ...]
    sources: tuple[Citation, ...]
    yields_to_service_data: bool
    sets_margin: bool
    sets_comfort_margin: bool
    settled_by: str | None
    parameters: frozenset[str]
    judge: Callable[..., RuleOutcome]

    @property
    def uses_service_data(self) -> bool:
        """Whether what the service data names makes a difference to it."""
        return self.yields_to_service_data or "is_named" in self.parameters

    def subject(self, oil: Lubricant) -> Lubricant | str | None:
        """What it looks at: the oil itself, the id of its family alone, or neither."""
        if "oil" in self.parameters:
            return oil
        return oil.family.id if "family" in self.parameters else None

    def ask(
        self, values: tuple[Any, ...], subject: Lubricant | str | None, is_named: bool, base: KnowledgeBase
    ) -> RuleOutcome:
        """What it says where the facts it reads have these values.

        `is_named`: whether the service data names this very class.
        """
        given = dict(zip(self.reads, values, strict=True))
        if "oil" in self.parameters:
            given["oil"] = subject
        if "family" in self.parameters:
            given["family"] = base.families[str(subject)]
        if "is_named" in self.parameters:
            given["is_named"] = is_named
        if "base" in self.parameters:
            given["base"] = base
        return self.judge(**given)

    def finding(self, said: RuleOutcome, about: tuple[str, ...]) -> Finding:
        """What it said without a figure, as it travels."""
        return Finding(
            rule=self.id,
            effect=said.effect,
            severity=said.severity,
            text=said.text,
            about=about,
            sources=self.sources,
        )


def rule(
    *sources: tuple[str, str],
    yields_to_service_data: bool = False,
    sets_margin: bool = False,
    sets_comfort_margin: bool = False,
    settled_by: str | None = None,
) -> Callable[[Callable[..., RuleOutcome]], Rule]:
    """Make a rule of a function: its name is the id, its docstring the claim, its parameters what it reads and takes.

    A rule that yields to service data warns, where it would refuse, once the manufacturer's service data
    names that very class. A rule that sets a margin has its say in the order of the classes; one that sets ease has
    it too, but only up to its limit, beyond which it is no nuisance any more.
    `settled_by` is the line of a data sheet that settles it for one jug.
    """

    def of(judge: Callable[..., RuleOutcome]) -> Rule:
        parameters = inspect.signature(judge).parameters
        claim, _, because = (inspect.getdoc(judge) or "").partition("\n\n")
        return Rule(
            id=judge.__name__.replace("_", "-"),
            claim=" ".join(claim.split()),
            because=" ".join(because.split()),
            reads=tuple(name for name in parameters if name not in GIVEN),
            sources=tuple(Citation(id=id, locator=locator) for id, locator in sources),
            yields_to_service_data=yields_to_service_data,
            sets_margin=sets_margin,
            sets_comfort_margin=sets_comfort_margin,
            settled_by=settled_by,
            parameters=frozenset(parameters),
            judge=judge,
        )

    return of


def supports(
    text: str,
    *,
    figures: tuple[Measured, ...] = (),
    margin: float | None = None,
    tie_break: float = float("inf"),
    limits: tuple[LimitUsed, ...] = (),
) -> RuleOutcome:
    """The rule has nothing against this oil, or speaks for it."""
    return RuleOutcome("supports", text, "note", figures, margin, tie_break=tie_break, limits=limits)


def not_concerned(text: str) -> RuleOutcome:
    """The box or the oil has nothing that this rule is about."""
    return RuleOutcome("supports", text, is_concerned=False)


def cautions(
    text: str,
    *,
    severity: Severity = "warning",
    figures: tuple[Measured, ...] = (),
    margin: float | None = None,
    limits: tuple[LimitUsed, ...] = (),
) -> RuleOutcome:
    """The oil may serve, with care."""
    return RuleOutcome("cautions", text, severity, figures, margin, limits=limits)


def excludes(
    text: str,
    *,
    severity: Severity = "warning",
    figures: tuple[Measured, ...] = (),
    margin: float | None = None,
    unless: str = "",
    is_of_grade: bool = False,
    limits: tuple[LimitUsed, ...] = (),
) -> RuleOutcome:
    """The oil does not serve; `unless` is a sentence on what would lift that."""
    text_with = f"{text} {unless}".strip()
    return RuleOutcome(
        "excludes", text_with, severity, figures, margin, against=text, is_of_grade=is_of_grade, limits=limits
    )


def no_data(text: str) -> RuleOutcome:
    """The rule cannot say: a figure is missing."""
    return RuleOutcome("no-data", text)
