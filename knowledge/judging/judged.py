"""One oil with all that was said of it, and how figures of several worlds become one."""

from collections.abc import Sequence
from dataclasses import dataclass

from knowledge.lubricant import Lubricant
from knowledge.parts.lubricant_name import Verdict
from knowledge.parts.provenance import Figure, Finding, weakest
from knowledge.rule import Measured
from knowledge.text import significant


@dataclass(frozen=True, slots=True)
class Judged:
    """One oil with all that the rules said of it.

    `fits` and `serves` are the worlds in which it does so, `warned` those in which it is more than a nuisance;
    `is_asked_for` when the service data gives its grade, its family or both, or its family at a grade that no class
    has; `is_as_thick_as_asked_for` when it has the KV100 of the grade that is given, whatever its family.
    """

    oil: Lubricant
    findings: tuple[Finding, ...]
    fits: int
    serves: int
    warned: int
    margins: tuple[tuple[float, int], ...]
    eases: tuple[tuple[float, int], ...]
    is_asked_for: bool
    is_as_thick_as_asked_for: bool
    overruled: tuple[Finding, ...]

    def depends(self, worlds: int) -> bool:
        """Whether it is refused in some of these worlds and not in others."""
        return (self.serves & worlds) not in (0, worlds)

    def verdict(self, worlds: int) -> Verdict:
        """The verdict over a set of worlds; `depends` when it is refused in some of them and not in others."""
        serves = self.serves & worlds
        if not serves:
            return "does-not-fit"
        if serves != worlds:
            return "depends"
        return "fits" if self.fits & worlds == worlds else "fits-with-care"

    def margin(self, worlds: int) -> float:
        """The least margin to a limit that refuses, over a set of worlds."""
        return _least(self.margins, worlds)

    def ease(self, worlds: int) -> float:
        """The least margin to a limit that only bothers, over a set of worlds."""
        return _least(self.eases, worlds)


def _least(margins: tuple[tuple[float, int], ...], worlds: int) -> float:
    """Margins stand in rising order, so that the first that holds is the least."""
    return next((margin for margin, held in margins if held & worlds), float("inf"))


def figure_of(same: Sequence[Measured]) -> Figure:
    """One figure over all that a rule measured of it; a rule measures its figures always in the same order."""
    name, low, high, unit, rests_on, screening = same[0]
    if len(same) > 1:
        low, high = min([figure.low for figure in same]), max([figure.high for figure in same])
        rests_on = weakest(*{figure.rests_on for figure in same})
        screening = any([figure.screening for figure in same])
    return Figure(
        name=name,
        unit=unit,
        min=significant(low),
        max=significant(high),
        standing="computed",
        rests_on=rests_on,
        screening=screening,
    )
