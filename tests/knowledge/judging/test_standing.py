"""A figure is no better than the weakest of what it was computed from, and no worse."""

import pytest

from knowledge.parts.provenance import Standing, weakest

WORST: Standing = "judgement"
ID = "gl-4-75w-90"
BEARING = {"pitch_diameter_mm": 55.0, "speed_rpm": 2500.0}
MESH = {
    "driving_radius_mm": 25.0, "driven_radius_mm": 50.0, "pressure_angle_deg": 20.0, "speed_rpm": 3000.0,
    "torque_nm": 100.0, "face_width_mm": 25.0, "composite_roughness_um": 0.5,
}  # fmt: skip
GEOMETRY = {"mean_radius_mm": 32.0, "half_angle_deg": 6.5, "face_width_mm": 8.0, "detent_force_n": 60.0}
# Of each figure what of the question it is computed from, and the standings that remain once all of that is stated.
COMPUTED_FROM = {
    "kv_hot_mm2_s": ({"sump_hot_c": 90.0}, set()),
    "kv_cold_mm2_s": ({"coldest_start_c": -15.0}, set()),
    "bearing_ratio": ({"sump_hot_c": 90.0, "bearing": BEARING}, set()),
    "film_lambda": ({"sump_hot_c": 90.0, "mesh": MESH}, set()),
    # Land sizes, what is slow, and how far a family lowers friction are judged whatever is stated.
    "wiping_time_s": ({"coldest_start_c": -15.0, "ring_geometry": GEOMETRY}, {WORST}),
    "shifts_freely_above_c": ({"ring_geometry": GEOMETRY}, {WORST}),
    "blocking_reserve": ({"ring_geometry": GEOMETRY}, {WORST}),
    "interface_peak_c": ({"sump_hot_c": 90.0, "ring_geometry": GEOMETRY}, {WORST}),
}


@pytest.mark.parametrize("name", COMPUTED_FROM)
def test_a_figure_rests_on_judgement_only_where_something_judged_went_in(box, figure, name) -> None:
    stated, remains = COMPUTED_FROM[name]
    whole = box("bronze", bearing=BEARING, mesh=MESH, ring_geometry=GEOMETRY)
    assert {figure(whole, ID, name).rests_on} & {WORST} == remains
    for field in stated:
        assert figure({**whole, field: None}, ID, name).rests_on == WORST


def test_every_figure_that_rules_compute_is_among_these(box, judge, place_of) -> None:
    assert {found.name for found in judge(**box("bronze")).figures(place_of[ID])} == set(COMPUTED_FROM)


@pytest.mark.parametrize("name", ["kv_hot_mm2_s", "kv_cold_mm2_s"])
def test_a_viscosity_at_a_stated_temperature_rests_on_its_class(base, box, figure, name) -> None:
    for row in base.lubricants:
        found = figure(box("bronze"), row.id, name)
        assert found is None or found.rests_on == row.standing


def test_a_bearing_ratio_rests_on_the_formula_too(base, box, figure) -> None:
    formula = base.sources["iso-281-2007"].standing
    for row in base.lubricants:
        found = figure(box("bronze", bearing=BEARING), row.id, "bearing_ratio")
        assert found.rests_on == weakest(row.standing, formula)


@pytest.mark.parametrize(
    ("rule", "id", "limits"),
    [
        ("lined-rings-burn-under-thick-gear-oil", "gl-4-80w-90",
         {"lining-kv100-below": 13.5, "lining-gear-oil-kv100-below": 11.0}),
        ("bearings-need-viscosity-when-hot", "mtf-75w-80",
         {"bearing-ratio-refused-below": 0.4, "bearing-ratio-additive-below": 1.0}),
        ("bearings-need-viscosity-when-hot", "gl-1-90",
         {"bearing-ratio-refused-below": 0.4, "bearing-ratio-additive-below": 1.0}),
        ("cold-first-shifts-need-the-film-wiped", "mtf-75w-80",
         {"wiping-time-slow-from": 0.06, "wiping-time-hard-from": 0.25, "drag-share-slow-from": 0.5,
          "drag-share-hard-from": 1.0}),
    ],
)  # fmt: skip
def test_a_finding_names_the_limits_it_was_held_against_with_their_standing(base, box, finds, rule, id, limits) -> None:
    used = finds(box("paper"), id, rule).limits
    assert {limit.id: limit.value for limit in used} == limits
    for limit in used:
        quantity = base.quantity(limit.id)
        assert (limit.unit, limit.standing) == (quantity.unit, quantity.standing)


def test_what_is_not_concerned_names_no_limit(box, finds) -> None:
    assert finds(box("bronze"), "gl-4-80w-90", "lined-rings-burn-under-thick-gear-oil").limits == ()
