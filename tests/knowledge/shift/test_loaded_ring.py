"""What figures rest on, which limits refuse, and which fields of the question a finding reads."""

from typing import Any

import pytest

from knowledge.parts.provenance import STANDINGS_FROM_STRONGEST, Figure
from knowledge.shift.answer import FullShiftAnswer
from tests.knowledge.shift.asked import KNOWN, SHIFT, STATED, ask

CHANGED: dict[str, Any] = {
    "inertia_kg_m2": 0.02, "speed_difference_rpm": 2500, "direction": "down", "drag_nm": 4, "shift_force_n": 900,
    "mean_radius_mm": 35, "half_angle_deg": 9, "cone_half_angle_deg": 7, "face_width_mm": 5, "friction": 0.05,
    "chamfer_included_deg": 100, "chamfer_friction": 0.15, "spline_radius_mm": 41, "sump_c": 140, "shifts": 40,
    "shift_interval_s": 2, "condition": "worn", "detent_force_n": 90, "contact_share": 0.4, "facing": "paper",
    "fluid": "gl-5-75w-90", "cones": 2,
}  # fmt: skip
ASSUMED = sorted(
    CHANGED.keys() & KNOWN.keys() - {"inertia_kg_m2", "speed_difference_rpm", "direction", "friction", "condition"}
)


def test_a_figure_of_stated_values_rests_on_nothing_of_ours() -> None:
    ours, theirs = ({**SHIFT, "facing": "bronze"}, {**KNOWN, "facing": "bronze"})
    of_theirs = {
        figure.name: figure.rests_on
        for finding in ask(**theirs).facings[0].findings
        for figure in finding.figures
        if figure.name in ("least_friction_to_block", "friction", "index_torque_nm", "drag_nm", "cone_torque_nm",
                           "sync_time_s", "locking_friction")
    }  # fmt: skip
    assert set(of_theirs.values()) == {"computed"}
    of_ours = {
        figure.name: figure.rests_on for finding in ask(**ours).facings[0].findings for figure in finding.figures
    }
    assert of_ours["drag_nm"] == "computed"
    assert of_ours["index_torque_nm"] == "judgement"


def test_a_figure_beside_a_read_limit_claims_no_more_than_the_sizes_it_comes_from() -> None:
    (margin,) = [
        item for item in ask(facing="carbon", **SHIFT).facings[0].margins if item.limit == "interface_temperature_c"
    ]
    assert (margin.standing, margin.rests_on) == ("paper", "judgement")
    margins = {item.limit: item for item in ask(facing="carbon", **KNOWN).facings[0].margins}
    assert margins["sliding_speed_m_s"].rests_on == margins["pressure_n_mm2"].rests_on == "computed"


@pytest.mark.parametrize("name", ASSUMED)
def test_a_figure_that_moves_with_an_assumed_size_rests_on_that_assumption(name: str) -> None:
    """What a figure depends on is found by moving the size, not read from the rules."""
    row = {**SHIFT, "direction": "down", "shifts": 5, "shift_interval_s": 5, "start_c": -10, "fluid": "mtf-75w-80"}
    known = {**KNOWN, **row, "friction": 0.12, "facing": "bronze"}
    del known[name]
    left_out, moved = ask(**known), ask(**known, **{name: CHANGED[name]})
    assumed = next(item.standing for item in left_out.question.assumed if item.pointer == f"/{name}")
    pairs = [
        pair
        for findings in zip(figures_of(left_out), figures_of(moved), strict=True)
        for pair in zip(*findings, strict=True)
    ]
    moving = [before for before, after in pairs if (before.min, before.max) != (after.min, after.max)]
    assert moving
    assert [figure.name for figure in moving if is_stronger(figure.rests_on, assumed)] == []


def figures_of(answer: FullShiftAnswer) -> list[tuple[Figure, ...]]:
    """The figures of each finding about the one facing that was asked about."""
    (facing,) = (item for item in answer.facings if item.facing == "bronze")
    return [finding.figures for finding in facing.findings]


def is_stronger(standing: str, other: str) -> bool:
    """Whether a figure claims to stand on firmer ground than another."""
    return STANDINGS_FROM_STRONGEST.index(standing) < STANDINGS_FROM_STRONGEST.index(other)


@pytest.mark.parametrize("field", CHANGED)
def test_only_findings_that_read_a_field_change_with_it(field: str) -> None:
    ring = {**STATED, "facing": "bronze", "fluid": "gl-4-75w-90", "spline_radius_mm": 38, "shifts": 20}
    before, after = (ask(**question).facings[0].findings for question in (ring, {**ring, field: CHANGED[field]}))
    changed = {
        old.rule
        for old, new in zip(before, after, strict=True)
        if (old.text, old.margin, old.figures) != (new.text, new.margin, new.figures)
    }
    assert changed
    assert changed <= {item.rule for item in before if f"/{field}" in item.about}
