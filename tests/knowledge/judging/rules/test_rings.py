"""What the friction material of the rings asks of a fluid; cases are common practice, no source, unless said."""

import pytest

LINING = "lined-rings-burn-under-thick-gear-oil"
DEDICATED = "lined-rings-take-dedicated-fluid"
METAL = "solid-and-sprayed-rings-take-gl-4-or-dedicated-fluid"
SINTERED = "sintered-rings-answer-fluids-their-own-way"
NO_RINGS = "unsynchronized-boxes-take-gear-oil"
MIXED = "mixed-sets-follow-the-most-demanding-ring"
TOWING = {"duty": "towing", "sump_hot_c": 105.0}


@pytest.mark.parametrize("facing", ["paper", "carbon"])
@pytest.mark.parametrize(
    ("id", "effect", "word"),
    [
        ("gl-5-75w-85", "excludes", "GL-5 additives"),
        ("gl-4-gl-5-75w-80", "excludes", "Dual GL-4/GL-5 additives"),
        ("gl-4-80w-90", "excludes", "too thick"),
        ("mtf-75w-90", "excludes", "too thick"),
        ("engine-oil-40", "cautions", "KV100 below 13.5"),
        ("mtf-75w-80", "supports", "Thin enough"),
        ("atf-standard", "supports", "Thin enough"),
    ],
)
def test_a_lining_burns_under_thick_or_full_ep_oil(ask, box, says, facing, id, effect, word) -> None:
    finding = says(ask(**box(facing)), id, LINING)
    assert finding.effect == effect
    assert word in finding.text
    assert facing in finding.text
    assert finding.severity == ("danger" if effect == "excludes" else finding.severity)


def test_a_solid_ring_has_no_lining_to_burn(ask, box, says) -> None:
    finding = says(ask(**box("bronze")), "gl-4-80w-90", LINING)
    assert finding.effect == "supports"
    assert "no lining" in finding.text


@pytest.mark.parametrize(
    ("id", "effect"),
    [
        ("mtf-75w-80", "supports"),
        ("atf-standard", "cautions"),
        ("gl-4-75w-80", "cautions"),
        ("gl-3-75w-80", "excludes"),
        ("engine-oil-5w-30", "excludes"),
    ],
)
def test_a_lining_takes_a_dedicated_fluid_before_any_other(ask, box, says, id, effect) -> None:
    finding = says(ask(**box("paper")), id, DEDICATED)
    assert finding.effect == effect
    assert "paper" in finding.text


def test_engine_oil_serves_a_lining_where_the_service_data_names_it(ask, box, says) -> None:
    answer = ask(**box("paper", service_data={"family": "engine-oil", "grade": "5W-30"}))
    assert says(answer, "engine-oil-5w-30", DEDICATED).effect == "supports"
    assert says(answer, "engine-oil-10w-30", DEDICATED).effect == "excludes"


@pytest.mark.parametrize("facing", ["bronze", "molybdenum"])
@pytest.mark.parametrize(
    ("id", "duty", "effect"),
    [
        ("gl-4-75w-90", {}, "supports"),
        ("mtf-75w-80", {}, "supports"),
        ("gl-3-80w-90", {}, "cautions"),
        ("atf-standard", {}, "cautions"),
        ("atf-standard", TOWING, "excludes"),
        ("engine-oil-10w-30", TOWING, "excludes"),
        ("mt-1-80w-90", {}, "excludes"),
    ],
)
def test_bronze_and_molybdenum_take_gl_4_or_a_dedicated_fluid(ask, box, says, facing, id, duty, effect) -> None:
    finding = says(ask(**box(facing, **duty)), id, METAL)
    assert finding.effect == effect
    if effect != "supports":
        assert facing in finding.text or "MT-1" in finding.text


@pytest.mark.parametrize(
    ("id", "effect"),
    [("mtf-75w-80", "supports"), ("gl-4-75w-80", "cautions"), ("atf-standard", "excludes"), ("gl-1-90", "excludes")],
)
def test_sintered_rings_take_a_dedicated_fluid_first(ask, box, says, id, effect) -> None:
    finding = says(ask(**box("sintered")), id, SINTERED)
    assert finding.effect == effect
    assert "sintered" in finding.text


def test_gl_4_suits_sintered_rings_where_the_service_data_names_it(ask, box, says) -> None:
    answer = ask(**box("sintered", service_data={"family": "gl-4", "grade": "75W-80"}))
    assert says(answer, "gl-4-75w-80", SINTERED).effect == "supports"


@pytest.mark.parametrize(
    ("id", "effect"),
    [
        ("mt-1-80w-90", "supports"),
        ("gl-5-80w-90", "supports"),
        ("gl-4-80w-90", "supports"),
        ("mtf-75w-80", "cautions"),
        ("atf-standard", "excludes"),
    ],
)
def test_a_box_without_rings_is_filled_for_its_gears(ask, box, says, id, effect) -> None:
    assert says(ask(**box(None)), id, NO_RINGS).effect == effect


def test_a_box_with_rings_is_not_judged_as_one_without(ask, box, says) -> None:
    finding = says(ask(**box("bronze")), "atf-standard", NO_RINGS)
    assert finding.effect == "supports"
    assert "has synchronizer rings" in finding.text


def two_kinds(box, *facings: str) -> dict:
    """A box with a new steel-bodied ring set of each facing."""
    rings = [{"facing": facing, "body": "steel", "cones": 1, "condition": "new"} for facing in facings]
    return box("molybdenum", rings=rings)


@pytest.mark.parametrize(
    ("facings", "id", "decides"),
    [
        (("molybdenum", "paper"), "gl-4-75w-80", "paper"),
        (("molybdenum", "carbon"), "gl-4-75w-80", "carbon"),
        (("bronze", "sintered"), "gl-4-75w-80", "sintered"),
        (("paper", "bronze"), "engine-oil-5w-30", "paper"),
        (("paper", "sintered"), "atf-standard", "sintered"),
    ],
)
def test_in_a_mixed_set_the_ring_that_is_served_worst_decides(ask, box, says, facings, id, decides) -> None:
    finding = says(ask(**two_kinds(box, *facings)), id, MIXED)
    assert finding.effect == "cautions"
    assert f"the {decides} ones decide" in finding.text


def test_a_fluid_that_suits_every_ring_of_a_mixed_set_is_told_so(ask, box, says) -> None:
    finding = says(ask(**two_kinds(box, "bronze", "paper")), "mtf-75w-80", MIXED)
    assert finding.effect == "supports"
    assert "bronze" in finding.text and "paper" in finding.text


def test_one_kind_of_ring_is_no_mixed_set(ask, box, says) -> None:
    assert says(ask(**box("paper")), "gl-4-75w-80", MIXED).effect == "supports"
