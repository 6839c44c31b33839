"""A grade as printed, taken apart."""

import pytest

from knowledge.fluids.grades import grade_name


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
    ],
)
def test_a_grade_is_found_in_the_one_scale_that_has_it(base, text, scale, winter, summer) -> None:
    found = grade_name(text, base)
    assert found.scale == scale
    assert (found.winter and found.winter.grade, found.summer and found.summer.grade) == (winter, summer)


@pytest.mark.parametrize("text", [None, "", "W", "-", "90W", "75W-91", "75W-30", "low viscosity", "ISO VG 150"])
def test_what_is_no_grade_is_none(base, text) -> None:
    assert grade_name(text, base) is None


def test_the_two_scales_share_no_name(base) -> None:
    assert not {row.grade for row in base.sae_j306} & {row.grade for row in base.sae_j300}
