"""What holds of a box whatever is still unknown of it: its rings, and what the rules come to for the fluid in it."""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import NamedTuple

from knowledge.base import KnowledgeBase
from knowledge.box.cases import Cases
from knowledge.box.question import FillQuestion
from knowledge.judging.judgement import Judgement
from knowledge.jug.judged_sheet import spanned_figures
from knowledge.lubricant import Lubricant
from knowledge.parts.provenance import Finding


class JudgedBox(NamedTuple):
    """What holds of the rings, as values of the mark `rings`, and the findings that hold in every open case."""

    rings: tuple[str, ...] = ()
    findings: tuple[Finding, ...] = ()


def judged_box(box: FillQuestion, lubricants: Sequence[Lubricant], base: KnowledgeBase) -> JudgedBox:
    """A box with one of these lubricants in it."""
    judgement = Judgement.of(box, base, lubricants)
    return JudgedBox(tuple(_rings(judgement.cases)), tuple(_agreed(judgement)) if lubricants else ())


def _rings(cases: Cases) -> Iterator[str]:
    kinds = cases.values("facing_kinds")
    conditions = [{land.condition for land in lands} for lands in cases.values("lands")]
    holding = {
        "none": not any(kinds),
        "lined": all("lined" in kind for kind in kinds),
        "unlined": all(kind and "lined" not in kind for kind in kinds),
        "worn": all("worn" in condition for condition in conditions),
        "new": all(condition == {"new"} for condition in conditions),
        "multi-cone": all(cones > 1 for cones in cases.values("cones")),
    }
    return (value for value, holds in holding.items() if holds)


def _agreed(judgement: Judgement) -> Iterator[Finding]:
    """What each concerned rule comes to for all these lubricants alike in every open case."""
    every = (judgement.every_finding(index) for index in range(len(judgement.lubricants)))
    for findings in zip(*every, strict=True):
        effects = {(finding.effect, finding.share_of_worlds, bool(finding.sources)) for finding in findings}
        if effects == {(findings[0].effect, 1.0, True)}:
            yield _joined(findings)


def _joined(findings: Sequence[Finding]) -> Finding:
    """One finding for several lubricants: the text of the one nearest to its limit, the figures over all of them."""
    nearest = min(findings, key=lambda finding: abs((finding.margin or 1.0) - 1.0))
    about = tuple(f"/question{pointer}" for pointer in nearest.about)
    return replace(nearest, about=about, figures=tuple(spanned_figures(findings)))
