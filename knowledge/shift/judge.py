"""Each facing under every rule of the shift, and what that comes to."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property

from knowledge.base import KnowledgeBase
from knowledge.loading.facing_rows import FacingLimitRow, LimitName
from knowledge.parts.provenance import Citation, Finding
from knowledge.rings.figures import BothEnds, Figures, both_ends, limited, ratios
from knowledge.rings.ring_shift import RingShift, limits_of
from knowledge.rule import RuleOutcome
from knowledge.shift.answer import Margin, ShiftVerdict
from knowledge.shift.rules.limits import is_binding, rests_on
from knowledge.shift.rules.shift import SHIFT_RULES
from knowledge.text import significant

VERDICTS_FROM_BEST: tuple[ShiftVerdict, ...] = ("fits", "fits-with-care", "does-not-fit")

CONE = ("/mean_radius_mm", "/half_angle_deg", "/cones")

CHAMFERS = ("/chamfer_included_deg", "/chamfer_friction", "/spline_radius_mm")

LOAD = ("/inertia_kg_m2", "/speed_difference_rpm", "/drag_nm", "/direction")

GRIP = ("/facing", "/friction", "/fluid")

ABOUT: Mapping[str, tuple[str, ...]] = {
    "ring-must-block-until-speeds-match": (*GRIP, *CONE, *CHAMFERS),
    "slippery-fluid-must-not-make-a-sound-ring-grind": (*GRIP, *CONE, *CHAMFERS),
    "seated-ring-must-come-free": (*GRIP, "/half_angle_deg", "/shift_force_n"),
    "sleeve-must-turn-the-ring-aside": ("/shift_force_n", *CHAMFERS, "/drag_nm"),
    "drag-must-not-outweigh-the-cones": (*GRIP, *CONE, "/shift_force_n", "/drag_nm", "/direction"),
    "long-slip-is-felt-at-the-lever": (*GRIP, *CONE, *LOAD, "/shift_force_n"),
    "sliding-speed-stays-within-the-facing": ("/facing", "/mean_radius_mm", "/speed_difference_rpm"),
    "energy-of-a-shift-stays-within-the-facing": (*GRIP, *CONE, *LOAD, "/shift_force_n", "/face_width_mm"),
    "mean-power-stays-within-the-facing": (*GRIP, *CONE, "/speed_difference_rpm", "/shift_force_n", "/face_width_mm"),
    "pressure-stays-within-the-facing": ("/facing", *CONE, "/shift_force_n", "/face_width_mm"),
    "interface-stays-cool-enough-for-facing-and-oil": (
        *GRIP, *CONE, *LOAD, "/shift_force_n", "/face_width_mm", "/contact_share", "/sump_c", "/shifts",
        "/shift_interval_s",
    ),
    "repeated-shifts-must-not-heat-the-cone-through": (
        *GRIP, *CONE, *LOAD, "/shift_force_n", "/face_width_mm", "/sump_c", "/shifts", "/shift_interval_s"
    ),
    "film-must-be-wiped-before-the-ring-grips": (
        "/facing", "/fluid", "/start_c", "/sump_c", "/condition", "/detent_force_n", *CONE, "/face_width_mm"
    ),
    "ring-and-cone-must-share-their-angle": ("/half_angle_deg", "/cone_half_angle_deg", "/face_width_mm"),
    "fluid-must-serve-the-facing": ("/facing", "/fluid"),
}  # fmt: skip


@dataclass(frozen=True)
class JudgedRing:
    """One facing with its figures and all that the rules said of it."""

    shift: RingShift
    base: KnowledgeBase

    @cached_property
    def limits(self) -> dict[LimitName, FacingLimitRow]:
        """The facing's limits."""
        return {row.quantity: row for row in limits_of(self.shift.facing, self.base)}

    @cached_property
    def ends(self) -> BothEnds:
        """At both ends of friction; energy, power and heat are judged at the worse one."""
        return both_ends(self.shift)

    @property
    def figures(self) -> Figures:
        """At the low end of friction, where torque, time and blocking are judged."""
        return self.ends.low

    @cached_property
    def said(self) -> tuple[RuleOutcome, ...]:
        """What each rule said, in the order of the rules."""
        facts = {
            "ring": self.shift,
            "shift": self.figures,
            "ends": self.ends,
            "limits": self.limits,
            "base": self.base,
        }
        return tuple(rule.judge(**{name: facts[name] for name in rule.parameters}) for rule in SHIFT_RULES)

    @cached_property
    def verdict(self) -> ShiftVerdict:
        """Refused by any rule, warned by any rule, or neither. A note is told and lowers nothing."""
        if any(said.effect == "excludes" for said in self.said):
            return "does-not-fit"
        return "fits-with-care" if any(_warns(said) for said in self.said) else "fits"

    @cached_property
    def ratios(self) -> dict[str, float]:
        """How near each criterion is to what is allowed; above 1 is outside."""
        return dict(ratios(self.shift, self.ends, self.limits.values(), self.base))

    @property
    def worst_ratio(self) -> float:
        """The criterion nearest to its limit, or farthest beyond it."""
        return max(self.ratios.values())

    @property
    def findings(self) -> tuple[Finding, ...]:
        """What was said, as it travels."""
        return tuple(
            Finding(
                rule=rule.id,
                effect=said.effect,
                severity=said.severity,
                text=said.text,
                about=ABOUT[rule.id],
                figures=tuple(measured.figure for measured in said.figures),
                margin=None if said.margin is None else significant(said.margin),
                sources=self._cited(rule.sources, said),
            )
            for rule, said in zip(SHIFT_RULES, self.said, strict=True)
        )

    def _cited(self, sources: tuple[Citation, ...], said: RuleOutcome) -> tuple[Citation, ...]:
        if not said.is_concerned:
            return ()
        names = {figure.name for figure in said.figures}
        rows = [row for row in self.limits.values() if row.quantity in names]
        return tuple(dict.fromkeys((*sources, *(Citation(id=row.source, locator=row.locator) for row in rows))))

    @property
    def margins(self) -> Iterator[Margin]:
        """Each limit of the facing beside its figure."""
        for row in self.limits.values():
            value = limited(self.ends, row.quantity)
            yield Margin(
                limit=row.quantity,
                value=None if value is None else significant(value),
                allowed=row.value,
                ratio=None if value is None else significant(value / row.value),
                unit=row.unit,
                standing=row.standing,
                rests_on=rests_on(row.quantity, self.shift),
                is_binding=is_binding(row.standing),
                sources=(Citation(id=row.source, locator=row.locator),),
                reason=row.note,
            )


def rank_key(judged: JudgedRing) -> tuple[int, float]:
    """The better verdict first, then the one that keeps farther from its limits."""
    return VERDICTS_FROM_BEST.index(judged.verdict), judged.worst_ratio


def _warns(said: RuleOutcome) -> bool:
    return said.effect == "cautions" and said.severity != "note"
