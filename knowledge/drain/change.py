"""A change of fluid by draining and refilling: what goes out, what goes in, and what is in the box on the way."""

from collections.abc import Iterator, Mapping
from contextlib import suppress
from dataclasses import dataclass
from math import sqrt
from typing import Any, NamedTuple

from knowledge.base import DEFAULT_J306_EDITION, KnowledgeBase
from knowledge.drain.answer import DrainRound
from knowledge.fluids.data_sheet import Sheet
from knowledge.fluids.possible_lubricants import possible_lubricants
from knowledge.loading.schema import FamilyRow
from knowledge.lubricant import Lubricant
from knowledge.parts.digits import rounded
from knowledge.parts.jug import Jug
from knowledge.parts.provenance import Assumption, LimitUsed, Standing, weakest
from knowledge.parts.references import replaced
from knowledge.parts.request_model import Detail
from knowledge.physics.blending import blended_viscosity_mm2_s, rounds_to_share, share_left
from knowledge.physics.grades import j306_grade
from knowledge.physics.limits import OutOfRange
from knowledge.physics.viscosity_index import viscosity_index
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
        if jug.label and jug.label.also:
            jug = replaced(jug, {("label", "also"): ()})
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
    assumed: tuple[Assumption, ...]

    @classmethod
    def of(
        cls,
        old: Fluid,
        new: Fluid,
        base: KnowledgeBase,
        *,
        drained_share: float | None = None,
        is_share_given: bool = False,
        target_old_share: float | None = None,
        rounds: int | None = None,
    ) -> "Change":
        """A change; what is not given is taken from the thresholds."""
        usual, least = _limit("drained-share-usual", base), _limit(_target_id(old, new), base)
        limits = {
            "most_full_ep_left": _limit("leftover-share-full-ep", base),
            "most_limited_slip_left": _limit("leftover-share-limited-slip", base),
            "most_left_of_its_kind": least,
            "most_rounds": _limit("drain-rounds-most", base),
        }
        assumed = [*_middles({"/old": old, "/new": new}, base)]
        if target_old_share is None:
            limits["target_old_share"] = least
            reason = "Not given; by the kind of the old fluid."
            assumed.insert(0, _assumed("/target_old_share", plain(least.value), least.standing, reason))
        if not is_share_given:
            share_text = f"{plain(usual.value)} of the whole fill"
            reason = "Not both known; what one drain usually brings out."
            assumed.insert(0, _assumed("/drained_l", share_text, usual.standing, reason))
        share = usual.value if drained_share is None else drained_share
        target = least.value if target_old_share is None else target_old_share
        most = int(limits["most_rounds"].value)
        needed = rounds_to_share(drained_share=share, wanted_share=target)
        reached = needed if needed <= most else None
        return cls(old, new, share, target, reached, rounds or reached or most, limits, tuple(assumed))

    @property
    def standings(self) -> dict[str, Standing]:
        """The standing of each thing that was assumed, by its pointer."""
        return {item.pointer: item.standing for item in self.assumed}

    @property
    def pairs(self) -> tuple[tuple[float | None, float | None], ...]:
        """Old beside new: kinematic viscosity at 40 °C and at 100 °C [mm²/s]."""
        return (self.old.kv40_mm2_s, self.new.kv40_mm2_s), (self.old.kv100_mm2_s, self.new.kv100_mm2_s)

    @property
    def has_blend(self) -> bool:
        """Whether any viscosity of the mixture can be computed."""
        return any(None not in pair for pair in self.pairs)

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

    def rounds(self, drained_l: float | None, base: KnowledgeBase, detail: Detail) -> tuple[DrainRound, ...]:
        """What is in the box after each round shown."""
        # How much may stay changes nothing of what does.
        standings = {pointer: it for pointer, it in self.standings.items() if pointer != "/target_old_share"}
        rests_on = weakest("computed", *standings.values())
        of_share, of_mixture = standings.get("/drained_l", "computed"), rests_on
        if detail == "full":
            of_share = of_mixture = "computed"
        rows = [row for row in base.sae_j306 if row.edition == DEFAULT_J306_EDITION]
        found = []
        for number in range(1, self.rounds_shown + 1):
            share = share_left(drained_share=self.drained_share, rounds=number)
            kv40, kv100 = (_blend(share, *pair) for pair in self.pairs)
            index = None
            if kv40 is not None and kv100 is not None:
                with suppress(OutOfRange):
                    index = round(viscosity_index(kv40_mm2_s=kv40, kv100_mm2_s=kv100, reference_oils=base.astm_d2270))
            found.append(
                DrainRound(
                    old_share=rounded(share, of_share),
                    kv40_mm2_s=rounded(kv40, of_mixture),
                    kv100_mm2_s=rounded(kv100, of_mixture),
                    viscosity_index=None if index is None else int(rounded(index, of_mixture)),
                    hot_grade_estimate=None if kv100 is None else j306_grade(kv100_mm2_s=kv100, rows=rows).summer,
                    litres_used=None if drained_l is None else rounded(number * drained_l, of_share),
                    rests_on=rests_on,
                )
            )
        return tuple(found)


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


def _assumed(pointer: str, value: str, standing: Standing, reason: str) -> Assumption:
    return Assumption(pointer=pointer, value=value, standing=standing, reason=reason)


def _middles(fluids: Mapping[str, Fluid], base: KnowledgeBase) -> Iterator[Assumption]:
    """The viscosities that the classes of fluids lend them."""
    for pointer, fluid in fluids.items():
        if fluid.taken_from is not None and fluid.kv40_mm2_s is not None and fluid.kv100_mm2_s is not None:
            figures = f"KV40 {digits(fluid.kv40_mm2_s, 2)}, KV100 {digits(fluid.kv100_mm2_s, 2)} mm²/s"
            standing = weakest(fluid.taken_from.standing, base.sources[OUR_CHOICES].standing)
            reason = f"Not given; the middle of the band of {fluid.taken_from.name}."
            yield _assumed(pointer, figures, standing, reason)


def _blend(share: float, old_mm2_s: float | None, new_mm2_s: float | None) -> float | None:
    if old_mm2_s is None or new_mm2_s is None:
        return None
    return blended_viscosity_mm2_s(first_share=share, first_kv_mm2_s=old_mm2_s, second_kv_mm2_s=new_mm2_s)
