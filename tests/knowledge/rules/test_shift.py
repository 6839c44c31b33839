"""Each rule of the shift: what it says inside and outside of its limit, and that its margin turns at 1."""

from typing import Any

import pytest

from knowledge.answers import Finding
from knowledge.reading import read_knowledge
from knowledge.rules.shift import SHIFT_RULES
from knowledge.rules.shift_limits import condemns
from knowledge.shift import shift_answer
from knowledge.shifts.questions import ShiftQuestion

BASE = read_knowledge()
EASY = {
    "facing": "sintered",
    "inertia_kg_m2": 0.004,
    "speed_difference_rpm": 900,
    "direction": "down",
    "shift_force_n": 500,
    "drag_nm": 1.0,
}


def says(rule: str, **changes: Any) -> Finding:
    """What a rule says of an easy shift with some things changed."""
    found = shift_answer(ShiftQuestion.model_validate({**EASY, **changes}), BASE).facings[0]
    return next(item for item in found.findings if item.rule == rule)


CASES = [
    ("ring-must-block-until-speeds-match", {}, "supports", "Blocks"),
    ("ring-must-block-until-speeds-match", {"half_angle_deg": 9}, "excludes", "grinds"),
    ("ring-must-block-until-speeds-match", {"friction": 0.05}, "excludes", "grinds"),
    ("slippery-fluid-must-not-make-a-sound-ring-grind", {}, "supports", "No fluid"),
    ("slippery-fluid-must-not-make-a-sound-ring-grind", {"fluid": "mtf-75w-80"}, "supports", "dedicated"),
    ("slippery-fluid-must-not-make-a-sound-ring-grind", {"fluid": "gl-4-75w-90"}, "cautions", "about 5 %"),
    ("slippery-fluid-must-not-make-a-sound-ring-grind", {"fluid": "gl-5-limited-slip-75w-90"}, "excludes", "sound"),
    ("seated-ring-must-come-free", {"half_angle_deg": 15}, "supports", "by itself"),
    ("seated-ring-must-come-free", {}, "cautions", "pull off"),
    ("seated-ring-must-come-free", {"half_angle_deg": 5.5}, "cautions", "tends to wedge"),
    ("seated-ring-must-come-free", {"half_angle_deg": 4}, "excludes", "wedges"),
    ("sleeve-must-turn-the-ring-aside", {}, "supports", "aside"),
    ("sleeve-must-turn-the-ring-aside", {"drag_nm": 11}, "cautions", "blocked"),
    ("drag-must-not-outweigh-the-cones", {}, "supports", "overcome"),
    ("drag-must-not-outweigh-the-cones", {"drag_nm": 12}, "excludes", "Drag wins"),
    ("drag-must-not-outweigh-the-cones", {"drag_nm": 12, "direction": "up"}, "supports", "same way"),
    ("long-slip-is-felt-at-the-lever", {}, "supports", "ms"),
    ("long-slip-is-felt-at-the-lever", {"inertia_kg_m2": 0.1}, "cautions", "long"),
    ("long-slip-is-felt-at-the-lever", {"drag_nm": 12}, "no-data", "never match"),
    ("sliding-speed-stays-within-the-facing", {}, "supports", "stands 9"),
    ("sliding-speed-stays-within-the-facing", {"speed_difference_rpm": 3000}, "cautions", "does not condemn"),
    ("energy-of-a-shift-stays-within-the-facing", {"inertia_kg_m2": 0.4}, "cautions", "does not condemn"),
    ("mean-power-stays-within-the-facing", {"shift_force_n": 4000}, "cautions", "does not condemn"),
    ("pressure-stays-within-the-facing", {"shift_force_n": 1400}, "cautions", "does not condemn"),
    ("pressure-stays-within-the-facing", {}, "supports", "stands 7"),
    ("interface-stays-cool-enough-for-facing-and-oil", {}, "supports", "at least"),
    ("interface-stays-cool-enough-for-facing-and-oil", {"inertia_kg_m2": 0.4, "sump_c": 175}, "cautions", "condemn"),
    ("interface-stays-cool-enough-for-facing-and-oil",
     {"facing": "carbon", "inertia_kg_m2": 0.4, "sump_c": 150, "contact_share": 0.3}, "excludes", "carbon stands 230"),
    ("interface-stays-cool-enough-for-facing-and-oil", {"drag_nm": 12}, "no-data", "no end"),
    ("repeated-shifts-must-not-heat-the-cone-through", {}, "supports", "After the shift"),
    ("repeated-shifts-must-not-heat-the-cone-through",
     {"inertia_kg_m2": 0.1, "shifts": 100, "shift_interval_s": 1}, "excludes", "260 °C"),
    ("film-must-be-wiped-before-the-ring-grips", {}, "no-data", "No fluid"),
    ("film-must-be-wiped-before-the-ring-grips", {"fluid": "mtf-75w-80"}, "supports", "ms"),
    ("film-must-be-wiped-before-the-ring-grips", {"fluid": "gl-4-80w-90", "start_c": -20}, "cautions", "baulk"),
    ("film-must-be-wiped-before-the-ring-grips", {"fluid": "gl-5-85w-140", "start_c": -40}, "cautions", "expect"),
    ("ring-and-cone-must-share-their-angle", {}, "supports", "not measured"),
    ("ring-and-cone-must-share-their-angle", {"half_angle_deg": 6.5, "cone_half_angle_deg": 6.55}, "supports", "meet"),
    ("ring-and-cone-must-share-their-angle", {"half_angle_deg": 6.5, "cone_half_angle_deg": 7}, "cautions", "wobbles"),
    ("fluid-must-serve-the-facing", {}, "supports", "No fluid"),
    ("fluid-must-serve-the-facing", {"fluid": "mtf-75w-80"}, "supports", "dedicated"),
    ("fluid-must-serve-the-facing", {"fluid": "atf-standard"}, "cautions", "service data names it"),
    ("fluid-must-serve-the-facing", {"fluid": "gl-5-80w-90", "facing": "paper"}, "excludes", "glazes"),
]  # fmt: skip


@pytest.mark.parametrize(("rule", "changes", "effect", "words"), CASES)
def test_a_rule_says_what_it_should(rule: str, changes: dict[str, Any], effect: str, words: str) -> None:
    finding = says(rule, **changes)
    assert finding.effect == effect
    assert words in finding.text
    if finding.margin is not None:
        assert (finding.margin < 1) == (effect == "excludes" or (effect, finding.severity) == ("cautions", "warning"))


def test_every_rule_has_a_case_for_what_it_supports_and_for_what_it_does_not() -> None:
    heard = {(rule, effect == "supports") for rule, _, effect, _ in CASES}
    assert {rule for rule, _ in heard} == {rule.id for rule in SHIFT_RULES}
    assert {rule for rule, supported in heard if not supported} == {rule.id for rule in SHIFT_RULES}


def test_only_what_was_read_or_follows_from_it_condemns() -> None:
    assert {standing for standing in ("standard", "handbook", "paper", "computed") if condemns(standing)} == {
        "standard", "handbook", "paper", "computed"
    }  # fmt: skip
    assert not any(condemns(standing) for standing in ("from-memory", "common-practice", "judgement"))


def test_a_note_lowers_no_verdict() -> None:
    answer = shift_answer(ShiftQuestion.model_validate(EASY), BASE)
    assert any(item.effect == "cautions" and item.severity == "note" for item in answer.facings[0].findings)
    assert answer.verdict == "fits"


def test_with_a_stated_friction_high_and_low_end_are_one() -> None:
    """A friction that is known replaces the table, so nothing is told of another end."""
    finding = says("mean-power-stays-within-the-facing", friction=0.1)
    assert finding.figures[0].min == finding.figures[0].max
    span = says("mean-power-stays-within-the-facing").figures[0]
    assert span.max == pytest.approx(1.5 * span.min, rel=1e-3)
