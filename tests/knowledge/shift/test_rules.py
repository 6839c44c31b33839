"""The rules of the shift beyond what each says; that stands in tests/golden/rules.toml."""

import tomllib
from pathlib import Path
from typing import Any

import pytest

from knowledge.assemble import read_knowledge
from knowledge.parts.provenance import Finding
from knowledge.physics.cone import least_friction_to_block
from knowledge.rings.shift_question import ShiftQuestion
from knowledge.shift.compute import shift_answer
from knowledge.shift.rules.limits import is_binding

BASE = read_knowledge()
GOLDEN = Path(__file__).parents[2] / "golden" / "rules.toml"
EASY = tomllib.loads(GOLDEN.read_text(encoding="utf-8"))["easy_shift"]


def says(rule: str, **changes: Any) -> Finding:
    """What a rule says of an easy shift with some things changed."""
    found = shift_answer(ShiftQuestion.model_validate({**EASY, **changes}), BASE).facings[0]
    return next(item for item in found.findings if item.rule == rule)


def test_only_what_was_read_or_follows_from_it_condemns() -> None:
    assert {standing for standing in ("standard", "handbook", "paper", "computed") if is_binding(standing)} == {
        "standard", "handbook", "paper", "computed"
    }  # fmt: skip
    assert not any(is_binding(standing) for standing in ("from-memory", "common-practice", "judgement"))


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


def test_a_ring_that_no_friction_of_its_span_would_save_is_given_no_hope() -> None:
    rule = "ring-must-block-until-speeds-match"
    assert "it would hold" in says(rule, half_angle_deg=9).text
    assert says(rule, friction=0.05).text.endswith("and it grinds.")


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
    margins = shift_answer(ShiftQuestion.model_validate(fields), BASE).facings[0].margins
    of_sizes, of_friction = (
        {item.rests_on for item in margins if (item.limit in ("sliding_speed_m_s", "pressure_n_mm2")) == is_of_sizes}
        for is_of_sizes in (True, False)
    )
    assert of_sizes == {"computed"}
    assert "computed" not in of_friction
    assert "from-memory" in of_friction
