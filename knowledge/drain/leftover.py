"""What stays of an old fluid in the box, round by round, and what the rules say of it."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import reduce
from math import sqrt
from operator import or_
from typing import Any, NamedTuple

from knowledge.base import DEFAULT_J306_EDITION, KnowledgeBase
from knowledge.box.facts import FACTS, pointers
from knowledge.box.worlds import Worlds
from knowledge.drain.leftover_answer import DrainRound, Leftover
from knowledge.drain.rules import LEFTOVER_RULES
from knowledge.fluids.data_sheet import Sheet
from knowledge.fluids.possible_lubricants import possible_oils
from knowledge.judging.wording import only_if
from knowledge.loading.schema import FamilyRow
from knowledge.lubricant import Lubricant
from knowledge.parts.jug import Jug
from knowledge.parts.provenance import EFFECTS_FROM_WORST, SEVERITIES_FROM_WORST, Assumption, Finding, Standing, weakest
from knowledge.physics.blending import blended_viscosity_mm2_s, rounds_to_share, share_left
from knowledge.physics.grades import j306_grade
from knowledge.physics.limits import OutOfRange
from knowledge.physics.viscosity_index import viscosity_index
from knowledge.rule import Rule, RuleOutcome
from knowledge.text import digits, limit_percent, plain, significant

SHARE_DIGITS = 9


class Fluid(NamedTuple):
    """A fluid that goes out or in: its kind, and its viscosities where they are given or follow from its class."""

    family: FamilyRow | None
    is_limited_slip: bool | None
    kv40_mm2_s: float | None
    kv100_mm2_s: float | None
    taken_from: str | None = None

    @classmethod
    def of_jug(cls, jug: Jug | None, base: KnowledgeBase) -> "Fluid":
        """A fluid as its label and data sheet give it; a class named by the label lends the middle of its band."""
        if jug is None:
            return cls(None, None, None, None)
        sheet = Sheet.of(jug, base)
        family = sheet.label_family
        limited_slip = jug.limited_slip if jug.limited_slip is not None else family.limited_slip if family else None
        if jug.kv40_mm2_s is None and jug.kv100_mm2_s is None and sheet.grade_text is not None:
            oils = possible_oils(sheet, base)
            if len({oil.id for oil in oils}) == 1:
                return cls.of_oil(oils[0])._replace(is_limited_slip=limited_slip)
        return cls(family, limited_slip, jug.kv40_mm2_s, jug.kv100_mm2_s)

    @classmethod
    def of_oil(cls, oil: Lubricant) -> "Fluid":
        """The middle of a class."""
        kv40s = [corner.kv40_mm2_s for corner in oil.corners]
        kv40 = sqrt(min(kv40s) * max(kv40s))
        kv100 = sqrt(oil.kv100_min_mm2_s * oil.kv100_max_mm2_s)
        return cls(oil.family, oil.limited_slip, kv40, kv100, oil.name)


@dataclass(frozen=True, slots=True)
class Change:
    """A change of fluid by draining and refilling; the rules about leftovers read it by these names."""

    old: Fluid
    new: Fluid
    drained_share: float
    target_old_share: float
    rounds_to_target: int | None
    rounds_shown: int

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
        share = base.limit("drained-share-usual") if drained_share is None else drained_share
        target = base.limit(target_id(old, new)) if target_old_share is None else target_old_share
        most = int(base.limit("drain-rounds-most"))
        needed = rounds_to_share(drained_share=share, wanted_share=target)
        reached = needed if needed <= most else None
        return cls(old, new, share, target, reached, rounds or reached or most)

    @property
    def old_family(self) -> FamilyRow | None:
        """The kind of the old fluid."""
        return self.old.family

    @property
    def new_family(self) -> FamilyRow | None:
        """The kind of the new fluid."""
        return self.new.family

    @property
    def old_is_limited_slip(self) -> bool | None:
        """Whether the old fluid holds a limited-slip modifier that the new one does not hold."""
        return False if self.new.is_limited_slip else self.old.is_limited_slip

    @property
    def target_id(self) -> str:
        """The threshold that its kind of old fluid is held to, unless the caller sets another."""
        return target_id(self.old, self.new)

    @property
    def left_share(self) -> float:
        """What is left after the last round shown, without the digits in which a limit just met looks missed."""
        return round(share_left(drained_share=self.drained_share, rounds=self.rounds_shown), SHARE_DIGITS)

    @property
    def has_blend(self) -> bool:
        """Whether any viscosity of the mixture can be computed."""
        return any(
            getattr(self.old, name) is not None and getattr(self.new, name) is not None
            for name in ("kv40_mm2_s", "kv100_mm2_s")
        )


POINTERS: Mapping[str, tuple[str, ...]] = {
    "old_family": ("/old",),
    "old_is_limited_slip": ("/old",),
    "new_family": ("/new",),
    "target_id": ("/old", "/new"),
    "left_share": ("/drained_l", "/rounds"),
    "rounds_shown": ("/rounds",),
    "has_blend": ("/old", "/new"),
    "rounds_to_target": ("/drained_l", "/target_old_share"),
    "target_old_share": ("/target_old_share",),
    "drained_share": ("/capacity_l", "/drained_l"),
}


def target_id(old: Fluid, new: Fluid) -> str:
    """The threshold for how much of an old fluid may stay: an unknown one counts as the worst it can be."""
    if not new.is_limited_slip and (old.is_limited_slip or (old.family is None and old.is_limited_slip is None)):
        return "leftover-share-limited-slip"
    is_milder = new.family is None or new.family.protection != "full"
    if is_milder and (old.family is None or old.family.protection == "full"):
        return "leftover-share-full-ep"
    return "leftover-share-ordinary"


def drain_rounds(
    change: Change, assumed: Iterable[Assumption], base: KnowledgeBase, drained_l: float | None
) -> tuple[DrainRound, ...]:
    """What is in the box after each round."""
    # How much may stay changes nothing of what does.
    rests_on = weakest("computed", *(item.standing for item in assumed if item.pointer != "/target_old_share"))
    return tuple(_round(change, number, rests_on, base, drained_l) for number in range(1, change.rounds_shown + 1))


def _round(change: Change, number: int, rests_on: Standing, base: KnowledgeBase, drained_l: float | None) -> DrainRound:
    share = share_left(drained_share=change.drained_share, rounds=number)
    kv40, kv100 = (
        _blend(share, getattr(change.old, name), getattr(change.new, name)) for name in ("kv40_mm2_s", "kv100_mm2_s")
    )
    return DrainRound(
        old_share=significant(share),
        kv40_mm2_s=None if kv40 is None else significant(kv40),
        kv100_mm2_s=None if kv100 is None else significant(kv100),
        viscosity_index=_viscosity_index(kv40, kv100, base),
        hot_grade_estimate=None if kv100 is None else _hot_grade(kv100, base),
        litres_used=None if drained_l is None else significant(number * drained_l),
        rests_on=rests_on,
    )


def _blend(share: float, old_mm2_s: float | None, new_mm2_s: float | None) -> float | None:
    if old_mm2_s is None or new_mm2_s is None:
        return None
    return blended_viscosity_mm2_s(first_share=share, first_kv_mm2_s=old_mm2_s, second_kv_mm2_s=new_mm2_s)


def _viscosity_index(kv40: float | None, kv100: float | None, base: KnowledgeBase) -> int | None:
    if kv40 is None or kv100 is None:
        return None
    try:
        return round(viscosity_index(kv40_mm2_s=kv40, kv100_mm2_s=kv100, reference_oils=base.astm_d2270))
    except OutOfRange:
        return None


def _hot_grade(kv100_mm2_s: float, base: KnowledgeBase) -> str | None:
    rows = [row for row in base.sae_j306 if row.edition == DEFAULT_J306_EDITION]
    return j306_grade(kv100_mm2_s=kv100_mm2_s, rows=rows).summer


def change_findings(
    change: Change, worlds: Worlds, own: Mapping[str, tuple[str, ...]], box: str
) -> tuple[Finding, ...]:
    """What the rules say of a change in every world of a box; one that is not concerned anywhere says nothing.

    `own` places what a rule reads of the change, `box` stands before the pointers into the box.
    """
    return tuple(_findings(change, worlds, own, box))


def _findings(change: Change, worlds: Worlds, own: Mapping[str, tuple[str, ...]], box: str) -> Iterator[Finding]:
    for rule in LEFTOVER_RULES:
        of_box = tuple(name for name in rule.reads if name in FACTS)
        given: dict[str, Any] = {name: getattr(change, name) for name in rule.reads if name not in FACTS}
        if "base" in rule.parameters:
            given["base"] = worlds.base
        heard = [(rule.judge(**given, **facts), held) for facts, held in worlds.cells(of_box)]
        if any(said.is_concerned for said, _ in heard):
            ring_sets = len(worlds.question.rings or ())
            about = [pointer for name in rule.reads if name not in FACTS for pointer in own[name]]
            about += [f"{box}{pointer}" for name in of_box for pointer in pointers(name, ring_sets)]
            yield _finding(rule, heard, tuple(dict.fromkeys(about)), of_box, worlds)


def _finding(
    rule: Rule, heard: Sequence[tuple[RuleOutcome, int]], about: tuple[str, ...], of_box: Sequence[str], worlds: Worlds
) -> Finding:
    effect = min((said.effect for said, _ in heard), key=EFFECTS_FROM_WORST.index)
    told = [(said, held) for said, held in heard if said.effect == effect and said.is_concerned] or list(heard)
    worst = min((said for said, _ in told), key=lambda said: SEVERITIES_FROM_WORST.index(said.severity))
    bites = reduce(or_, (held for _, held in told))
    axes = frozenset(axis for name in of_box for axis in FACTS[name].reads)
    return replace(
        rule.finding(worst, about),
        only_if=only_if(bites, axes, worlds),
        share_of_worlds=bites.bit_count() / worlds.count,
    )


def change_assumptions(
    change: Change, is_drained_given: bool, is_target_given: bool, base: KnowledgeBase
) -> Iterator[Assumption]:
    """What a change takes as given."""
    if not is_drained_given:
        row = base.thresholds["drained-share-usual"]
        yield Assumption(
            pointer="/drained_l",
            value=f"{plain(change.drained_share)} of the whole fill",
            standing=row.standing,
            reason="Not both known; what one drain usually brings out.",
        )
    if not is_target_given:
        row = base.thresholds[change.target_id]
        yield Assumption(
            pointer="/target_old_share",
            value=plain(row.value),
            standing=row.standing,
            reason="Not given; by the kind of the old fluid.",
        )
    for name, fluid in (("old", change.old), ("new", change.new)):
        if fluid.taken_from is not None:
            yield Assumption(
                pointer=f"/{name}",
                value=f"KV40 {digits(fluid.kv40_mm2_s)}, KV100 {digits(fluid.kv100_mm2_s)} mm²/s",
                standing="judgement",
                reason=f"Not given; the middle of the band of {fluid.taken_from}.",
            )


def leftover(jug: Jug, leading: Lubricant | None, capacity_l: float | None, worlds: Worlds) -> Leftover:
    """What stays of the fluid that is in the box, when it is changed to the class that leads."""
    base = worlds.base
    new = Fluid.of_oil(leading) if leading else Fluid(None, None, None, None)
    change = Change.of(Fluid.of_jug(jug, base), new, base)
    own = {name: ("/in_it_now",) for name in POINTERS}
    assumed = tuple(change_assumptions(change, False, False, base))
    return Leftover(
        text=f"{target_text(change)}.",
        new=leading.id if leading else None,
        target_old_share=change.target_old_share,
        rounds_to_target=change.rounds_to_target,
        rounds=drain_rounds(change, assumed, base, None if capacity_l is None else capacity_l * change.drained_share),
        findings=change_findings(change, worlds, own, ""),
        assumed=assumed,
    )


def target_text(change: Change) -> str:
    """How many rounds of draining it takes."""
    wanted = limit_percent(change.target_old_share)
    if change.rounds_to_target is None:
        return f"Draining alone does not bring the old fluid to {wanted}"
    rounds = "One round" if change.rounds_to_target == 1 else f"{change.rounds_to_target} rounds"
    bring = "brings" if change.rounds_to_target == 1 else "bring"
    return f"{rounds} of draining and refilling {bring} the old fluid to {wanted} or less"
