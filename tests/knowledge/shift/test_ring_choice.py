"""Which ring a rebuilder would fit, one limit for all facings, and rings side by side."""

import tomllib
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from knowledge.rings.ring_shift import ring_shift
from knowledge.rings.shift_question import ShiftQuestion
from knowledge.shift.judge import JudgedRing, summary
from knowledge.shift.loaded_ring import LoadedRing
from tests.knowledge.shift.asked import BASE, SHIFT, ask

PANEL = tomllib.loads((Path(__file__).parents[2] / "golden" / "ring_choice.toml").read_text(encoding="utf-8"))["case"]

LOADS = st.fixed_dictionaries(
    {
        "inertia_kg_m2": st.floats(0.002, 0.3),
        "speed_difference_rpm": st.floats(200, 4000),
        "direction": st.sampled_from(("up", "down")),
        "shift_force_n": st.floats(150, 4000),
        "cones": st.integers(1, 3),
        "shifts": st.integers(1, 30),
        "shift_interval_s": st.floats(1, 20),
        "sump_c": st.floats(40, 150),
    },
    optional={
        "contact_share": st.floats(0.2, 1),
        "half_angle_deg": st.floats(6, 12),
        "friction": st.floats(0.06, 0.16),
    },
)


@pytest.mark.parametrize("case", PANEL, ids=lambda case: case["name"])
def test_common_practice_a_rebuilder_would_choose_so(case: dict[str, Any]) -> None:
    answer = ask(**case["ask"])
    said = {item.facing: item.verdict for item in answer.facings}
    assert {facing for facing, accepted in case["verdicts"].items() if said[facing] not in accepted} == set()
    assert answer.facing in case.get("leads", [answer.facing])
    assert all(words in answer.summary for words in case.get("says", ()))
    assert not any(words in answer.summary for words in case.get("never_says", ()))


def judged(load: dict[str, Any]) -> list[JudgedRing]:
    """Every facing under a load."""
    question = ShiftQuestion.model_validate(load)
    return [JudgedRing(LoadedRing(ring_shift(question, facing, BASE), BASE)) for facing in BASE.facings]


def held(load: dict[str, Any]) -> dict[str, list[tuple[float, float, str]]]:
    """Of each limit and every facing: the figure, what is allowed, and what the limit's own rule comes to."""
    found: dict[str, list[tuple[float, float, str]]] = {}
    for item in judged(load):
        effects = {limit.id: outcome.effect for outcome in item.outcomes.values() for limit in outcome.limits}
        for margin in item.margins:
            if margin.value is not None:
                found.setdefault(margin.limit, []).append((margin.value, margin.allowed, effects[margin.limit]))
    return found


@settings(max_examples=400, deadline=None, derandomize=True)
@given(LOADS)
def test_no_facing_is_refused_where_one_of_a_lower_limit_passes_with_a_higher_figure(load: dict[str, Any]) -> None:
    for rows in held(load).values():
        for figure, allowed, effect in rows:
            no_better = {other[2] for other in rows if other[0] >= figure and other[1] <= allowed}
            if effect == "excludes":
                assert no_better == {"excludes"}
            elif figure > allowed:
                assert no_better <= {"cautions", "excludes"}


def test_racing_never_refuses_carbon_where_paper_is_hotter_and_passes() -> None:
    """The load that once did: carbon at 249 of 230 °C was refused, and paper at 254 of 200 °C led."""
    racing = {"inertia_kg_m2": 0.012, "speed_difference_rpm": 3000, "shift_force_n": 1000, "shifts": 10}
    racing |= {"direction": "up", "shift_interval_s": 3, "sump_c": 120}
    verdicts = {item.ring.shift.facing: item.verdict for item in judged(racing)}
    assert verdicts["carbon"] == "fits-with-care"
    assert verdicts["paper"] == "does-not-fit"


@settings(max_examples=200, deadline=None, derandomize=True)
@given(LOADS)
def test_a_ring_that_wedges_grinds_or_never_gets_there_does_not_fit(load: dict[str, Any]) -> None:
    for item in judged(load):
        found = item.ring.figures
        wedges = item.ring.shift.friction.middle > found.locking_friction
        if wedges or found.blocking_reserve < 1 or found.sync_time_s is None:
            assert item.verdict == "does-not-fit"
        elif found.release_margin < 1:
            assert item.verdict != "fits"


@pytest.mark.parametrize("friction", [{}, {"friction": 0.1}])
def test_common_practice_brass_on_6_degrees_is_built_and_on_5_degrees_sticks(friction: dict[str, float]) -> None:
    """Common practice, no source. By hand: tan 6° is 0.105, tan 5° 0.087; brass slides at 0.10, and rises at rest."""
    load = {"facing": "bronze", "inertia_kg_m2": 0.005, "speed_difference_rpm": 1000, **friction}
    six, five = (ask(**load, half_angle_deg=angle) for angle in (6, 5))
    assert (six.verdict, six.wedges, five.verdict, five.wedges) == ("fits-with-care", False, "does-not-fit", True)
    assert any("may wedge" in finding.text for finding in six.facings[0].findings)


def test_care_says_what_to_change_and_the_change_is_enough_or_eases_what_is_worst() -> None:
    light = {"inertia_kg_m2": 0.005, "speed_difference_rpm": 1000, "half_angle_deg": 6}
    answer = ask(**light)
    change = next(one for one in answer.least_changes if one.to and one.facing == answer.facing)
    assert (answer.verdict, change.change) == ("fits-with-care", "half_angle_deg")
    assert f"a {change.to:g}° half angle will do" in answer.summary
    assert ask(**{**light, **change.ask_with}, facing=answer.facing).verdict == "fits"

    hard = {"inertia_kg_m2": 0.02, "speed_difference_rpm": 3000, "shift_force_n": 1000, "shifts": 10}
    hard |= {"shift_interval_s": 4, "sump_c": 120, "cones": 2}
    answer = ask(**hard)
    assert answer.verdict == "fits-with-care"
    assert "shift at lower revs" in answer.summary
    eased = ask(**{**hard, "speed_difference_rpm": 1200}, facing=answer.facing)
    before, after = (
        next(margin.ratio for margin in one.facings[0].margins if margin.limit == "mean_power_w_mm2")
        for one in (answer, eased)
    )
    assert after < 1 < before


@settings(max_examples=100, deadline=None, derandomize=True)
@given(LOADS)
def test_any_care_says_what_to_change_in_140_characters(load: dict[str, Any]) -> None:
    summaries = [summary([item]) for item in judged(load) if item.verdict == "fits-with-care"]
    assert all("; " in text and text.endswith("ervice data decides.") and len(text) <= 140 for text in summaries)


def test_where_the_speeds_never_match_no_force_takes_the_same_time() -> None:
    """By hand: two cones turn with twice 9 N·m, less than the drag of 30 N·m, and three with 27 N·m."""
    stuck = ask(facing="bronze", inertia_kg_m2=0.005, speed_difference_rpm=1000, drag_nm=30)
    assert {(row.sync_time_s, row.same_time_force_n) for row in stuck.compare} == {(None, None)}
    some = ask(facing="bronze", inertia_kg_m2=0.005, speed_difference_rpm=1000, drag_nm=15, cones=2)
    one, two, _ = some.compare[:3]
    assert (one.sync_time_s, one.same_time_force_n) == (None, None)
    assert two.same_time_force_n is not None


def test_a_face_that_a_cone_not_quite_true_would_burn_is_noted_and_stated_contact_is_taken_at_its_word() -> None:
    """By hand: a flash of 42.6 K over all the face is 213 K over a fifth of it, on top of 150 °C."""
    load = {"facing": "sintered", "inertia_kg_m2": 0.4, "speed_difference_rpm": 900, "direction": "down"}
    load |= {"shift_force_n": 500, "drag_nm": 1.0, "sump_c": 150}
    noted, stated = (
        next(f for f in ask(**load, **more).facings[0].findings if f.rule.startswith("interface-stays"))
        for more in ({}, {"contact_share": 1})
    )
    assert (noted.effect, noted.severity, stated.effect) == ("cautions", "note", "supports")
    assert "360 °C" in noted.text


def test_more_cones_side_by_side_take_their_share_of_time_and_force() -> None:
    """Torque goes with the number of equal cones: without drag half the time, or the same time at half the force."""
    one, two, three = ask(**{**SHIFT, "drag_nm": 0}, facing="sintered").compare[:3]
    assert [row.cones for row in (one, two, three)] == [1, 2, 3]
    for row in (two, three):
        assert row.sync_time_s == pytest.approx(one.sync_time_s / row.cones, rel=0.05)
        assert row.same_time_force_n == pytest.approx(one.same_time_force_n / row.cones, rel=0.05)
        assert "set" in row.what_else
    assert one.what_else is None


@pytest.mark.parametrize("facing", sorted(BASE.facings))
def test_a_row_beside_is_what_the_same_shift_would_be_told_of_that_ring(facing: str) -> None:
    asked = ask(**SHIFT, facing=facing)
    for row in asked.compare:
        again = ask(**SHIFT, facing=row.facing, cones=row.cones)
        assert (row.verdict, row.sync_time_s) == (again.verdict, float(f"{again.sync_time_s:.2g}"))
        assert (row.why is None) == (row.verdict == "fits")
    assert {row.facing for row in asked.compare} == {facing, "bronze", "sintered", "carbon"}


def test_common_practice_a_lining_for_bronze_wants_another_cone_finish_and_fluid() -> None:
    """Common practice, no source; 9 and 6.5 degrees are the usual angles of the two."""
    asked = ask(**SHIFT, facing="bronze", half_angle_deg=6.5, fluid="gl-4-75w-90")
    carbon = next(row for row in asked.compare if row.facing == "carbon")
    for words in ("Ring and cone together", "at 9°, not 6.5°", "very fine", "MTF 75W-80, not GL-4 75W-90"):
        assert words in carbon.what_else
    assert carbon.verdict != "does-not-fit"
