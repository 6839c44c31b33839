"""What the rules come to for one box, as the answers read it."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property, reduce
from operator import or_
from typing import Any, NamedTuple

from knowledge.base import KnowledgeBase
from knowledge.box.facts import FACTS
from knowledge.box.named import Named
from knowledge.box.question import FillQuestion
from knowledge.box.worlds import Field, Worlds
from knowledge.judging.cautions import cautions_of
from knowledge.judging.judge import judge, provable
from knowledge.judging.judged import Judged
from knowledge.judging.rank import Ranking, has_one_leader, leader, ranked
from knowledge.judging.rules import RULES
from knowledge.lubricant import Lubricant
from knowledge.parts.lubricant_name import Verdict
from knowledge.parts.provenance import EFFECTS_FROM_WORST, SEVERITIES_FROM_WORST, Caution, Figure, Finding
from knowledge.physics.bearing import reference_viscosity_mm2_s

AXES_READ = frozenset(axis for rule in RULES for fact in rule.reads for axis in FACTS[fact].reads)


class OpenReply(NamedTuple):
    """A possible reply, the class that leads after it, and the share of the cases then left in which any serves."""

    value: Any
    leader: int | None
    served: float


class OpenQuestion(NamedTuple):
    """A field that is not known: its row of the unknowns, its place, and what its replies come to."""

    name: str
    pointer: str
    settles: float
    replies: tuple[OpenReply, ...]


class WorstCase(NamedTuple):
    """The worst of everything that is still unknown, taken together."""

    sump_hot_c: float
    coldest_start_c: float
    bearing_reference_mm2_s: float
    wiping_s_per_mpa_s: float | None
    has_lining: bool
    has_rings: bool
    copper_parts: tuple[str, ...]
    limited_slip: frozenset[bool]
    surely_wet_clutch: bool


@dataclass(frozen=True, eq=False)
class Judgement:
    """Every rule on every lubricant in every case; a lubricant is named by its index."""

    worlds: Worlds
    lubricants: Sequence[Lubricant]

    @classmethod
    def of(
        cls, question: FillQuestion, base: KnowledgeBase, lubricants: Sequence[Lubricant] | None = None
    ) -> "Judgement":
        """The judgement of a box; without lubricants on all classes."""
        return cls(Worlds.of(question, base), base.lubricants if lubricants is None else lubricants)

    @property
    def question(self) -> FillQuestion:
        """The question as understood: the service data is read."""
        return self.worlds.question

    @property
    def base(self) -> KnowledgeBase:
        """The knowledge that it rests on."""
        return self.worlds.base

    @property
    def named(self) -> Named:
        """What the service data names."""
        return self.worlds.named

    @property
    def count(self) -> int:
        """How many cases were tried."""
        return self.worlds.count

    @cached_property
    def order(self) -> tuple[int, ...]:
        """The lubricants that serve in some case, best first."""
        return self._indices(self._ranking.order)

    @cached_property
    def leading(self) -> tuple[int, ...]:
        """The first, and what differs from it only in what is usual or is named by its family alone."""
        return self._indices(self._ranking.leading)

    @cached_property
    def is_settled(self) -> bool:
        """Whether the same lubricant leads in every case."""
        return has_one_leader(self._judged, self.worlds)

    @property
    def tried(self) -> tuple[tuple[str, tuple[Any, ...]], ...]:
        """The place of each unknown field, and the values that were tried for it."""
        return tuple((field.pointer, tuple(part.value for part in field.parts)) for field in self.worlds.unknown)

    def verdict(self, index: int) -> Verdict:
        """The verdict on one lubricant over all cases."""
        return self._judged[index].verdict(self.worlds.every)

    def share_of_cases(self, index: int) -> float:
        """The share of the cases in which it fits or fits with care."""
        return self._judged[index].serves.bit_count() / self.worlds.count

    def main_refusal(self, index: int) -> Finding:
        """What refuses it, the weightiest: what holds in most cases, then what is gravest."""
        refusals = [finding for finding in self._judged[index].findings if finding.effect == "excludes"]
        return min(refusals, key=lambda item: (-item.share_of_worlds, SEVERITIES_FROM_WORST.index(item.severity)))

    def care(self, index: int) -> tuple[Finding, ...]:
        """What cautions or excludes it in some case, worst first."""
        found = [item for item in self._judged[index].findings if item.effect in ("cautions", "excludes")]
        return tuple(
            sorted(
                found,
                key=lambda item: (
                    EFFECTS_FROM_WORST.index(item.effect),
                    SEVERITIES_FROM_WORST.index(item.severity),
                    -item.share_of_worlds,
                ),
            )
        )

    def findings(self, index: int) -> tuple[Finding, ...]:
        """What the rules find that are concerned, in the order of the rules."""
        return tuple(finding for finding in self._judged[index].findings if finding.sources)

    def figures(self, index: int) -> tuple[Figure, ...]:
        """What the rules computed of it, in the order of the rules."""
        return tuple(figure for finding in self._judged[index].findings for figure in finding.figures)

    def is_asked_for(self, index: int) -> bool:
        """Whether the service data names it."""
        return self._judged[index].is_asked_for

    def overruled(self, index: int) -> tuple[Finding, ...]:
        """The refusals that only warn, since the service data names it."""
        return self._judged[index].overruled

    def questions(self) -> tuple[OpenQuestion, ...]:
        """A question for each unknown field that any rule reads, the one that settles most first.

        What a ring is like is asked once it is known that there are rings. A class is undecided while it is refused in
        some cases and not in others. Ties go to the question whose replies lead to the most different classes, then to
        the one that is easiest to answer.
        """
        worlds = self.worlds
        undecided = [item for item in self._judged if item.verdict(worlds.every) == "depends"]
        served = reduce(or_, (item.serves for item in self._judged))
        asked = []
        for field in worlds.unknown:
            if field.axis in AXES_READ and not (worlds.question.rings is None and field.pointer.startswith("/rings/")):
                question = self._question(field, undecided, served)
                leaders = len({reply.leader for reply in question.replies})
                asked.append(((-question.settles, -leaders, worlds.base.unknowns[field.name].effort), question))
        return tuple(question for _, question in sorted(asked, key=lambda pair: pair[0]))

    def cautions(self) -> tuple[Caution, ...]:
        """The cautions that go with the box, worst first."""
        return cautions_of(self.worlds, self.base)

    def worst_case(self) -> WorstCase:
        """The worst of everything that is still unknown, taken together."""
        parts = self.worlds.parts
        bearing = parts("bearing")[0].value
        lands = [part.value.wiping_s_per_mpa_s for part in parts("wiping_land") if part.value]
        return WorstCase(
            sump_hot_c=max(part.value for part in parts("sump_hot_c")),
            coldest_start_c=min(part.value for part in parts("coldest_start_c")),
            bearing_reference_mm2_s=reference_viscosity_mm2_s(
                speed_rpm=bearing.speed_rpm, pitch_diameter_mm=bearing.pitch_diameter_mm
            ),
            wiping_s_per_mpa_s=max(lands, default=None),
            has_lining=any("lined" in part.value for part in parts("facing_kinds")),
            has_rings=any(part.value for part in parts("has_rings")),
            copper_parts=tuple(sorted({text for part in parts("copper_parts") for text in part.value})),
            limited_slip=frozenset(part.value for part in parts("limited_slip")),
            surely_wet_clutch=all(part.value for part in parts("wet_clutch")),
        )

    def provable(self) -> tuple[int, ...]:
        """The lubricants that only a measured copper strip still keeps out."""
        return self._indices(provable(self._judged))

    @cached_property
    def _judged(self) -> tuple[Judged, ...]:
        return judge(self.worlds, self.lubricants)

    @cached_property
    def _ranking(self) -> Ranking:
        return ranked(self._judged, self.worlds)

    def _indices(self, items: Sequence[Judged]) -> tuple[int, ...]:
        places = {id(item): index for index, item in enumerate(self._judged)}
        return tuple(places[id(item)] for item in items)

    def _question(self, field: Field, undecided: Sequence[Judged], served: int) -> OpenQuestion:
        decided = sum(
            part.worlds.bit_count() * sum(not item.depends(part.worlds) for item in undecided) for part in field.parts
        )
        replies = []
        for part in field.parts:
            first = leader(self._judged, part.worlds, self.worlds)
            share = (served & part.worlds).bit_count() / part.worlds.bit_count()
            replies.append(OpenReply(part.value, self._indices([first])[0] if first else None, share))
        settles = decided / (self.worlds.count * len(undecided)) if undecided else 0.0
        return OpenQuestion(field.name, field.pointer, settles, tuple(replies))
