"""The published scales: a row that breaks the order, the windows or the fits is told where it stands."""

import pytest

BREAKS = {
    "a grade that stands twice": ("sae_j306.csv", "\n2019,85,,11.0,13.5", "\n2019,80,,11.0,13.5", "grade"),
    "a grade out of order": ("sae_j306.csv", "\n2019,85,,11.0,13.5", "\n2019,8,,11.0,13.5", "grade"),
    "a grade that is none": ("sae_j306.csv", "\n2019,85,,11.0,13.5", "\n2019,-85,,11.0,13.5", "grade"),
    "a window that leaves a gap": ("sae_j306.csv", "\n2019,85,,11.0,13.5", "\n2019,85,,11.2,13.5", "kv100_min_mm2_s"),
    "a W grade without its cold limit": ("sae_j306.csv", "\n2005,75W,-40,", "\n2005,75W,,", "grade"),
    "a W grade colder than the one before": ("sae_j306.csv", "\n2005,75W,-40,", "\n2005,75W,-60,", "cold_limit_c"),
    "a window upside down": ("sae_j300.csv", "9.3,12.5,2.9", "9.3,1.25,2.9", "kv100_max_mm2_s"),
    "a cranking limit that is gone": ("sae_j300.csv", "\n5W,6600,-30,", "\n5W,6600,,", "cranking_temperature_c"),
    "grades that overlap": ("iso_3448.csv", "\n32,32,10", "\n32,32,50", "midpoint_mm2_s"),
    "a fit that does not meet the next": ("astm_d2270.csv", "0.26665,6.7015", "0.26665,6.8015", "h_a"),
    "a rating out of order": ("copper_strip.csv", "\n2a,", "\n1a,", "rating"),
    "a rating that reassures after one that does not": (
        "copper_strip.csv",
        "Silvery.,false",
        "Silvery.,true",
        "reassuring",
    ),
}


@pytest.mark.parametrize("case", BREAKS)
def test_a_row_that_breaks_a_scale_is_told_at_its_cell(spoilt, place, case: str) -> None:
    file, old, new, column = BREAKS[case]
    here = place(file, old.strip(), column)
    assert here in [(fault.file, fault.line, fault.column) for fault in spoilt(file, old, new)]
