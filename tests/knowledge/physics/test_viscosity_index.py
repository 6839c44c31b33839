"""Viscosity index against the D2270 table of an independent library, and against itself read backwards."""

import itertools
import math

import chemicals
import numpy as np
import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from knowledge.physics.limits import OutOfRange
from knowledge.physics.viscosity_index import (
    kv40_at_viscosity_index_mm2_s,
    kv40_at_viscosity_indices_mm2_s,
    reference_viscosities,
    rounded_viscosity_index,
    viscosity_index,
)


def library_index(kv40, kv100):
    """chemicals works in m²/s and interpolates the table of the standard."""
    return chemicals.viscosity_index(kv40 * 1e-6, kv100 * 1e-6)


# The fits of the standard's appendix are not its table: 0.23 apart at most from 3.5 mm²/s up (found by sweeping
# both), 0.55 from 2 to 3.5, where KV40 hardly exceeds KV100 and the index runs to several hundred.
@pytest.mark.parametrize(("lowest", "highest", "tolerance"), [(3.5, 70.0, 0.3), (2.0, 3.5, 0.6), (70.01, 300.0, 0.01)])
def test_index_agrees_with_the_library_over_the_whole_range(lowest, highest, tolerance, reference_oils):
    for step in range(60):
        kv100 = lowest + (highest - lowest) * step / 60
        h = reference_viscosities(kv100_mm2_s=kv100, reference_oils=reference_oils).h_mm2_s
        for share in (0.70, 0.8, 0.9, 0.99, 1.0, 1.02, 1.15, 1.4):
            if h * share <= kv100:
                continue
            found = viscosity_index(kv40_mm2_s=h * share, kv100_mm2_s=kv100, reference_oils=reference_oils)
            assert found == pytest.approx(library_index(h * share, kv100), abs=tolerance)


def test_reference_viscosities_agree_with_every_row_of_the_library_table(reference_oils):
    table = chemicals.viscosity
    rows = list(zip(table.VI_nus, table.VI_Ls, table.VI_Hs, strict=True))
    assert len(rows) == 311
    for nu, l_value, h_value in rows:
        scale = 1e6 if nu < 1e-3 else 1.0
        if nu * scale < 2.0:
            continue
        found = reference_viscosities(kv100_mm2_s=float(nu) * scale, reference_oils=reference_oils)
        assert found.l_mm2_s == pytest.approx(float(l_value) * scale, rel=1.2e-3)
        assert found.h_mm2_s == pytest.approx(float(h_value) * scale, rel=1.2e-3)


def test_coefficient_rows_join_without_gap(reference_oils):
    for row, following in itertools.pairwise(reference_oils):
        assert row.kv100_max_mm2_s == following.kv100_min_mm2_s
    assert reference_oils[-1].kv100_max_mm2_s is None


@given(kv100=st.floats(2.0, 200.0), index=st.floats(-100.0, 150.0))
@example(kv100=8.86, index=100.0)  # where one procedure follows the other
def test_kv40_of_an_index_has_that_index(kv100, index, reference_oils):
    kv40 = kv40_at_viscosity_index_mm2_s(viscosity_index=index, kv100_mm2_s=kv100, reference_oils=reference_oils)
    found = viscosity_index(kv40_mm2_s=kv40, kv100_mm2_s=kv100, reference_oils=reference_oils)
    assert found == pytest.approx(index, abs=1e-8)


@given(kv100=st.floats(2.5, 100.0), kv40_share=st.floats(0.75, 1.4), thinner=st.floats(0.90, 0.999))
def test_index_rises_as_kv40_falls_at_the_same_kv100(kv100, kv40_share, thinner, reference_oils):
    h = reference_viscosities(kv100_mm2_s=kv100, reference_oils=reference_oils).h_mm2_s
    kv40 = max(h * kv40_share, kv100 * 1.2)
    low = viscosity_index(kv40_mm2_s=kv40, kv100_mm2_s=kv100, reference_oils=reference_oils)
    high = viscosity_index(kv40_mm2_s=kv40 * thinner, kv100_mm2_s=kv100, reference_oils=reference_oils)
    assert high > low


@pytest.mark.parametrize("kv100", [2.0, 5.05, 8.86, 26.5, 70.0, 150.0])
def test_both_procedures_meet_at_100(kv100, reference_oils):
    h = reference_viscosities(kv100_mm2_s=kv100, reference_oils=reference_oils).h_mm2_s
    for kv40 in (h, math.nextafter(h, 0), math.nextafter(h, math.inf)):
        found = viscosity_index(kv40_mm2_s=kv40, kv100_mm2_s=kv100, reference_oils=reference_oils)
        assert found == pytest.approx(100, abs=1e-9)


@pytest.mark.parametrize(("index", "reported"), [(96.499, 96), (96.501, 97), (-0.499, 0), (-0.501, -1), (140.501, 141)])
def test_an_index_is_reported_as_the_nearest_whole_number(index, reported, reference_oils):
    kv40 = kv40_at_viscosity_index_mm2_s(viscosity_index=index, kv100_mm2_s=9.0, reference_oils=reference_oils)
    found = rounded_viscosity_index(kv40_mm2_s=kv40, kv100_mm2_s=9.0, reference_oils=reference_oils)
    assert found == reported
    assert isinstance(found, int)


@pytest.mark.parametrize("kv100", [2.0, 8.86, 80.0])
def test_highest_index_is_that_of_oil_hardly_thinner_when_hot(kv100, reference_oils):
    with pytest.raises(OutOfRange) as refusal:
        kv40_at_viscosity_index_mm2_s(viscosity_index=1e9, kv100_mm2_s=kv100, reference_oils=reference_oils)
    highest = refusal.value.high
    barely = viscosity_index(kv40_mm2_s=kv100 * (1 + 1e-9), kv100_mm2_s=kv100, reference_oils=reference_oils)
    assert highest == pytest.approx(barely, rel=1e-6)
    with pytest.raises(OutOfRange, match=r"^viscosity index \d+\S* is out of range: -inf to \d+\S*\.$"):
        kv40_at_viscosity_index_mm2_s(viscosity_index=highest, kv100_mm2_s=kv100, reference_oils=reference_oils)


@pytest.mark.parametrize("index", [5000.0, math.inf, -math.inf, math.nan])
def test_no_kv40_for_an_index_that_would_need_oil_thickening_with_heat(index, reference_oils):
    with pytest.raises(OutOfRange):
        kv40_at_viscosity_index_mm2_s(viscosity_index=index, kv100_mm2_s=8.86, reference_oils=reference_oils)


@pytest.mark.parametrize("kv100", [4.1, 8.86, 41.0])
def test_many_kv40_are_those_of_each_index_by_itself(kv100, reference_oils):
    indices = np.linspace(-20, 220, 49)
    found = kv40_at_viscosity_indices_mm2_s(viscosity_indices=indices, kv100_mm2_s=kv100, reference_oils=reference_oils)
    expected = [
        kv40_at_viscosity_index_mm2_s(viscosity_index=index, kv100_mm2_s=kv100, reference_oils=reference_oils)
        for index in indices.tolist()
    ]
    assert found.tolist() == pytest.approx(expected, rel=1e-12)
    beyond = np.array([100.0, 5000.0])
    out = kv40_at_viscosity_indices_mm2_s(viscosity_indices=beyond, kv100_mm2_s=kv100, reference_oils=reference_oils)
    assert np.isnan(out).tolist() == [False, True]
