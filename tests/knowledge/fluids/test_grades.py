"""A grade as printed, taken apart."""

import pytest

from knowledge.fluids.grades import grade_name, printed


@pytest.mark.parametrize(
    ("text", "scale", "winter", "summer"),
    [
        ("75W-90", "sae-j306", "75W", "90"),
        ("SAE 75w 90", "sae-j306", "75W", "90"),
        ("75W90", "sae-j306", "75W", "90"),
        ("80W", "sae-j306", "80W", None),
        ("140", "sae-j306", None, "140"),
        ("10W-30", "sae-j300", "10W", "30"),
        ("0w20", "sae-j300", "0W", "20"),
        ("50", "sae-j300", None, "50"),
        ("80W-90 (2005)", "sae-j306", "80W", "90"),
        ("70W-75W", "sae-j306", "70W", "75"),
        ("75/90", "sae-j306", "75W", "90"),
        ("7590", "sae-j306", "75W", "90"),
        ("85140", "sae-j306", "85W", "140"),
        ("90 weight", "sae-j306", None, "90"),
        ("90wt", "sae-j306", None, "90"),
        ("EP 90", "sae-j306", None, "90"),
        ("HD 30", "sae-j300", None, "30"),
        ("20W-50", "sae-j300", "20W", "50"),
    ],
)
def test_a_grade_is_found_in_the_one_scale_that_has_it(base, text, scale, winter, summer) -> None:
    found = grade_name(text, base)
    assert found.scale == scale
    assert (found.winter and found.winter.grade, found.summer and found.summer.grade) == (winter, summer)


@pytest.mark.parametrize(
    "text", [None, "", "W", "-", "90W", "75W-91", "75W-30", "low viscosity", "ISO VG 150", "75W-80/75W-85"]
)
def test_what_is_no_grade_is_none(base, text) -> None:
    assert grade_name(text, base) is None


@pytest.mark.parametrize(
    ("text", "grades", "family"),
    [
        ("75W-80/75W-85", ("75W-80", "75W-85"), None),
        ("ISO VG 100", ("85",), None),
        ("ISO VG 46", (), None),
        ("API GL-4/GL-5 SAE 80W-90", ("80W-90",), "gl-4-gl-5"),
        ("75W-90 GL-5 LS", ("75W-90",), "gl-5-limited-slip"),
        ("GL-4+ 75W-80", ("75W-80",), "gl-4"),
        ("motor oil 30", ("30",), "engine-oil"),
        ("hypoid 90", ("90",), None),
        ("ATF type 4", (), "atf"),
        ("low viscosity", ("low viscosity",), None),
    ],
)
def test_a_text_is_read_as_its_grades_and_the_family_beside_them(base, text, grades, family) -> None:
    """Common practice, no source: how grades are printed and said."""
    found = printed(text, base)
    assert (found.grades, found.family) == (grades, family)


def test_every_class_is_read_as_its_own_grade(base) -> None:
    assert all(printed(oil.grade, base).grades == (oil.grade,) for oil in base.lubricants)


def test_the_two_scales_share_no_name(base) -> None:
    assert not {row.grade for row in base.sae_j306} & {row.grade for row in base.sae_j300}
