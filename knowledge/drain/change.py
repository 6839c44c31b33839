"""A change of fluid by draining and refilling, or a top-up: what is in the box now and on the way out."""

from collections.abc import Iterator, Mapping
from contextlib import suppress
from dataclasses import dataclass
from typing import Any

from knowledge.base import DEFAULT_J306_EDITION, KnowledgeBase
from knowledge.box.question import FillQuestion
from knowledge.drain.answer import DrainRound
from knowledge.drain.mixing import Fluid, Mixing
from knowledge.parts.digits import rounded
from knowledge.parts.provenance import Assumption, LimitUsed, Standing, weakest
from knowledge.parts.request_model import Detail
from knowledge.physics.blending import blended_viscosity_mm2_s, rounds_to_share, share_left
from knowledge.physics.grades import j306_grade
from knowledge.physics.limits import OutOfRange
from knowledge.physics.viscosity_index import viscosity_index
from knowledge.text import Said, capitalized, digits, limit_percent, plain

# Without the last digits of a float, in which a limit just met looks missed.
SHARE_DIGITS = 9
OUR_CHOICES = "fillwright-judgement"

BY_KIND = Said("Not given; by the kinds of the two fluids.", "assumed-by-kinds-of-fluid")
USUAL_DRAIN = Said("Not both known; what one drain usually brings out.", "assumed-usual-drain")


@dataclass(frozen=True, slots=True)
class Change:
    """How a fluid that does not belong goes out of a box round by round; at first `start_share` of the sump is of it.

    `old` is what goes out: the old fluid of a change, or what a top-up added.
    """

    old: Fluid
    new: Fluid
    mixing: Mixing
    start_share: float
    drained_share: float
    may_stay: LimitUsed
    target_old_share: float
    is_target_given: bool
    rounds_to_target: int | None
    rounds_shown: int
    assumed: tuple[Assumption, ...]

    @classmethod
    def of(
        cls,
        old: Fluid,
        new: Fluid,
        box: FillQuestion,
        base: KnowledgeBase,
        *,
        added_share: float | None = None,
        drained_share: float | None = None,
        is_share_given: bool = False,
        target_old_share: float | None = None,
        rounds: int | None = None,
    ) -> "Change":
        """A change, or with `added_share` a top-up; what is not given is taken from the tables."""
        usual, most = base.quantity("drained-share-usual"), int(base.limit("drain-rounds-most"))
        mixing = Mixing.of(old, new, box, base)
        least = mixing.may_stay if added_share is None else mixing.harmless
        places = {"/old": old, "/new": new} if added_share is None else {"/old": new, "/new": old}
        assumed = [*_middles(places, base)]
        if target_old_share is None:
            assumed.insert(0, _assumed("/target_old_share", plain(least.value), least.standing, BY_KIND))
        if not is_share_given:
            share_text = f"{plain(usual.value)} of the whole fill"
            assumed.insert(0, _assumed("/drained_l", share_text, usual.standing, USUAL_DRAIN))
        start = 1.0 if added_share is None else added_share
        share = usual.value if drained_share is None else drained_share
        target = least.value if target_old_share is None else target_old_share
        if added_share is not None and start <= target:
            needed = 0
        else:
            needed = rounds_to_share(drained_share=share, wanted_share=min(target / start, 1.0))
        reached = needed if needed <= most else None
        shown = rounds or (most if reached is None else reached)
        is_given = target_old_share is not None
        return cls(old, new, mixing, start, share, least, target, is_given, reached, shown, tuple(assumed))

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

    def left(self, rounds: int) -> float:
        """Share of the old fluid after some rounds."""
        return self.start_share * share_left(drained_share=self.drained_share, rounds=rounds)

    @property
    def facts(self) -> Mapping[str, Any]:
        """What the rules about leftovers read of a change, by the names of their parameters."""
        return {
            "old_family": self.old.family,
            "new_family": self.new.family,
            "old_is_limited_slip": False if self.new.is_limited_slip else self.old.is_limited_slip,
            "left_share": round(self.left(self.rounds_shown), SHARE_DIGITS),
            "has_blend": self.has_blend,
            "may_stay": self.may_stay.value,
        }

    @property
    def headline(self) -> str:
        """How often it must be drained, as a sentence."""
        count, wanted, old = self.rounds_to_target, limit_percent(self.target_old_share), self.old.label
        of: dict[str, Any] = {"old": self.old.kind}
        wish = {"target_old_share": self.target_old_share}
        if count is None:
            text = f"Draining alone does not bring the {old} to {wanted}: empty the box in another way."
            return Said(text, "draining-is-not-the-way", **of, **wish)
        if self.mixing.is_same_kind and not self.is_target_given:
            return Said("One drain and refill is enough: it is the same kind.", "one-drain-same-kind")
        if count == 1 and self.is_target_given:
            text = f"One drain and refill is enough: {wanted} of the {old} or less stays."
            return Said(text, "one-drain-reaches-the-target", **of, **wish)
        if count == 1:
            return Said(f"One drain and refill is enough: the {old} that stays does no harm.", "one-drain", **of)
        between = self.mixing.between
        how = f"{between} driven warm through all gears" if between else "a warm run"
        often = "twice" if count == 2 else f"{count} times"
        times = f"drain and refill {often}, with {how} between."
        text = f"Nobody knows what is in it: {times}" if self.old.is_unknown else capitalized(times)
        row, is_unknown = self.mixing.strictest, self.old.is_unknown
        km = {"km_min": row.km_min, "km_max": row.km_max} if between else {}
        return Said(text, "several-drains", times=count, is_old_unknown=is_unknown, **km)

    @property
    def after(self) -> str | None:
        """What follows for lined rings; None where there are none, or where nobody knows what they ran in."""
        row = self.mixing.strictest
        is_idle = row.after_drain is None or self.mixing.is_lined is False or self.old.is_unknown
        return None if is_idle else Said(f"Lined rings: {row.after_drain}", f"{row.id}/after-drain")

    def rounds(self, drained_l: float | None, base: KnowledgeBase, detail: Detail) -> tuple[DrainRound, ...]:
        """What is in the box after each round shown."""
        # How much may stay changes nothing of what does.
        standings = {pointer: it for pointer, it in self.standings.items() if pointer != "/target_old_share"}
        rests_on = weakest("computed", *standings.values())
        of_share, of_mixture = standings.get("/drained_l", "computed"), rests_on
        most = 3
        if detail == "full":
            of_share, of_mixture, most = "computed", "computed", 4
        rows = [row for row in base.sae_j306 if row.edition == DEFAULT_J306_EDITION]
        found = []
        for number in range(1, self.rounds_shown + 1):
            share = self.left(number)
            kv40, kv100 = (_blend(share, *pair) for pair in self.pairs)
            index = None
            if kv40 is not None and kv100 is not None:
                with suppress(OutOfRange):
                    index = round(viscosity_index(kv40_mm2_s=kv40, kv100_mm2_s=kv100, reference_oils=base.astm_d2270))
            found.append(
                DrainRound(
                    old_share=rounded(share, of_share, most=most),
                    kv40_mm2_s=rounded(kv40, of_mixture, most=most),
                    kv100_mm2_s=rounded(kv100, of_mixture, most=most),
                    viscosity_index=None if index is None else int(rounded(index, of_mixture)),
                    hot_grade_estimate=None if kv100 is None else j306_grade(kv100_mm2_s=kv100, rows=rows).summer,
                    litres_used=None if drained_l is None else rounded(number * drained_l, of_share),
                    rests_on=rests_on,
                )
            )
        return tuple(found)


def _assumed(pointer: str, value: str, standing: Standing, reason: str) -> Assumption:
    return Assumption(pointer=pointer, value=value, standing=standing, reason=reason)


def _middles(fluids: Mapping[str, Fluid], base: KnowledgeBase) -> Iterator[Assumption]:
    """The viscosities that the classes of fluids lend them."""
    for pointer, fluid in fluids.items():
        if fluid.taken_from is not None and fluid.kv40_mm2_s is not None and fluid.kv100_mm2_s is not None:
            figures = f"KV40 {digits(fluid.kv40_mm2_s, 2)}, KV100 {digits(fluid.kv100_mm2_s, 2)} mm²/s"
            standing = weakest(fluid.taken_from.standing, base.sources[OUR_CHOICES].standing)
            text = f"Not given; the middle of the band of {fluid.taken_from.name}."
            reason = Said(
                text, "assumed-middle-of-a-class", lubricant=fluid.taken_from.id, grade=fluid.taken_from.grade
            )
            yield _assumed(pointer, figures, standing, reason)


def _blend(share: float, old_mm2_s: float | None, new_mm2_s: float | None) -> float | None:
    if old_mm2_s is None or new_mm2_s is None:
        return None
    return blended_viscosity_mm2_s(first_share=share, first_kv_mm2_s=old_mm2_s, second_kv_mm2_s=new_mm2_s)
