"""The hot side: bearings and gear teeth at the hottest sump."""

import inspect
from dataclasses import replace

import pytest

from knowledge.box.question import Bearing
from knowledge.judging.rules.hot import bearings_need_viscosity_when_hot, gear_film_sets_the_protection_needed
from knowledge.physics.viscosity import viscosity_line

BEARING = "bearings-need-viscosity-when-hot"
FILM = "gear-film-sets-the-protection-needed"


@pytest.mark.parametrize(
    ("id", "sump", "effect", "words"),
    [
        ("gl-4-80w-90", 90.0, "supports", "comfortable"),
        ("mtf-75w-80", 100.0, "supports", "antiwear additive"),
        ("mtf-75w-75", 130.0, "cautions", "a thicker grade is safer"),
        ("mtf-75w-80", 120.0, "cautions", "ask the data sheet for a KV100 of at least"),
        ("atf-low-viscosity", 130.0, "excludes", "too thin"),
    ],
)
def test_a_bearing_is_judged_by_its_viscosity_ratio(ask, box, says, id, sump, effect, words) -> None:
    finding = finds(box("molybdenum", sump_hot_c=sump, duty="towing"), id, BEARING)
    assert finding.effect == effect
    assert words in finding.text
    assert f"{sump:g} °C" in finding.text
    assert {figure.name for figure in finding.figures} == {"kv_hot_mm2_s", "bearing_ratio"}


def test_the_kv100_that_is_asked_for_lies_within_the_band(ask, box, says, oil) -> None:
    told = 0
    for sump in (120.0, 125.0, 130.0):
        answer = ask(**box("molybdenum", sump_hot_c=sump, duty="towing"))
        for item in answer.candidates:
            finding = says(answer, item.lubricant.id, BEARING)
            if "at least " in finding.text:
                asked = float(finding.text.split("at least ")[1].split()[0])
                band = oil(item.lubricant.id)
                assert band.kv100_min_mm2_s <= asked <= band.kv100_max_mm2_s
                told += 1
    assert told


def test_an_oil_without_antiwear_must_part_the_surfaces_by_itself(ask, box, says) -> None:
    finding = finds(box("bronze", coldest_start_c=5.0, sump_hot_c=115.0), "gl-1-90", BEARING)
    assert finding.effect in ("cautions", "excludes")
    assert finding.margin < 1


def test_a_slower_bearing_needs_a_thicker_oil(ask, box, says) -> None:
    fast = box("molybdenum", bearing={"pitch_diameter_mm": 55.0, "speed_rpm": 2500.0})
    slow = box("molybdenum", bearing={"pitch_diameter_mm": 55.0, "speed_rpm": 400.0})
    assert finds(slow, "mtf-75w-75", BEARING).margin < finds(fast, "mtf-75w-75", BEARING).margin


@pytest.mark.parametrize(
    ("id", "sump", "effect", "words"),
    [
        ("gl-4-75w-90", 90.0, "supports", "additives of this family"),
        ("mtf-75w-80", 90.0, "supports", "additives of this family"),
        ("atf-standard", 90.0, "cautions", "thin for a light antiwear"),
        ("gl-1-90", 90.0, "excludes", "has none"),
    ],
)
def test_a_thin_gear_film_leaves_the_load_to_the_additives(ask, box, says, id, sump, effect, words) -> None:
    finding = finds(box("molybdenum", sump_hot_c=sump), id, FILM)
    assert finding.effect == effect
    assert words in finding.text
    assert [figure.name for figure in finding.figures] == ["film_lambda"]


def test_smooth_teeth_are_parted_by_the_film_itself(ask, box, says) -> None:
    mesh = {
        "driving_radius_mm": 25.0, "driven_radius_mm": 50.0, "pressure_angle_deg": 20.0, "speed_rpm": 3000.0,
        "torque_nm": 100.0, "face_width_mm": 25.0, "composite_roughness_um": 0.05,
    }  # fmt: skip
    finding = finds(box("molybdenum", mesh=mesh), "atf-standard", FILM)
    assert finding.effect == "supports"
    assert "by itself" in finding.text


def test_a_light_additive_that_the_service_data_names_is_not_warned_of(ask, box, says) -> None:
    answer = ask(**box("molybdenum", service_data={"family": "atf"}))
    assert says(answer, "atf-standard", FILM).effect == "supports"


@pytest.mark.parametrize("rule", [bearings_need_viscosity_when_hot, gear_film_sets_the_protection_needed])
def test_a_viscosity_that_cannot_be_computed_is_told_and_not_guessed(rule, base, oil) -> None:
    """An oil as thin as petrol at 40 °C leaves the range of ASTM D341 in a hot sump."""
    thin = oil("atf-low-viscosity")
    line = viscosity_line(kv40_mm2_s=0.5, kv100_mm2_s=0.3)
    spirit = replace(thin, corners=tuple(replace(corner, line=line) for corner in thin.corners))
    bearing = Bearing(**{row.quantity: row.value for row in base.defaults if row.part == "bearing"})
    given = {"sump_hot_c": 200.0, "bearing": bearing, "oil": spirit, "base": base}
    said = rule.judge(**{name: given.get(name) for name in inspect.signature(rule.judge).parameters})
    assert said.effect == "no-data"
    assert "D341" in said.text


def test_the_ratios_hold_those_of_typical_oils(ask, box, of) -> None:
    """Bearing 55 mm, 2500 rpm; ratios worked out by hand for typical oils, whose bands are narrower than a class.

    The classes run to the edges of their grade and their viscosity index, so theirs must enclose these.
    """
    typical = {
        ("atf-low-viscosity", "atf-standard"): {90.0: (0.55, 0.76), 120.0: (0.32, 0.44)},
        ("mtf-75w-75",): {90.0: (0.65, 0.86), 120.0: (0.38, 0.49)},
        ("mtf-75w-80",): {90.0: (0.86, 1.11), 120.0: (0.49, 0.62)},
        ("gl-4-75w-90",): {90.0: (1.38, 1.92), 120.0: (0.76, 1.01)},
    }
    for ids, ratios in typical.items():
        for sump, (low, high) in ratios.items():
            answer = ask(**box("bronze", sump_hot_c=sump, duty="towing"))
            figures = [of(answer, id).figures.bearing_ratio for id in ids]
            assert min(figure.min for figure in figures) <= low + 0.005
            assert max(figure.max for figure in figures) >= high - 0.005


def test_a_class_whose_thick_edge_is_near_the_limit_too_is_not_told_a_kv100(ask, box, says) -> None:
    answer = ask(**box("carbon", coldest_start_c=0.0, sump_hot_c=150.0, duty="competition"))
    finding = says(answer, "mtf-75w-85", BEARING)
    thickest = max(figure.max for figure in finding.figures if figure.name == "bearing_ratio")
    assert thickest < 0.5
    assert "at least" not in finding.text.partition("least:")[2]
