"""D341 against an implementation written apart: natural logarithms, terms as a table, roots by scipy."""

import math

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from scipy.optimize import brentq

from knowledge.physics.limits import OutOfRange
from knowledge.physics.viscosity import (
    ViscosityLine,
    kinematic_viscosities_mm2_s,
    kinematic_viscosity_from_z_mm2_s,
    kinematic_viscosity_mm2_s,
    temperature_c,
    viscosity_line,
    viscosity_line_through,
    viscosity_lines,
    viscosity_z,
)

# ASTM D341 terms: sign, constant, factor, upper end of use [mm²/s]; retyped here on purpose.
TERMS = (
    (+1, -1.14883, 2.65868, 2.00),
    (-1, -0.0038138, 12.5645, 1.65),
    (+1, 5.46491, 37.6289, 0.90),
    (-1, 13.0458, 74.6851, 0.30),
    (+1, 37.4619, 192.643, 0.30),
    (-1, 80.4945, 400.468, 0.24),
)
BREAKPOINTS = (0.24, 0.30, 0.90, 1.65, 2.00)


def reference_z(v):
    return (
        v
        + 0.7
        + math.fsum(
            sign * math.exp(constant) / math.exp(factor * v) for sign, constant, factor, end in TERMS if v < end
        )
    )


def reference_viscosity(kv40, kv100, celsius):
    """Interpolates ln ln Z linearly in ln T between the two anchors: no A, no B."""
    share = math.log((celsius + 273.15) / 313.15) / math.log(373.15 / 313.15)
    cold, hot = (math.log(math.log(reference_z(v))) for v in (kv40, kv100))
    z = math.exp(math.exp(cold + share * (hot - cold)))
    if z >= 2.7:
        return z - 0.7
    return brentq(lambda v: reference_z(v) - z, 0.21, 1.9999999, xtol=1e-14, rtol=1e-14)


kv100s = st.floats(2.0, 60.0)
thinning = st.floats(1.5, 25.0)
warm_to_hot = st.floats(-30.0, 150.0)


@given(kv100=kv100s, ratio=thinning, celsius=warm_to_hot)
def test_viscosity_agrees_with_the_independent_form(kv100, ratio, celsius):
    line = viscosity_line(kv40_mm2_s=kv100 * ratio, kv100_mm2_s=kv100)
    expected = reference_viscosity(kv100 * ratio, kv100, celsius)
    assume(0.22 < expected < 1e7 and not 1.6499 < expected < 1.6501 and not 1.998 < expected < 2.002)
    assert kinematic_viscosity_mm2_s(line=line, temperature_c=celsius) == pytest.approx(expected, rel=1e-9)


@pytest.mark.parametrize("v", [0.21, 0.235, 0.24, 0.27, 0.3, 0.5, 0.9, 1.2, 1.64, 1.65, 1.9, 2.0, 5.0, 2e7])
def test_z_agrees_with_the_independent_form(v):
    assert viscosity_z(kinematic_viscosity_mm2_s=v) == pytest.approx(reference_z(v), rel=1e-13)


@given(v=st.one_of(st.floats(0.21, 1.998), st.floats(2.0, 2e7)))
def test_inverse_of_z_is_exact_away_from_the_overlap_at_2(v):
    z = viscosity_z(kinematic_viscosity_mm2_s=v)
    assert kinematic_viscosity_from_z_mm2_s(z=z) == pytest.approx(v, rel=2e-12)


@pytest.mark.parametrize("v", [0.2101, 0.26, 0.45, 1.1, 1.7, 1.99])
def test_inverse_of_z_agrees_with_a_root_finder(v):
    z = reference_z(v)
    low, high = max(b for b in (0.21, *BREAKPOINTS) if b <= v), min(b for b in BREAKPOINTS if b > v) - 1e-12
    root = brentq(lambda x: reference_z(x) - z, low, high, xtol=1e-15, rtol=1e-14)
    assert kinematic_viscosity_from_z_mm2_s(z=z) == pytest.approx(root, rel=1e-12)


@given(v=st.floats(1.9985, 1.999999))
def test_overlap_at_2_returns_the_thicker_viscosity_within_its_stated_error(v):
    back = kinematic_viscosity_from_z_mm2_s(z=viscosity_z(kinematic_viscosity_mm2_s=v))
    assert v < back < v * 1.0008


@pytest.mark.parametrize("breakpoint", [0.24, 0.30, 1.65])
def test_z_between_two_terms_gives_the_breakpoint(breakpoint):
    below, above = reference_z(breakpoint - 1e-12), reference_z(breakpoint)
    assert below < above
    assert kinematic_viscosity_from_z_mm2_s(z=(below + above) / 2) == pytest.approx(breakpoint, rel=1e-10)


@given(kv100=st.floats(0.3, 300.0), ratio=st.floats(1.05, 40.0), cold=warm_to_hot, warmer_by=st.floats(0.01, 100.0))
def test_viscosity_falls_as_oil_warms(kv100, ratio, cold, warmer_by):
    line = viscosity_line(kv40_mm2_s=kv100 * ratio, kv100_mm2_s=kv100)
    try:
        thick = kinematic_viscosity_mm2_s(line=line, temperature_c=cold)
        thin = kinematic_viscosity_mm2_s(line=line, temperature_c=cold + warmer_by)
    except OutOfRange:
        assume(False)
    assert thick >= thin
    assert thick > thin or thin < 2.0  # below 2 it may stand still at a breakpoint of Z


@given(kv100=kv100s, ratio=thinning, celsius=warm_to_hot)
def test_temperature_and_viscosity_are_inverse(kv100, ratio, celsius):
    line = viscosity_line(kv40_mm2_s=kv100 * ratio, kv100_mm2_s=kv100)
    try:
        v = kinematic_viscosity_mm2_s(line=line, temperature_c=celsius)
    except OutOfRange:
        assume(False)
    assume(v > 2.002)
    assert temperature_c(line=line, kinematic_viscosity_mm2_s=v) == pytest.approx(celsius, abs=1e-7)


@pytest.mark.parametrize(("kv40", "kv100"), [(34, 7.3), (100, 11.25), (410, 28), (5.0, 1.7), (0.5, 0.21), (2e7, 2.0)])
def test_line_passes_through_both_its_points(kv40, kv100):
    line = viscosity_line(kv40_mm2_s=kv40, kv100_mm2_s=kv100)
    assert kinematic_viscosity_mm2_s(line=line, temperature_c=40) == pytest.approx(kv40, rel=1e-9)
    assert kinematic_viscosity_mm2_s(line=line, temperature_c=100) == pytest.approx(kv100, rel=1e-9)


def test_line_does_not_depend_on_which_of_its_points_are_given():
    line = viscosity_line(kv40_mm2_s=145, kv100_mm2_s=14.5)
    same = viscosity_line_through(
        first_temperature_c=0,
        first_kv_mm2_s=kinematic_viscosity_mm2_s(line=line, temperature_c=0),
        second_temperature_c=130,
        second_kv_mm2_s=kinematic_viscosity_mm2_s(line=line, temperature_c=130),
    )
    assert same == pytest.approx(line, rel=1e-9)


@pytest.mark.parametrize("celsius", [-273.15, -300.0, -150.0, 900.0, math.inf, -math.inf, math.nan])
def test_viscosity_refuses_a_temperature_where_the_oil_leaves_the_chart(celsius):
    line = viscosity_line(kv40_mm2_s=100, kv100_mm2_s=11.25)
    with pytest.raises(OutOfRange, match=r"^temperature .* °C is out of range") as refusal:
        kinematic_viscosity_mm2_s(line=line, temperature_c=celsius)
    assert kinematic_viscosity_mm2_s(line=line, temperature_c=refusal.value.low) == pytest.approx(2e7, rel=1e-6)
    assert kinematic_viscosity_mm2_s(line=line, temperature_c=refusal.value.high) == pytest.approx(0.21, rel=1e-6)


@pytest.mark.parametrize(("kv40", "kv100"), [(10, 10), (10, 10.1), (2.0005, 1.9995)])
def test_an_oil_that_does_not_thin_is_refused_at_its_colder_point(kv40, kv100):
    told = rf"^kinematic viscosity at the colder point {kv40:g} mm2/s .* above {kv100:g} to 2e\+07 mm2/s\.$"
    with pytest.raises(OutOfRange, match=told):
        viscosity_line(kv40_mm2_s=kv40, kv100_mm2_s=kv100)


@pytest.mark.parametrize(
    "z", [1.0, math.nextafter(reference_z(0.21), 0), math.nextafter(2e7 + 0.7, 3e7), math.inf, math.nan]
)
def test_inverse_of_z_refuses_what_no_viscosity_has(z):
    with pytest.raises(OutOfRange, match=r"^Z .* is out of range: 1\.059\d+ to 2e\+07\.$"):
        kinematic_viscosity_from_z_mm2_s(z=z)


def test_temperature_refuses_what_a_nearly_flat_line_never_reaches():
    flat = ViscosityLine(intercept_a=0.3, slope_b=1e-9)
    with pytest.raises(OutOfRange, match=r"^temperature inf °C is out of range: above -273\.15 to 99726\.9 °C\.$"):
        temperature_c(line=flat, kinematic_viscosity_mm2_s=0.5)


LINES = [
    viscosity_line(kv40_mm2_s=kv40, kv100_mm2_s=kv100) for kv40, kv100 in ((40, 8), (900, 40), (5, 2.1), (0.5, 0.25))
]


def alone_mm2_s(line: ViscosityLine, celsius: float) -> float:
    """The viscosity of one oil, NaN out of range."""
    try:
        return kinematic_viscosity_mm2_s(line=line, temperature_c=celsius)
    except OutOfRange:
        return math.nan


@pytest.mark.parametrize("celsius", [np.arange(-120.0, 420.0, 7.5), np.array([20.0, 60.0]), np.array([40.0])])
@pytest.mark.parametrize("shape", [(4,), (2, 2)])
def test_many_viscosities_are_those_of_each_oil_by_itself(celsius, shape):
    a, b = (np.array([line[part] for line in LINES]).reshape(shape) for part in (0, 1))
    found = kinematic_viscosities_mm2_s(intercepts_a=a, slopes_b=b, temperatures_c=celsius)
    assert found.shape == (len(celsius), *shape)
    expected = np.array([[alone_mm2_s(line, one_c) for line in LINES] for one_c in celsius.tolist()])
    assert found.reshape(expected.shape) == pytest.approx(expected, rel=1e-12, nan_ok=True)
    # Thinner than 2 mm²/s, thicker than can be, thinner than can be: all are among these.
    if len(celsius) > 2:
        assert np.isnan(expected).any()
        assert (expected < 2).any()


def test_the_ends_of_the_chart_are_taken_and_what_lies_beyond_is_none():
    line = LINES[0]
    ends = [temperature_c(line=line, kinematic_viscosity_mm2_s=end) for end in (2e7, 0.21)]
    around = np.array([ends[0] - 1e-3, ends[0], ends[1], ends[1] + 1e-3])
    found = kinematic_viscosities_mm2_s(
        intercepts_a=np.array([line.intercept_a]), slopes_b=np.array([line.slope_b]), temperatures_c=around
    )[:, 0]
    assert np.isnan(found).tolist() == [True, False, False, True]
    assert found[1:3].tolist() == pytest.approx([2e7, 0.21], rel=1e-9)


@pytest.mark.parametrize("kv100", [2.0, 5.4, 14.5])
def test_many_lines_are_those_of_each_oil_by_itself(kv100):
    kv40 = np.geomspace(1.01 * kv100, 100 * kv100, 30)
    expected = [viscosity_line(kv40_mm2_s=one, kv100_mm2_s=kv100) for one in kv40.tolist()]
    found = viscosity_lines(kv40_mm2_s=kv40, kv100_mm2_s=kv100)
    assert found.T.tolist() == [pytest.approx(line, rel=1e-12) for line in expected]
    assert np.isnan(viscosity_lines(kv40_mm2_s=np.array([kv100, 0.9 * kv100]), kv100_mm2_s=kv100)).all()
    assert np.isnan(viscosity_lines(kv40_mm2_s=kv40, kv100_mm2_s=1.9)).all()
