"""A rule that is asked of one case at a time: its claim, its sources, and the outcomes it can come to."""

import inspect
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, NamedTuple, TypedDict

from knowledge.parts.provenance import Citation, Effect, Figure, Finding, LimitUsed, Severity
from knowledge.text import Said


class Evidence(TypedDict, total=False):
    """What an outcome was read off: its figures, the limits it was held against, and how far inside it is."""

    figures: tuple[Figure, ...]
    limits: tuple[LimitUsed, ...]
    margin: float | None


class RuleOutcome(NamedTuple):
    """What a rule comes to; a margin of 1 is at the limit. One that is not concerned has nothing to judge."""

    effect: Effect
    text: Said
    severity: Severity = "note"
    is_concerned: bool = True
    figures: tuple[Figure, ...] = ()
    limits: tuple[LimitUsed, ...] = ()
    margin: float | None = None


@dataclass(frozen=True, slots=True, eq=False)
class Rule:
    """One claim with its sources and the facts it reads."""

    id: str
    claim: str
    because: str
    reads: tuple[str, ...]
    sources: tuple[Citation, ...]
    parameters: frozenset[str]
    judge: Callable[..., RuleOutcome]

    def finding(self, outcome: RuleOutcome, about: tuple[str, ...]) -> Finding:
        """An outcome as it travels; `about` are pointers to the parts of the question it was read from."""
        return Finding(
            rule=self.id,
            effect=outcome.effect,
            severity=outcome.severity,
            text=Said(outcome.text, f"{self.id}/{outcome.text.code}", **outcome.text.params),
            about=about,
            figures=outcome.figures,
            limits=outcome.limits,
            margin=outcome.margin,
            sources=self.sources,
        )


def rule(
    *sources: tuple[str, str], reads: tuple[str, ...] | None = None
) -> Callable[[Callable[..., RuleOutcome]], Rule]:
    """Make a rule of a function: its name is the id, its docstring the claim and, after a blank line, the reason.

    Left out, `reads` are its parameters but for the knowledge base.
    """

    def of(judge: Callable[..., RuleOutcome]) -> Rule:
        parameters = inspect.signature(judge).parameters
        claim, _, because = (inspect.getdoc(judge) or "").partition("\n\n")
        return Rule(
            id=judge.__name__.replace("_", "-"),
            claim=" ".join(claim.split()),
            because=" ".join(because.split()),
            reads=reads or tuple(name for name in parameters if name != "base"),
            sources=tuple(Citation(id=id, locator=locator) for id, locator in sources),
            parameters=frozenset(parameters),
            judge=judge,
        )

    return of


def supports(outcome: str, text: str, /, **given: Any) -> RuleOutcome:
    """Nothing speaks against it."""
    return _outcome("supports", outcome, text, **given)


def not_concerned(outcome: str, text: str, /) -> RuleOutcome:
    """There is nothing that the rule is about."""
    return _outcome("supports", outcome, text, is_concerned=False)


def cautions(outcome: str, text: str, /, severity: Severity = "warning", **given: Any) -> RuleOutcome:
    """It may serve, with care."""
    return _outcome("cautions", outcome, text, severity=severity, **given)


def excludes(outcome: str, text: str, /, **given: Any) -> RuleOutcome:
    """It does not serve."""
    return _outcome("excludes", outcome, text, severity="warning", **given)


def no_data(outcome: str, text: str, /, **given: Any) -> RuleOutcome:
    """A figure is missing."""
    return _outcome("no-data", outcome, text, **given)


def _outcome(
    effect: Effect,
    outcome: str,
    text: str,
    /,
    severity: Severity = "note",
    is_concerned: bool = True,
    figures: tuple[Figure, ...] = (),
    limits: tuple[LimitUsed, ...] = (),
    margin: float | None = None,
    **words: str,
) -> RuleOutcome:
    """An outcome by its name, and its text, whose places the words fill in."""
    said = Said(text.format_map(words), outcome, **words)
    return RuleOutcome(effect, said, severity, is_concerned, figures, limits, margin)
