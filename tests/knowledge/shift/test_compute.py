"""The shift answer: its figures against independent numerics, its laws, and what it promises for any question."""

import json
import math
import re
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from api.settings import DEMO
from api.rendering import rendered_lines
from knowledge.assemble import read_knowledge
from knowledge.base import KnowledgeBase
from knowledge.errors import UnknownIds
from knowledge.parts.provenance import STANDINGS_FROM_STRONGEST, Figure
from knowledge.rings.shift_question import ShiftQuestion
from knowledge.shift.answer import ShiftAnswer
from knowledge.shift.compute import shift_answer
from knowledge.shift.judge import ABOUT
from knowledge.shift.rules.shift import SHIFT_RULES

BASE = read_knowledge()
SHIFT = {"inertia_kg_m2": 0.01, "speed_difference_rpm": 1500, "direction": "up", "drag_nm": 1.5, "sump_c": 90}
STATED = {
    **SHIFT,
    "friction": 0.10,
    "shift_force_n": 600,
    "mean_radius_mm": 32,
    "half_angle_deg": 6.5,
    "face_width_mm": 8,
}
CONTRACT = {
    "cone_torque_nm", "index_torque_nm", "least_friction_to_block", "blocks", "wedges", "sync_time_s", "energy_j",
    "energy_per_area_j_mm2", "power_mean_w_mm2", "power_peak_w_mm2", "pressure_n_mm2", "sliding_speed_m_s",
    "interface_rise_k", "interface_peak_c", "after_shifts_c", "facings", "least_changes", "knowledge", "answer_id",
}  # fmt: skip


def ask(**fields: Any) -> ShiftAnswer:
    """The answer to a question given by its fields."""
    return shift_answer(ShiftQuestion.model_validate(fields), BASE)


def numbers(low: float, high: float) -> st.SearchStrategy[float]:
    """Any number of a range, its ends above all."""
    return st.floats(low, high) | st.sampled_from((low, high))


RADIUS = numbers(10, 300)
PARTS = {
    "gear": numbers(1e-6, 10),
    "layshaft": numbers(0, 10),
    "input": numbers(0, 10),
    "ratio_constant": numbers(0.05, 20),
    "ratio_gear": numbers(0.05, 20),
}
LOAD = {
    "inertia_kg_m2": numbers(1e-6, 10) | st.fixed_dictionaries(PARTS),
    "speed_difference_rpm": numbers(1, 20_000),
}
RING = {
    "facing": st.sampled_from(sorted(BASE.facings)),
    "fluid": st.sampled_from(sorted(BASE.lubricant_rows)),
    "direction": st.sampled_from(("up", "down")),
    "shift_force_n": numbers(1, 20_000),
    "mean_radius_mm": RADIUS | st.lists(RADIUS, min_size=1, max_size=3),
    "half_angle_deg": numbers(3, 20),
    "cone_half_angle_deg": numbers(3, 20),
    "face_width_mm": numbers(1, 50),
    "friction": numbers(0.005, 0.5),
    "drag_nm": numbers(0, 1000),
    "chamfer_included_deg": numbers(60, 140),
    "chamfer_friction": numbers(0, 0.3),
    "spline_radius_mm": numbers(10, 400),
    "shifts": st.integers(1, 1000),
    "shift_interval_s": numbers(0.1, 3600),
    "sump_c": numbers(-40, 180),
    "start_c": numbers(-40, 180),
    "condition": st.sampled_from(("new", "worn")),
    "detent_force_n": numbers(1, 2000),
    "contact_share": numbers(0.05, 1),
}
ANY_QUESTION = st.fixed_dictionaries(LOAD, optional=RING)


@settings(max_examples=150, deadline=None)
@given(ANY_QUESTION)
def test_any_question_gets_an_answer_that_json_can_hold(fields: dict[str, Any]) -> None:
    answer = ask(**fields)
    sent = json.loads(answer.model_dump_json(), parse_constant=pytest.fail)
    assert sent.keys() >= CONTRACT
    assert len(answer.summary) <= 140
    assert [item.rank for item in answer.facings if item.rank] == list(
        range(1, 1 + sum(item.verdict != "does-not-fit" for item in answer.facings))
    )
    assert all(item.rank is None for item in answer.facings if item.verdict == "does-not-fit")
    figures = [figure for item in answer.facings for finding in item.findings for figure in finding.figures]
    assert all(math.isfinite(figure.min) and figure.min <= figure.max < math.inf for figure in figures)
    told = [finding.text for item in answer.facings for finding in item.findings]
    told += [change.text for change in answer.least_changes] + [item.value for item in answer.question.assumed]
    assert not [
        text for text in (answer.summary, *told, rendered_lines("shift.txt", answer=answer)) if re.search(r"\d[eE][-+]\d|\binf\b", text)
    ]


@settings(max_examples=60, deadline=None)
@given(ANY_QUESTION)
def test_the_same_question_has_the_same_answer_and_every_source_is_told(fields: dict[str, Any]) -> None:
    answer = ask(**fields)
    assert answer == ask(**fields)
    cited = {cited.id for item in answer.facings for finding in item.findings for cited in finding.sources}
    cited |= {cited.id for item in answer.facings for margin in item.margins for cited in margin.sources}
    assert cited <= {source.id for source in answer.sources}
    assert answer.answer_id != ask(**{**fields, "sump_c": 91.5}).answer_id


def test_published_worked_example_of_an_upshift() -> None:
    """Cases T13, T15, T24 of our facts: worked by hand from recalled formulas, the first confirmed by an ODE."""
    answer = ask(**STATED, facing="bronze")
    assert answer.cone_torque_nm == pytest.approx(16.961, rel=1e-3)
    assert answer.sync_time_s == pytest.approx(0.08509, rel=1e-3)
    assert answer.energy_j == pytest.approx(113.35, rel=1e-3)
    assert answer.energy_per_area_j_mm2 == pytest.approx(0.0705, rel=1e-3)
    assert answer.power_mean_w_mm2 == pytest.approx(0.828, rel=1e-3)
    assert answer.power_peak_w_mm2 == pytest.approx(1.656, rel=1e-3)
    assert answer.pressure_n_mm2 == pytest.approx(3.295, rel=1e-3)
    assert answer.sliding_speed_m_s == pytest.approx(5.027, rel=1e-3)
    assert answer.interface_rise_k == pytest.approx(9.25, rel=2e-3)
    assert ask(**STATED, facing="paper").interface_rise_k == pytest.approx(19.32, rel=2e-3)
    over = {margin.limit for margin in answer.facings[0].margins if margin.ratio > 1}
    assert over == {"pressure_n_mm2", "mean_power_w_mm2", "sliding_speed_m_s"}


@pytest.mark.parametrize("direction", ["up", "down"])
@pytest.mark.parametrize("drag", [0.0, 1.5, 6.0])
def test_time_and_energy_are_those_of_the_motion_integrated_step_by_step(direction: str, drag: float) -> None:
    answer = ask(**{**STATED, "direction": direction, "drag_nm": drag}, facing="molybdenum")
    help_ = drag if direction == "up" else -drag
    start = 1500 * 2 * math.pi / 60

    def motion(_: float, state: list[float]) -> list[float]:
        return [-(answer.cone_torque_nm + help_) / 0.01, answer.cone_torque_nm * state[0]]

    def stops(_: float, state: list[float]) -> float:
        return state[0]

    stops.terminal = True
    run = solve_ivp(motion, (0, 5), [start, 0.0], events=stops, rtol=1e-9)
    assert answer.sync_time_s == pytest.approx(run.t[-1], rel=1e-3)
    assert answer.energy_j == pytest.approx(run.y[1][-1], rel=1e-3)


def test_inertia_in_parts_is_the_same_question_as_its_sum() -> None:
    parts = {"gear": 0.001, "layshaft": 0.002, "input": 0.004, "ratio_constant": 1.5, "ratio_gear": 2.0}
    by_hand = 0.001 + (0.002 + 0.004 * 1.5**2) * 2.0**2
    in_parts, summed = ask(**{**SHIFT, "inertia_kg_m2": parts}), ask(**{**SHIFT, "inertia_kg_m2": by_hand})
    assert in_parts.inertia_kg_m2 == pytest.approx(by_hand, rel=1e-4)
    assert in_parts.sync_time_s == summed.sync_time_s
    assert in_parts.facings == summed.facings


def test_drag_that_wins_leaves_no_time_and_says_why() -> None:
    answer = ask(**{**STATED, "direction": "down", "drag_nm": 17.0}, facing="bronze")
    assert answer.sync_time_s is None and answer.energy_j is None and answer.interface_peak_c is None
    assert "Drag wins" in answer.sync_reason
    assert answer.verdict == "does-not-fit"
    assert answer.curve[-1].speed_difference_rpm > answer.curve[0].speed_difference_rpm
    assert ask(**{**STATED, "direction": "up", "drag_nm": 17.0}, facing="bronze").sync_time_s is not None


@pytest.mark.parametrize("facing", sorted(BASE.facings))
def test_more_force_shortens_the_shift_and_does_not_change_what_blocks(facing: str) -> None:
    soft, hard = (ask(**{**SHIFT, "direction": "down"}, facing=facing, shift_force_n=force) for force in (400, 700))
    assert hard.sync_time_s < soft.sync_time_s
    assert hard.least_friction_to_block == soft.least_friction_to_block
    assert hard.pressure_n_mm2 > soft.pressure_n_mm2


def test_more_cones_give_more_torque_and_more_reserve() -> None:
    one, two, three = (ask(**SHIFT, facing="sintered", cones=cones) for cones in (1, 2, 3))
    assert one.cone_torque_nm < two.cone_torque_nm < three.cone_torque_nm
    assert one.blocking_reserve < two.blocking_reserve < three.blocking_reserve


@pytest.mark.parametrize("facing", sorted(BASE.facings))
@pytest.mark.parametrize("fluid", ["gl-4-75w-90", "mtf-75w-80", "gl-5-75w-90", "atf-standard", "engine-oil-10w-30"])
def test_no_fluid_improves_blocking_and_none_is_as_slippery_as_limited_slip(facing: str, fluid: str) -> None:
    bare = ask(**SHIFT, facing=facing).blocking_reserve
    filled = ask(**SHIFT, facing=facing, fluid=fluid).blocking_reserve
    slippery = ask(**SHIFT, facing=facing, fluid="gl-5-limited-slip-75w-90").blocking_reserve
    assert slippery < filled <= bare


@settings(max_examples=80, deadline=None)
@given(
    st.fixed_dictionaries(LOAD, optional={**RING, "facing": st.just("paper")}), st.floats(-40, 179), st.floats(0.5, 60)
)
def test_a_hotter_sump_never_improves_a_margin(fields: dict[str, Any], sump: float, hotter: float) -> None:
    cool = ask(**{**fields, "facing": "paper", "sump_c": sump})
    hot = ask(**{**fields, "facing": "paper", "sump_c": min(sump + hotter, 180.0)})
    for before, after in zip(cool.facings[0].margins, hot.facings[0].margins, strict=True):
        assert before.ratio is None or after.ratio >= before.ratio


def test_repeated_shifts_heat_up_towards_an_end_and_time_between_them_helps() -> None:
    ends = [
        ask(**SHIFT, facing="carbon", shifts=count, shift_interval_s=5).after_shifts_c for count in (1, 5, 50, 1000)
    ]
    assert ends == sorted(ends) and ends[3] - ends[2] < 0.1 * (ends[1] - ends[0])
    slow = ask(**SHIFT, facing="carbon", shifts=50, shift_interval_s=60)
    assert slow.after_shifts_c < ends[2]


def test_a_face_that_gets_too_hot_only_at_high_friction_is_refused() -> None:
    asked = {"inertia_kg_m2": 0.03, "speed_difference_rpm": 2600, "direction": "up", "shift_force_n": 900,
             "mean_radius_mm": [34, 29], "face_width_mm": 9, "sump_c": 130, "shifts": 20, "shift_interval_s": 5}  # fmt: skip
    carbon = ask(**asked, facing="carbon")
    low, high = (ask(**asked, facing="carbon", friction=mu).interface_peak_c for mu in (0.10, 0.14))
    assert low < 230 < high
    assert (carbon.interface_peak_c, carbon.verdict) == (high, "does-not-fit")
    assert max(point.interface_c for point in carbon.curve) == pytest.approx(high, rel=1e-3)
    assert carbon.curve_friction == 0.14


@settings(max_examples=60, deadline=None)
@given(ANY_QUESTION)
def test_no_friction_of_the_span_asks_more_of_a_facing_than_the_answer_says(fields: dict[str, Any]) -> None:
    fields = {name: value for name, value in fields.items() if name not in ("friction", "fluid")}
    for item in ask(**fields).facings:
        middle = 0.5 * (item.friction.low + item.friction.high)
        for mu in (item.friction.low, middle, item.friction.high):
            at = ask(**{**fields, "facing": item.facing, "friction": mu})
            for name in ("energy_per_area_j_mm2", "power_mean_w_mm2", "interface_peak_c", "after_shifts_c"):
                most = getattr(item, name)
                assert most is None or getattr(at, name) <= most + 1e-3 * abs(most) + 1e-3


def test_a_facing_outside_at_high_friction_does_not_lead_one_that_is_inside_at_both_ends() -> None:
    demo = DEMO / "questions" / "50-which-facing-for-a-quick-shift.json"
    answer = ask(**json.loads(demo.read_text(encoding="utf-8"))["question"])
    sintered, molybdenum = (
        next(item for item in answer.facings if item.facing == facing) for facing in ("sintered", "molybdenum")
    )
    assert sintered.verdict == "fits" and sintered.rank < molybdenum.rank
    power = next(margin for margin in molybdenum.margins if margin.limit == "mean_power_w_mm2")
    assert power.ratio > 1 and molybdenum.verdict == "fits-with-care"


@settings(max_examples=150, deadline=None)
@given(ANY_QUESTION)
def test_a_facing_said_to_fit_does_not_wedge(fields: dict[str, Any]) -> None:
    for item in ask(**fields).facings:
        assert item.wedges == (item.release_margin < 1) or item.release_margin == pytest.approx(1, abs=1e-3)
        assert not (item.wedges and item.verdict == "fits")
        assert item.wedges or item.pull_off_force_n == 0


@pytest.mark.parametrize("facing", sorted(BASE.facings))
def test_a_ring_of_usual_angle_comes_free_and_the_most_friction_that_would_hold_it_is_told(facing: str) -> None:
    answer = ask(**SHIFT, facing=facing)
    assert not answer.wedges and answer.pull_off_force_n == 0
    said = next(item for item in answer.facings[0].findings if item.rule == "seated-ring-must-come-free")
    most = next(figure for figure in said.figures if figure.name == "pull_off_force_n").max
    assert said.severity == "note" and most > 0 and f"about {most:.0f} N" in said.text
    assert ask(**SHIFT, facing=facing, half_angle_deg=5).wedges


def test_a_figure_of_stated_values_rests_on_nothing_of_ours() -> None:
    stated = {**STATED, "cones": 1, "chamfer_included_deg": 110, "chamfer_friction": 0.09, "spline_radius_mm": 38}
    ours, theirs = ({**SHIFT, "facing": "bronze"}, {**stated, "facing": "bronze"})
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
    assert of_ours["drag_nm"] == "computed" and of_ours["index_torque_nm"] == "judgement"


def test_a_figure_beside_a_read_limit_claims_no_more_than_the_sizes_it_comes_from() -> None:
    (margin,) = [
        item for item in ask(facing="carbon", **SHIFT).facings[0].margins if item.limit == "interface_temperature_c"
    ]
    assert (margin.standing, margin.rests_on) == ("paper", "judgement")
    stated = {**STATED, "cones": 1, "shifts": 1, "shift_interval_s": 5, "contact_share": 1}
    margins = {item.limit: item for item in ask(facing="carbon", **stated).facings[0].margins}
    assert margins["sliding_speed_m_s"].rests_on == margins["pressure_n_mm2"].rests_on == "computed"


def test_limits_of_low_standing_warn_and_only_a_read_one_condemns() -> None:
    hot = {**SHIFT, "inertia_kg_m2": 0.05, "speed_difference_rpm": 3500, "direction": "down", "shift_force_n": 1500}
    bronze, carbon = (
        ask(**hot, facing="bronze").facings[0],
        ask(**{**hot, "facing": "carbon", "sump_c": 130}).facings[0],
    )
    assert {margin.is_binding for margin in bronze.margins} == {False}
    assert max(margin.ratio for margin in bronze.margins) > 2
    assert bronze.verdict == "fits-with-care"
    assert "warn and do not condemn" in bronze.verdict_text
    by_limit = {margin.limit: margin for margin in carbon.margins}
    assert by_limit["interface_temperature_c"].is_binding and by_limit["interface_temperature_c"].ratio > 1
    assert carbon.verdict == "does-not-fit"


def test_what_is_left_out_is_listed_as_assumed_and_what_is_said_is_not() -> None:
    assumed = {item.pointer for item in ask(inertia_kg_m2=0.01, speed_difference_rpm=1500).question.assumed}
    optional = {
        f"/{name}"
        for name, field in ShiftQuestion.model_fields.items()
        if not field.is_required() and name not in ("facing", "fluid", "cone_half_angle_deg", "start_c")
    }
    assert assumed == optional
    stated = {**STATED, "cones": 1, "chamfer_included_deg": 110, "chamfer_friction": 0.09, "spline_radius_mm": 38,
              "shifts": 1, "shift_interval_s": 5, "condition": "new", "detent_force_n": 60, "contact_share": 1}  # fmt: skip
    assert ask(**stated).question.assumed == ()


OTHERWISE = {
    "shift_force_n": 450, "cones": 2, "mean_radius_mm": 40, "half_angle_deg": 7.0, "face_width_mm": 10, "drag_nm": 3,
    "chamfer_included_deg": 105, "chamfer_friction": 0.12, "spline_radius_mm": 45, "shifts": 3, "shift_interval_s": 4,
    "sump_c": 60, "detent_force_n": 90, "contact_share": 0.5,
}  # fmt: skip


@pytest.mark.parametrize("name", OTHERWISE)
def test_a_figure_that_moves_with_an_assumed_size_rests_on_that_assumption(name: str) -> None:
    """What a figure depends on is found by moving the size, not read from the rules."""
    row = {**SHIFT, "direction": "down", "shifts": 5, "shift_interval_s": 5, "start_c": -10, "fluid": "mtf-75w-80"}
    known = {**OTHERWISE, **STATED, **row, "cones": 1, "friction": 0.12, "condition": "new", "facing": "bronze"}
    del known[name]
    unsaid, moved = ask(**known), ask(**known, **{name: OTHERWISE[name]})
    assumed = next(item.standing for item in unsaid.question.assumed if item.pointer == f"/{name}")
    pairs = [pair for findings in zip(told(unsaid), told(moved), strict=True) for pair in zip(*findings, strict=True)]
    moving = [before for before, after in pairs if (before.min, before.max) != (after.min, after.max)]
    assert moving
    assert [figure.name for figure in moving if is_stronger(figure.rests_on, assumed)] == []


def told(answer: ShiftAnswer) -> list[tuple[Figure, ...]]:
    """The figures of each finding about the one facing that was asked about."""
    (facing,) = (item for item in answer.facings if item.facing == "bronze")
    return [finding.figures for finding in facing.findings]


def is_stronger(standing: str, other: str) -> bool:
    """Whether a figure claims to stand on firmer ground than another."""
    return STANDINGS_FROM_STRONGEST.index(standing) < STANDINGS_FROM_STRONGEST.index(other)


@pytest.mark.parametrize("start_c", [150, 150.0000001, 180])
def test_oil_hotter_than_the_standards_go_is_wiped_away_at_once(start_c: float) -> None:
    answer = ask(facing="bronze", inertia_kg_m2=0.004, speed_difference_rpm=1000, fluid="mtf-75w-80", start_c=start_c)
    warm = ask(facing="bronze", inertia_kg_m2=0.004, speed_difference_rpm=1000, fluid="mtf-75w-80", start_c=120)
    assert 0 < answer.wiping_time_s < warm.wiping_time_s


def test_friction_stated_as_the_middle_of_the_table_rises_at_rest_as_the_table_does() -> None:
    fields = {"facing": "bronze", "fluid": "mtf-75w-80", "half_angle_deg": 6, **SHIFT}
    table = ask(**fields)
    stated = ask(**fields, friction=(table.friction.low + table.friction.high) / 2)
    assert stated.friction.static_typical == pytest.approx(table.friction.static_typical)
    assert stated.wedges == table.wedges
    without_fluid = ask(facing="bronze", friction=0.1, half_angle_deg=6, **SHIFT)
    assert without_fluid.friction.static_typical > stated.friction.static_typical


def test_a_face_that_touches_in_part_gets_hotter_by_that_part() -> None:
    whole, half = (ask(**STATED, facing="carbon", contact_share=share) for share in (1.0, 0.5))
    assert half.interface_rise_k == pytest.approx(2 * whole.interface_rise_k, rel=1e-3)


def test_the_curve_is_the_shift_that_the_figures_tell() -> None:
    answer = ask(**STATED, facing="paper", fluid="mtf-75w-80", start_c=-20)
    times = [point.time_s for point in answer.curve]
    assert times == sorted(times)
    assert times[-1] == pytest.approx(answer.wiping_time_s + answer.sync_time_s, rel=1e-3)
    assert answer.curve[0].speed_difference_rpm == 1500 and answer.curve[-1].speed_difference_rpm == 0
    hottest = max(point.interface_c for point in answer.curve)
    assert hottest == pytest.approx(answer.interface_peak_c, rel=1e-3)


def test_an_unknown_facing_or_fluid_is_told_with_the_known_ones(base: KnowledgeBase) -> None:
    with pytest.raises(UnknownIds) as error:
        ask(**SHIFT, facing="bronce", fluid="mtf-75w-81")
    facing, fluid = error.value.items
    assert (facing.pointer, facing.did_you_mean) == ("/facing", "bronze")
    assert fluid.pointer == "/fluid" and set(fluid.known) == set(base.lubricant_rows)


def test_every_rule_says_which_parts_of_the_question_it_reads() -> None:
    assert set(ABOUT) == {rule.id for rule in SHIFT_RULES}
    fields = {f"/{name}" for name in ShiftQuestion.model_fields}
    assert all(set(about) <= fields and len(about) == len(set(about)) for about in ABOUT.values())


CHANGED: dict[str, Any] = {
    "inertia_kg_m2": 0.02, "speed_difference_rpm": 2500, "direction": "down", "drag_nm": 4, "shift_force_n": 900,
    "mean_radius_mm": 35, "half_angle_deg": 9, "cone_half_angle_deg": 7, "face_width_mm": 5, "friction": 0.05,
    "chamfer_included_deg": 100, "chamfer_friction": 0.15, "spline_radius_mm": 41, "sump_c": 140, "shifts": 40,
    "shift_interval_s": 2, "condition": "worn", "detent_force_n": 90, "contact_share": 0.4, "facing": "paper",
    "fluid": "gl-5-75w-90", "cones": 2,
}  # fmt: skip


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
    assert changed <= {rule for rule, about in ABOUT.items() if f"/{field}" in about}
