"""Figures as they are said to people."""

import pytest

from knowledge.text import about_duration, digits, duration, in_steps, percent


@pytest.mark.parametrize(
    ("least_s", "most_s", "said"),
    [
        (0.0254, 0.0838, "25 to 84 ms"),
        (0.000232, 0.000232, "0.23 ms"),
        (1.375, 1.375, "1.4 s"),
        (0.3, 289, "0.3 to 289 s"),
        (5.5e-8, 0.0004, "0.001 to 0.4 ms"),
    ],
)
def test_a_time_is_told_in_the_unit_that_people_would_use(least_s: float, most_s: float, said: str) -> None:
    assert duration(least_s, most_s) == said


@pytest.mark.parametrize(
    ("value", "most", "said"),
    [
        (1374.2, 3, "1370"),
        (0.01234, 3, "0.0123"),
        (123.4, 2, "120"),
        (1.37e-5, 3, "0.0000137"),
        (-0.0, 3, "0"),
        (2e6, 6, "2000000"),
    ],
)
def test_a_figure_of_few_digits_is_written_out(value: float, most: int, said: str) -> None:
    assert digits(value, most) == said


@pytest.mark.parametrize(("share", "said"), [(0, "0 %"), (9.5e-25, "less than 0.1 %"), (0.0225, "2.2 %"), (1, "100 %")])
def test_a_share_is_told_in_two_digits_and_next_to_nothing_in_words(share: float, said: str) -> None:
    assert percent(share) == said


@pytest.mark.parametrize(
    ("middle_s", "words"),
    [
        (0.055, "about 55 ms (18 to 160)"),
        (0.150, "about 150 ms (50 to over 250)"),
        (0.251, "over 250 ms"),
        (0.0001, "about 0.1 ms (0.033 to 0.3)"),
    ],
)
def test_a_time_known_to_a_factor_is_told_in_two_digits_and_only_so_far(middle_s: float, words: str) -> None:
    """Divided and multiplied by 3, nothing above 250 ms."""
    assert about_duration(middle_s, 3, 0.25) == words


def test_a_judged_temperature_is_told_in_steps_of_five() -> None:
    assert [in_steps(value) for value in (-22.4, -22.6, -1.0, 3.0)] == ["-20", "-25", "0", "5"]
