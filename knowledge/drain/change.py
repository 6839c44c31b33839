"""A change of fluid by draining and refilling: what goes out, what goes in, and how many rounds it takes."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from math import sqrt
from typing import Any, NamedTuple

from knowledge.base import KnowledgeBase
from knowledge.fluids.data_sheet import Sheet
from knowledge.fluids.possible_lubricants import possible_lubricants
from knowledge.loading.schema import FamilyRow
from knowledge.lubricant import Lubricant
from knowledge.parts.jug import Jug
from knowledge.parts.provenance import Assumption, LimitUsed, weakest
from knowledge.physics.blending import rounds_to_share, share_left
from knowledge.text import digits, limit_percent, plain

# Without the last digits of a float, in which a limit just met looks missed.
SHARE_DIGITS = 9

OUR_CHOICES = "fillwright-judgement"


class Fluid(NamedTuple):
    """A fluid that goes out or in: its kind, and its viscosities where they are given or follow from its class."""

    family: FamilyRow | None = None
    is_limited_slip: bool | None = None
    kv40_mm2_s: float | None = None
    kv100_mm2_s: float | None = None
    taken_from: Lubricant | None = None

    @classmethod
    def of_jug(cls, jug: Jug | None, base: KnowledgeBase) -> "Fluid":
        """A fluid as its label and data sheet give it; a class named by the label lends the middle of its band."""
        if jug is None:
            return cls()
        sheet = Sheet(jug, base)
        family = sheet.label_family
        limited_slip = jug.limited_slip if jug.limited_slip is not None else family.limited_slip if family else None
        if jug.kv40_mm2_s is None and jug.kv100_mm2_s is None and sheet.grade_text is not None:
            lubricants = possible_lubricants(sheet)
            if len({lubricant.id for lubricant in lubricants}) == 1:
                return cls.of_class(lubricants[0])._replace(is_limited_slip=limited_slip)
        return cls(family, limited_slip, jug.kv40_mm2_s, jug.kv100_mm2_s)

    @classmethod
    def of_class(cls, lubricant: Lubricant) -> "Fluid":
        """The geometric middle of a class."""
        kv40s = [corner.kv40_mm2_s for corner in lubricant.corners]
        kv40 = sqrt(min(kv40s) * max(kv40s))
        kv100 = sqrt(lubricant.kv100_min_mm2_s * lubricant.kv100_max_mm2_s)
        return cls(lubricant.family, lubricant.limited_slip, kv40, kv100, lubricant)


@dataclass(frozen=True, slots=True)
class Change:
    """A change of fluid by draining and refilling; `limits` has those that rules read, by the names they use."""

    old: Fluid
    new: Fluid
    drained_share: float
    target_old_share: float
    rounds_to_target: int | None
    rounds_shown: int
    limits: Mapping[str, LimitUsed]

    @classmethod
    def of(
        cls,
        old: Fluid,
        new: Fluid,
        base: KnowledgeBase,
        *,
        drained_share: float | None = None,
        target_old_share: float | None = None,
        rounds: int | None = None,
    ) -> "Change":
        """A change; what is not given is taken from the thresholds."""
        limits = {
            "most_full_ep_left": _limit("leftover-share-full-ep", base),
            "most_limited_slip_left": _limit("leftover-share-limited-slip", base),
            "most_left_of_its_kind": _limit(_target_id(old, new), base),
            "most_rounds": _limit("drain-rounds-most", base),
        }
        if target_old_share is None:
            limits["target_old_share"] = limits["most_left_of_its_kind"]
        share = base.limit("drained-share-usual") if drained_share is None else drained_share
        target = limits["most_left_of_its_kind"].value if target_old_share is None else target_old_share
        most = int(limits["most_rounds"].value)
        needed = rounds_to_share(drained_share=share, wanted_share=target)
        reached = needed if needed <= most else None
        return cls(old, new, share, target, reached, rounds or reached or most, limits)

    @property
    def has_blend(self) -> bool:
        """Whether any viscosity of the mixture can be computed."""
        return None not in (self.old.kv40_mm2_s, self.new.kv40_mm2_s) or None not in (
            self.old.kv100_mm2_s,
            self.new.kv100_mm2_s,
        )

    @property
    def facts(self) -> Mapping[str, Any]:
        """What the rules about leftovers read of a change, by the names of their parameters."""
        return {
            "old_family": self.old.family,
            "new_family": self.new.family,
            "old_is_limited_slip": False if self.new.is_limited_slip else self.old.is_limited_slip,
            "left_share": round(share_left(drained_share=self.drained_share, rounds=self.rounds_shown), SHARE_DIGITS),
            "rounds_shown": self.rounds_shown,
            "has_blend": self.has_blend,
            "rounds_to_target": self.rounds_to_target,
            "target_old_share": self.target_old_share,
            "drained_share": self.drained_share,
        } | {name: limit.value for name, limit in self.limits.items()}

    @property
    def target_text(self) -> str:
        """How many rounds of draining it takes, as a sentence."""
        wanted = limit_percent(self.target_old_share)
        if self.rounds_to_target is None:
            return f"Draining alone does not bring the old fluid to {wanted}."
        if self.rounds_to_target == 1:
            return f"One round of draining and refilling brings the old fluid to {wanted} or less."
        return f"{self.rounds_to_target} rounds of draining and refilling bring the old fluid to {wanted} or less."


def _limit(id: str, base: KnowledgeBase) -> LimitUsed:
    limit = base.quantity(id)
    return LimitUsed(id=limit.id, value=limit.value, unit=limit.unit, standing=limit.standing)


def _target_id(old: Fluid, new: Fluid) -> str:
    """The threshold for how much of an old fluid may stay: an unknown one counts as the worst it can be."""
    if not new.is_limited_slip and (old.is_limited_slip or (old.family is None and old.is_limited_slip is None)):
        return "leftover-share-limited-slip"
    is_milder = new.family is None or new.family.protection != "full"
    if is_milder and (old.family is None or old.family.protection == "full"):
        return "leftover-share-full-ep"
    return "leftover-share-ordinary"


def change_assumptions(change: Change, base: KnowledgeBase, *, is_drained_given: bool) -> Iterator[Assumption]:
    """What a change takes as given."""
    if not is_drained_given:
        yield Assumption(
            pointer="/drained_l",
            value=f"{plain(change.drained_share)} of the whole fill",
            standing=base.quantity("drained-share-usual").standing,
            reason="Not both known; what one drain usually brings out.",
        )
    if (limit := change.limits.get("target_old_share")) is not None:
        yield Assumption(
            pointer="/target_old_share",
            value=plain(limit.value),
            standing=limit.standing,
            reason="Not given; by the kind of the old fluid.",
        )
    for name, fluid in (("old", change.old), ("new", change.new)):
        if fluid.taken_from is not None and fluid.kv40_mm2_s is not None and fluid.kv100_mm2_s is not None:
            yield Assumption(
                pointer=f"/{name}",
                value=f"KV40 {digits(fluid.kv40_mm2_s, 2)}, KV100 {digits(fluid.kv100_mm2_s, 2)} mm²/s",
                standing=weakest(fluid.taken_from.standing, base.sources[OUR_CHOICES].standing),
                reason=f"Not given; the middle of the band of {fluid.taken_from.name}.",
            )
