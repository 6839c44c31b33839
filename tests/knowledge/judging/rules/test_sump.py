"""What else shares the sump: final drives and clutches; common practice, no source, unless said."""

import pytest

HYPOID = "hypoid-final-drive-needs-full-ep"
HELICAL = "helical-final-drive-needs-antiwear"
CLUTCHES = {
    "limited_slip": ("limited-slip-clutch-needs-its-own-fluid", "limited-slip clutch pack"),
    "wet_clutch": ("wet-clutch-needs-its-own-fluid", "wet clutch"),
}


@pytest.mark.parametrize("id", ["gl-4-75w-90", "mtf-75w-80", "gl-1-90", "mt-1-80w-90"])
def test_a_hypoid_drive_refuses_what_is_not_of_gl_5_level(ask, box, says, id) -> None:
    finding = says(ask(**box(None, final_drive="hypoid")), id, HYPOID)
    assert finding.effect == "excludes"
    assert "hypoid" in finding.text and "GL-5" in finding.text


def test_gl_5_serves_a_hypoid_drive_with_care_where_rings_share_the_oil(ask, box, says) -> None:
    finding = says(ask(**box("molybdenum", final_drive="hypoid")), "gl-5-80w-90", HYPOID)
    assert finding.effect == "cautions"
    assert "service data" in finding.text


def test_gl_5_serves_a_hypoid_drive_plainly_without_rings(ask, box, says) -> None:
    assert says(ask(**box(None, final_drive="hypoid")), "gl-5-80w-90", HYPOID).effect == "supports"


def test_gl_4_serves_a_hypoid_drive_with_care_where_the_service_data_names_it(ask, box, says) -> None:
    answer = ask(**box("molybdenum", final_drive="hypoid", service_data={"family": "gl-4", "grade": "75W-90"}))
    assert says(answer, "gl-4-75w-90", HYPOID).effect == "cautions"
    assert says(answer, "gl-4-80w-90", HYPOID).effect == "excludes"


@pytest.mark.parametrize(
    ("id", "effect"),
    [
        ("gl-1-90", "excludes"),
        ("atf-standard", "cautions"),
        ("engine-oil-10w-30", "cautions"),
        ("gl-3-80w-90", "cautions"),
        ("mtf-75w-80", "supports"),
        ("gl-4-75w-90", "supports"),
    ],
)
def test_a_helical_drive_asks_for_antiwear_of_gl_4_level(ask, box, says, id, effect) -> None:
    finding = says(ask(**box("bronze", final_drive="helical")), id, HELICAL)
    assert finding.effect == effect
    assert "helical" in finding.text


def test_atf_serves_a_helical_drive_where_the_service_data_names_it(ask, box, says) -> None:
    answer = ask(**box("bronze", final_drive="helical", service_data={"family": "atf"}))
    assert says(answer, "atf-standard", HELICAL).effect == "supports"


@pytest.mark.parametrize("part", CLUTCHES)
def test_a_clutch_in_the_oil_is_more_than_a_class_can_promise(ask, box, says, part) -> None:
    rule, words = CLUTCHES[part]
    answer = ask(**box("bronze", final_drive="helical", **{part: True}))
    for item in answer.candidates:
        finding = says(answer, item.lubricant.id, rule)
        assert finding.effect == "cautions"
        assert words in finding.text.lower()


@pytest.mark.parametrize("part", CLUTCHES)
def test_a_clutch_is_served_by_what_the_service_data_names(ask, box, says, part) -> None:
    rule, _ = CLUTCHES[part]
    named = {"family": "mtf", "grade": "75W-80"}
    answer = ask(**box("bronze", final_drive="helical", service_data=named, **{part: True}))
    assert says(answer, "mtf-75w-80", rule).effect == "supports"
    assert says(answer, "mtf-75w-85", rule).effect == "cautions"


@pytest.mark.parametrize("rule", [HYPOID, HELICAL, *(rule for rule, _ in CLUTCHES.values())])
def test_a_gearbox_that_shares_its_oil_with_nothing_is_not_concerned(ask, box, says, rule) -> None:
    answer = ask(**box("bronze"))
    assert {says(answer, item.lubricant.id, rule).effect for item in answer.candidates} == {"supports"}
