"""One oil that a jug may hold, under every rule for a box; what a rule finds of it is made when it is asked for."""

from dataclasses import dataclass

from knowledge.judging.explain import explain, share_of
from knowledge.judging.judgement import Judgement
from knowledge.lubricant import Lubricant
from knowledge.parts.lubricant_name import Verdict
from knowledge.parts.provenance import EFFECTS_FROM_WORST, Effect, Finding


@dataclass(frozen=True, slots=True, eq=False)
class PossibleOil:
    """An oil by its place among the lubricants of a judgement."""

    judgement: Judgement
    index: int
    explained: dict[int, Finding]

    @property
    def oil(self) -> Lubricant:
        """The oil itself."""
        return self.judgement.lubricants[self.index]

    @property
    def verdict(self) -> Verdict:
        """Its verdict over all cases."""
        return self.judgement.verdict(self.index)

    @property
    def is_asked_for(self) -> bool:
        """Whether the service data names it."""
        return self.judgement.is_asked_for(self.index)

    def effect(self, rule: int) -> Effect:
        """The worst effect of a rule on it."""
        return EFFECTS_FROM_WORST[self.judgement.judged.worst[rule, self.index]]

    def margin(self, rule: int) -> float | None:
        """How far inside the limit of a rule it is."""
        return self.judgement.judged.margin(rule, self.index)

    def share(self, rule: int) -> float:
        """The share of the cases in which a rule has its worst effect."""
        return share_of(self.judgement.judged, rule, self.index)

    def finding(self, rule: int) -> Finding:
        """What a rule finds of it."""
        if rule not in self.explained:
            self.explained[rule] = explain(self.judgement.judged, rule, self.index)
        return self.explained[rule]
