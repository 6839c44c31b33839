"""Least changes: asked again with the change the ring is inside, nearer by a step it is not, and null means none."""

from typing import Any

import pytest
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

from knowledge.rings.ring_shift import ring_shift
from knowledge.rings.shift_question import ShiftQuestion
from knowledge.shift.answer import FullShiftAnswer, LeastChange
from knowledge.shift.changes import LEVERS, changed
from knowledge.shift.loaded_ring import LoadedRing
from tests.knowledge.shift.asked import BASE, ask

GRID = 150
FAILING = [
    {"facing": "molybdenum", "inertia_kg_m2": 0.01, "speed_difference_rpm": 1200, "direction": "down",
     "shift_force_n": 300, "drag_nm": 9},
    {"facing": "bronze", "inertia_kg_m2": 0.004, "speed_difference_rpm": 1300, "shift_force_n": 600},
    {"facing": "paper", "inertia_kg_m2": 0.004, "speed_difference_rpm": 1000, "half_angle_deg": 11},
    {"facing": "carbon", "inertia_kg_m2": 0.012, "speed_difference_rpm": 2000, "half_angle_deg": 6.5},
    {"facing": "sintered", "inertia_kg_m2": 0.004, "speed_difference_rpm": 900, "chamfer_included_deg": 100},
    {"facing": "sintered", "inertia_kg_m2": 0.006, "speed_difference_rpm": 1000, "half_angle_deg": 7,
     "cone_half_angle_deg": 6.5},
]  # fmt: skip


def worst_at(answer: FullShiftAnswer, change: LeastChange, value: float) -> float:
    """The worst ratio of the ring with one lever at a value."""
    question = ShiftQuestion(**{name: getattr(answer.question, name) for name in ShiftQuestion.model_fields})
    ring = ring_shift(question, answer.facing, BASE)
    return LoadedRing(changed(change.change, ring, value), BASE).worst_ratio


@pytest.mark.parametrize("fields", FAILING, ids=lambda fields: fields["facing"])
def test_asked_again_with_a_least_change_the_ring_fits_and_one_of_them_mends_these(fields: dict[str, Any]) -> None:
    answer = ask(**fields)
    assert answer.verdict != "fits"
    assert [change.change for change in answer.least_changes] == list(LEVERS)
    mending = [change for change in answer.least_changes if change.to is not None]
    assert mending
    for change in mending:
        again = ask(**{**fields, **change.ask_with})
        assert again.verdict == "fits"
        assert not again.least_changes


def test_each_change_is_told_in_the_unit_of_its_field_and_written_out() -> None:
    fields = {"inertia_kg_m2": 0.0232, "speed_difference_rpm": 1468, "shift_force_n": 12345, "half_angle_deg": 6}
    answer = ask(facing="bronze", **fields)
    assert {change.change: change.unit for change in answer.least_changes} == {
        "cones": "1", "mean_radius_mm": "mm", "half_angle_deg": "°", "shift_force_n": "N", "shift_interval_s": "s"
    }  # fmt: skip
    texts = " ".join(change.text for change in answer.least_changes)
    assert "e+" not in texts
    assert "36.8 mm" in texts


ODD = {
    "facing": st.sampled_from(sorted(BASE.facings)),
    "inertia_kg_m2": st.floats(0.001, 0.05),
    "speed_difference_rpm": st.floats(300, 4000),
    "direction": st.sampled_from(("up", "down")),
    "shift_force_n": st.floats(100, 2500),
    "mean_radius_mm": st.floats(20, 60) | st.lists(st.floats(20, 60), min_size=2, max_size=3),
    "half_angle_deg": st.floats(5, 14),
    "drag_nm": st.floats(0, 20),
    "chamfer_included_deg": st.floats(90, 130),
    "spline_radius_mm": st.floats(25, 75),
    "shifts": st.integers(2, 40),
    "shift_interval_s": st.floats(0.5, 60),
    "sump_c": st.floats(20, 150),
}


@settings(max_examples=20, deadline=None, suppress_health_check=[HealthCheck.filter_too_much])
@given(st.fixed_dictionaries(ODD))
def test_no_value_of_two_digits_that_is_nearer_helps(fields: dict[str, Any]) -> None:
    answer = ask(**fields)
    assume(answer.least_changes)
    for change in answer.least_changes:
        reach = float("inf") if change.to is None else abs(change.to - change.now) - 1e-9
        grid = {float(f"{change.low + step / GRID * (change.high - change.low):.2g}") for step in range(GRID + 1)}
        if change.change == "cones":
            grid = {1.0, 2.0, 3.0}
        nearer = [at for at in grid if change.low <= at <= change.high and abs(at - change.now) < reach]
        assert all(worst_at(answer, change, at) > 1 for at in nearer)
        assert change.to is None or worst_at(answer, change, change.to) <= 1
        assert (change.to is None) == bool(change.reason)


def test_what_a_fluid_spoils_no_change_of_the_ring_mends() -> None:
    load = {"inertia_kg_m2": 0.004, "speed_difference_rpm": 900, "direction": "up"}
    answer = ask(facing="bronze", fluid="gl-5-limited-slip-75w-90", **load)
    assert {change.to for change in answer.least_changes} == {None}
    reasons = {change.change: change.reason for change in answer.least_changes}
    assert reasons.pop("shift_interval_s") == "only one shift was asked about"
    assert all("fluid" in reason for reason in reasons.values())


def test_a_facing_that_fits_needs_no_change() -> None:
    assert ask(facing="carbon", inertia_kg_m2=0.004, speed_difference_rpm=900).least_changes == ()
