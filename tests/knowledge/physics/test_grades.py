"""Grade laws that hold for every oil; single oils and window edges are in tests/golden/grades.toml."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from knowledge.physics.grades import iso_viscosity_grade, j300_grades, j306_grade

W_GRADES_COLDEST_FIRST = ["70W", "75W", "80W", "85W", None]


@given(kv100=st.floats(3.8, 1e6))
def test_hot_windows_of_2019_cover_everything_from_3_8_up_once(kv100, j306_2019):
    holding = [
        row.grade
        for row in j306_2019
        if row.cold_limit_c is None and kv100 >= row.kv100_min_mm2_s and not kv100 >= (row.kv100_max_mm2_s or math.inf)
    ]
    assert len(holding) == 1
    assert j306_grade(kv100_mm2_s=kv100, rows=j306_2019).summer == holding[0]


@given(kv100=st.floats(0.001, 3.7999))
def test_no_grade_below_3_8(kv100, j306_2019):
    assert j306_grade(kv100_mm2_s=kv100, t150_c=-60, rows=j306_2019).name is None


@given(kv100=st.floats(1.0, 60.0), t150=st.floats(-70.0, 10.0), colder_by=st.floats(0.0, 30.0))
def test_flowing_colder_never_costs_a_w_grade(kv100, t150, colder_by, j306_2019):
    rank = W_GRADES_COLDEST_FIRST.index
    before = j306_grade(kv100_mm2_s=kv100, t150_c=t150, rows=j306_2019).winter
    after = j306_grade(kv100_mm2_s=kv100, t150_c=t150 - colder_by, rows=j306_2019).winter
    assert rank(after) <= rank(before)


@given(kv100=st.floats(1.0, 60.0), kept=st.floats(0.3, 1.0), t150=st.floats(-70.0, 10.0))
def test_shearing_never_gives_a_grade_the_fresh_oil_lacks(kv100, kept, t150, j306_2019):
    fresh = j306_grade(kv100_mm2_s=kv100, t150_c=t150, rows=j306_2019)
    sheared = j306_grade(kv100_mm2_s=kv100, kv100_sheared_mm2_s=kv100 * kept, t150_c=t150, rows=j306_2019)
    assert sheared.summer in (fresh.summer, None)
    assert W_GRADES_COLDEST_FIRST.index(sheared.winter) >= W_GRADES_COLDEST_FIRST.index(fresh.winter)


def test_no_w_grade_without_a_measured_temperature(j306_2019):
    assert j306_grade(kv100_mm2_s=9.0, rows=j306_2019) == (None, "80", "80")


def test_sheared_oil_thicker_than_fresh_gains_nothing(j306_2019):
    assert j306_grade(kv100_mm2_s=8.4, kv100_sheared_mm2_s=8.6, t150_c=-30, rows=j306_2019) == (None, "75", "75")


# The two editions differ where SAE J306 of 2019 says so: 70W and 75W minimum, 80W minimum, hot grades below 8.5.
@pytest.mark.parametrize("kv100", [4.0, 6.0, 7.0, 8.0, 8.49])
def test_editions_disagree_below_8_5(kv100, j306_2019, j306_2005):
    old, new = (j306_grade(kv100_mm2_s=kv100, t150_c=-30, rows=rows) for rows in (j306_2005, j306_2019))
    assert old != new


@given(kv100=st.floats(8.5, 100.0), t150=st.floats(-70.0, 10.0))
def test_editions_agree_from_8_5_up(kv100, t150, j306_2019, j306_2005):
    old, new = (j306_grade(kv100_mm2_s=kv100, t150_c=t150, rows=rows) for rows in (j306_2005, j306_2019))
    assert old == new


@given(kv100=st.floats(4.0, 26.0999))
def test_every_engine_oil_in_scope_has_each_candidate_once(kv100, table):
    found = j300_grades(kv100_mm2_s=kv100, rows=table("sae_j300"))
    assert found
    assert len(found) == len(set(found))
    assert not any(grade.endswith("W") for grade in found)


# ISO 3448: limits are the midpoint less and plus 10 %.
def test_iso_limits_are_ten_percent_about_the_midpoint(iso_3448):
    for row in iso_3448:
        assert row.kv40_min_mm2_s == pytest.approx(0.9 * row.midpoint_kv40_mm2_s, rel=1e-9)
        assert row.kv40_max_mm2_s == pytest.approx(1.1 * row.midpoint_kv40_mm2_s, rel=1e-9)
        for kv40 in (row.kv40_min_mm2_s, row.midpoint_kv40_mm2_s, row.kv40_max_mm2_s):
            assert iso_viscosity_grade(kv40_mm2_s=kv40, rows=iso_3448) == row.grade


@given(kv40=st.floats(1.0, 4000.0))
def test_no_oil_has_two_iso_grades(kv40, iso_3448):
    holding = [row.grade for row in iso_3448 if row.kv40_min_mm2_s <= kv40 <= row.kv40_max_mm2_s]
    assert len(holding) <= 1
