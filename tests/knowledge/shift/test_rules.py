"""The rules of the shift beyond what each says; that stands in tests/golden/rules.toml."""

import tomllib
from pathlib import Path
from typing import Any

import pytest

from knowledge.parts.provenance import Finding
from knowledge.physics.cone import least_friction_to_block
from knowledge.rings.shift_question import ShiftQuestion
from knowledge.shift.rules.shift import SHIFT_RULES
from tests.knowledge.shift.asked import BASE, ask, finding

GOLDEN = Path(__file__).parents[2] / "golden" / "rules.toml"
EASY = tomllib.loads(GOLDEN.read_text(encoding="utf-8"))["easy_shift"]


def says(rule: str, **changes: Any) -> Finding:
    """What a rule says of an easy shift with some things changed."""
    return finding(ask(**{**EASY, **changes}), rule)


def test_with_a_stated_friction_high_and_low_end_are_one() -> None:
    """A friction that is known replaces the table, so nothing is told of another end."""
    finding = says("mean-power-stays-within-the-facing", friction=0.1)
    assert finding.figures[0].min == finding.figures[0].max
    span = says("mean-power-stays-within-the-facing").figures[0]
    assert span.max == pytest.approx(1.5 * span.min, rel=1e-3)


def test_a_ring_with_just_the_friction_that_it_needs_blocks() -> None:
    rule = "ring-must-block-until-speeds-match"
    cone = {"mean_radii_mm": [32], "half_angle_deg": 6.5, "spline_radius_mm": 38}
    least = least_friction_to_block(**cone, chamfer_included_deg=115, chamfer_friction=0.09)
    assert says(rule, friction=least).effect == "supports"
    assert says(rule, friction=least * (1 - 1e-9)).effect == "excludes"


def test_the_standing_of_friction_counts_where_friction_does() -> None:
    """Sliding speed and pressure follow from sizes and force alone; the friction of bronze is remembered."""
    sizes = {"mean_radius_mm": 32, "half_angle_deg": 6.5, "face_width_mm": 8, "cones": 1, "shift_force_n": 600}
    fields = {**EASY, **sizes, "drag_nm": 1, "sump_c": 80, "shifts": 1, "shift_interval_s": 5, "contact_share": 1}
    fields = {name: value for name, value in fields.items() if name != "friction"} | {"facing": "bronze"}
    margins = ask(**fields).facings[0].margins
    of_sizes, of_friction = (
        {item.rests_on for item in margins if (item.limit in ("sliding_speed_m_s", "pressure_n_mm2")) == is_of_sizes}
        for is_of_sizes in (True, False)
    )
    assert of_sizes == {"computed"}
    assert "computed" not in of_friction
    assert "from-memory" in of_friction


def test_every_finding_with_a_margin_names_the_one_limit_that_it_was_held_against() -> None:
    found = ask(**EASY, fluid="gl-4-80w-90", start_c=-20).facings[0].findings
    assert all(len(item.limits) == 1 for item in found if item.margin is not None)
    for item in found:
        if item.rule.endswith("-the-facing") and item.limits:
            assert item.margin == pytest.approx(item.limits[0].value / item.figures[0].max, rel=2e-3)


def test_a_limit_carries_the_standing_of_its_row_and_a_figure_that_of_what_it_comes_from() -> None:
    speed = says("sliding-speed-stays-within-the-facing")
    row = next(
        row
        for row in BASE.facing_limits
        if (row.facing, row.quantity, row.chosen) == ("sintered", "sliding_speed_m_s", True)
    )
    (limit,) = speed.limits
    assert (limit.id, limit.value, limit.unit, limit.standing) == (row.quantity, row.value, row.unit, row.standing)
    assert says("sliding-speed-stays-within-the-facing", mean_radius_mm=32).figures[0].rests_on == "computed"
    heat = says("repeated-shifts-must-not-heat-the-cone-through")
    assert (heat.limits[0].id, heat.limits[0].standing) == ("steel-cone-bulk-from", "handbook")
    assert heat.figures[0].rests_on == "judgement"


def test_what_is_judged_is_shown_in_two_digits_and_still_on_its_side_of_the_limit() -> None:
    """Of a stated radius a sliding speed has three digits, of an assumed one two; 3000 rpm at 32 mm are 10.05 m/s."""
    rule = "sliding-speed-stays-within-the-facing"
    assert "is 10 m/s" in says(rule, speed_difference_rpm=3000).text
    assert "is 10.1 m/s" in says(rule, speed_difference_rpm=3000, mean_radius_mm=32).text
    assert "is just over 9 m/s" in says(rule, speed_difference_rpm=2690).text


def test_every_rule_says_which_fields_of_the_question_it_reads() -> None:
    for rule in SHIFT_RULES:
        assert rule.reads
        assert set(rule.reads) <= set(ShiftQuestion.model_fields)
        assert len(rule.reads) == len(set(rule.reads))
