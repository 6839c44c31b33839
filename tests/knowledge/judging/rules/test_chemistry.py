"""What an additive does to rings and copper alloys."""

import pytest

SLIP = "limited-slip-modifier-lowers-ring-friction"
COPPER = "full-ep-additives-attack-yellow-metal"
DUAL = "dual-label-speaks-of-gears-only"
MT_1 = "mt-1-is-for-boxes-without-rings"
GL_1 = "gl-1-carries-no-protection"
ENGINE = "engine-oil-shears-down-and-carries-detergent"


@pytest.mark.parametrize("facing", ["bronze", "molybdenum", "sintered", "paper", "carbon"])
def test_a_limited_slip_modifier_makes_any_ring_slip(ask, box, says, facing) -> None:
    finding = says(ask(**box(facing)), "gl-5-limited-slip-75w-90", SLIP)
    assert finding.effect == "excludes"
    assert finding.severity == "danger"
    assert "limited-slip" in finding.text


def test_a_limited_slip_modifier_has_no_ring_to_make_slip_in_a_box_without_any(ask, box, says) -> None:
    assert says(ask(**box(None)), "gl-5-limited-slip-75w-90", SLIP).effect == "supports"


def test_a_limited_slip_oil_that_the_service_data_names_is_warned_of(ask, box, says) -> None:
    named = {"family": "gl-5-limited-slip", "grade": "75W-90"}
    answer = ask(**box("molybdenum", service_data=named))
    assert says(answer, "gl-5-limited-slip-75w-90", SLIP).effect == "cautions"
    assert says(answer, "gl-5-limited-slip-80w-90", SLIP).effect == "excludes"


@pytest.mark.parametrize(
    ("question", "part"),
    [
        (("bronze", {}), "bronze rings"),
        (("sintered", {"body": "steel"}), "sintered metal ring facings"),
        (("molybdenum", {"body": "bronze"}), "ring bodies"),
        (("molybdenum", {"yellow_metal": True}), "yellow-metal parts"),
        ((None, {"yellow_metal": True}), "yellow-metal parts"),
    ],
)
def test_full_ep_additives_attack_whatever_is_copper_and_the_finding_names_it(ask, box, says, question, part) -> None:
    facing, changes = question
    finding = says(ask(**box(facing, **changes)), "gl-5-80w-90", COPPER)
    assert finding.effect == "excludes"
    assert part in finding.text


def test_heat_makes_the_attack_on_copper_a_danger(ask, box, says) -> None:
    warm = says(ask(**box("bronze", sump_hot_c=90.0)), "gl-5-80w-90", COPPER)
    hot = says(ask(**box("bronze", sump_hot_c=115.0)), "gl-5-80w-90", COPPER)
    assert (warm.severity, hot.severity) == ("warning", "danger")
    assert "faster" in hot.text and "faster" not in warm.text


def test_full_ep_additives_are_harmless_where_there_is_no_copper(ask, box, says) -> None:
    finding = says(ask(**box("molybdenum")), "gl-5-80w-90", COPPER)
    assert finding.effect == "supports"
    assert "No copper alloy" in finding.text


def test_a_good_copper_strip_turns_the_refusal_into_care(ask, box, says) -> None:
    """MT-1 as a category allows no more than 2a at 121 °C (astm-d5760, from memory)."""
    finding = says(ask(**box(None, yellow_metal=True)), "mt-1-80w-90", COPPER)
    assert finding.effect == "cautions"
    assert "2a" in finding.text and "121" in finding.text


@pytest.mark.parametrize("id", ["gl-4-75w-90", "mtf-75w-80", "atf-standard"])
def test_moderate_additives_do_not_attack_copper(ask, box, says, id) -> None:
    assert says(ask(**box("bronze")), id, COPPER).effect == "supports"


def test_a_dual_label_is_treated_as_gl_5(ask, box, says) -> None:
    answer = ask(**box("bronze"))
    assert says(answer, "gl-4-gl-5-75w-90", DUAL).effect == "cautions"
    assert "GL-5" in says(answer, "gl-4-gl-5-75w-90", DUAL).text
    assert says(answer, "gl-4-gl-5-75w-90", COPPER).effect == "excludes"
    assert says(answer, "gl-4-75w-90", DUAL).effect == "supports"


def test_mt_1_is_refused_with_rings_and_welcome_without(ask, box, says) -> None:
    assert says(ask(**box("bronze")), "mt-1-80w-90", MT_1).effect == "excludes"
    without = says(ask(**box(None)), "mt-1-80w-90", MT_1)
    assert without.effect == "supports"
    assert "MT-1" in without.text


@pytest.mark.parametrize(
    ("duty", "named", "effect"),
    [("street", False, "excludes"), ("street", True, "supports"), ("towing", True, "cautions")],
)
def test_gl_1_is_for_light_boxes_that_name_it(ask, box, says, duty, named, effect) -> None:
    service_data = {"family": "gl-1", "grade": "90"} if named else None
    finding = says(ask(**box("bronze", duty=duty, coldest_start_c=5.0, service_data=service_data)), "gl-1-90", GL_1)
    assert finding.effect == effect
    assert "GL-1" in finding.text


@pytest.mark.parametrize(("named", "effect"), [(False, "cautions"), (True, "supports")])
def test_engine_oil_is_warned_of_unless_named(ask, box, says, named, effect) -> None:
    service_data = {"family": "engine-oil", "grade": "10W-30"} if named else None
    finding = says(ask(**box("bronze", service_data=service_data)), "engine-oil-10w-30", ENGINE)
    assert finding.effect == effect
    assert "shear" in finding.text
