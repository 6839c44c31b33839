"""Viscosity index by ASTM D2270, procedures A and B, and the way back from an index to a viscosity."""

from collections.abc import Sequence
from math import inf, log10
from typing import NamedTuple, Protocol

import numpy as np
from numpy.typing import NDArray

from knowledge.physics.limits import OutOfRange, check_within

_INDEX_PER_ANTILOG = 0.00715


class ReferenceOil(Protocol):
    """One row of the D2270 coefficients: the two reference series over a span of KV100.

    L = l_a·Y² + l_b·Y + l_c is the 40 °C viscosity of the series of index 0, H likewise that of index 100.
    kv100_max_mm2_s is None in the last row.
    """

    @property
    def kv100_min_mm2_s(self) -> float: ...

    @property
    def kv100_max_mm2_s(self) -> float | None: ...

    @property
    def l_a(self) -> float: ...

    @property
    def l_b(self) -> float: ...

    @property
    def l_c(self) -> float: ...

    @property
    def h_a(self) -> float: ...

    @property
    def h_b(self) -> float: ...

    @property
    def h_c(self) -> float: ...


class ReferenceViscosities(NamedTuple):
    """KV40 of the reference oils that share one KV100."""

    l_mm2_s: float
    h_mm2_s: float


def reference_viscosities(*, kv100_mm2_s: float, reference_oils: Sequence[ReferenceOil]) -> ReferenceViscosities:
    """L and H: the 40 °C viscosities of the oils of index 0 and 100 with this KV100.

    L = a·Y² + b·Y + c;   H = d·Y² + e·Y + f      (Y = KV100, coefficients of the row that holds Y)

    Valid from the first row's KV100 (2 mm²/s) up; below, raises OutOfRange. A Y on the edge of two rows takes
    the upper row. Departs from the source: up to 70 mm²/s the standard reads a table with linear
    interpolation; these fits of its appendix differ from that table by up to 0.12 % (0.3 of an index).

    Args:
        kv100_mm2_s: Y, kinematic viscosity at 100 °C [mm²/s].
        reference_oils: coefficient rows, ascending and without gap.

    Sources: astm-d2270-10 (appendix); checked by golden case astm-d2270-10--example-a-l-and-h.
    """
    for row in reference_oils:
        kv100_max_mm2_s = inf if row.kv100_max_mm2_s is None else row.kv100_max_mm2_s
        if row.kv100_min_mm2_s <= kv100_mm2_s < kv100_max_mm2_s:
            return ReferenceViscosities(
                l_mm2_s=(row.l_a * kv100_mm2_s + row.l_b) * kv100_mm2_s + row.l_c,
                h_mm2_s=(row.h_a * kv100_mm2_s + row.h_b) * kv100_mm2_s + row.h_c,
            )
    raise OutOfRange(quantity="KV100", value=kv100_mm2_s, low=reference_oils[0].kv100_min_mm2_s, high=inf, unit="mm2/s")


def viscosity_index(*, kv40_mm2_s: float, kv100_mm2_s: float, reference_oils: Sequence[ReferenceOil]) -> float:
    """Viscosity index of an oil, not rounded: how little its viscosity falls with temperature.

    A, for U >= H:  VI = 100·(L - U)/(L - H)
    B, for U < H:   VI = 100 + (10^N - 1)/0.00715,   N = (log H - log U)/log Y      (U = KV40, Y = KV100)

    Valid for KV100 of at least 2 mm²/s and KV40 above KV100; outside, raises OutOfRange.

    Args:
        kv40_mm2_s: U, kinematic viscosity at 40 °C [mm²/s].
        kv100_mm2_s: Y, kinematic viscosity at 100 °C [mm²/s].
        reference_oils: coefficient rows of D2270, ascending and without gap.

    Sources: astm-d2270-10; checked by golden cases astm-d2270-10--example-a and --example-b.
    """
    l_mm2_s, h_mm2_s = reference_viscosities(kv100_mm2_s=kv100_mm2_s, reference_oils=reference_oils)
    check_within(quantity="KV40", value=kv40_mm2_s, low=kv100_mm2_s, unit="mm2/s", low_included=False)
    if kv40_mm2_s >= h_mm2_s:
        return 100.0 * (l_mm2_s - kv40_mm2_s) / (l_mm2_s - h_mm2_s)
    n = log10(h_mm2_s / kv40_mm2_s) / log10(kv100_mm2_s)
    index: float = 100.0 + (10.0**n - 1.0) / _INDEX_PER_ANTILOG
    return index


def rounded_viscosity_index(*, kv40_mm2_s: float, kv100_mm2_s: float, reference_oils: Sequence[ReferenceOil]) -> int:
    """Viscosity index as it is reported: a whole number, a half going to the even neighbour.

    VI rounded by ASTM E29      (half to even)

    Valid and refused as viscosity_index.

    Args:
        kv40_mm2_s: kinematic viscosity at 40 °C [mm²/s].
        kv100_mm2_s: kinematic viscosity at 100 °C [mm²/s].
        reference_oils: coefficient rows of D2270, ascending and without gap.

    Sources: astm-d2270-10 (whole numbers, halves to even); checked by golden case astm-d2270-10--example-a-reported.
    """
    return round(viscosity_index(kv40_mm2_s=kv40_mm2_s, kv100_mm2_s=kv100_mm2_s, reference_oils=reference_oils))


def kv40_at_viscosity_index_mm2_s(
    *, viscosity_index: float, kv100_mm2_s: float, reference_oils: Sequence[ReferenceOil]
) -> float:
    """The 40 °C viscosity an oil of given KV100 must have to reach a viscosity index.

    A, for VI <= 100:  U = L - VI·(L - H)/100
    B, for VI > 100:   U = H / Y^N,   N = log10(1 + 0.00715·(VI - 100))      (Y = KV100)

    Valid for KV100 of at least 2 mm²/s and an index at which U still exceeds Y; outside, raises OutOfRange.

    Args:
        viscosity_index: wanted index, may be negative [-].
        kv100_mm2_s: kinematic viscosity at 100 °C [mm²/s].
        reference_oils: coefficient rows of D2270, ascending and without gap.

    Sources: astm-d2270-10, solved for U; checked by golden case astm-d2270-10--example-a-kv40.
    """
    l_mm2_s, h_mm2_s = reference_viscosities(kv100_mm2_s=kv100_mm2_s, reference_oils=reference_oils)
    highest_n = log10(h_mm2_s / kv100_mm2_s) / log10(kv100_mm2_s)
    highest_index = 100.0 + (10.0**highest_n - 1.0) / _INDEX_PER_ANTILOG
    if not -inf < viscosity_index < highest_index:
        raise OutOfRange(quantity="viscosity index", value=viscosity_index, low=-inf, high=highest_index, unit="")
    if viscosity_index <= 100.0:
        return l_mm2_s - viscosity_index * (l_mm2_s - h_mm2_s) / 100.0
    n = log10(1.0 + _INDEX_PER_ANTILOG * (viscosity_index - 100.0))
    kv40_mm2_s: float = h_mm2_s / kv100_mm2_s**n
    return kv40_mm2_s


def kv40_at_viscosity_indices_mm2_s(
    *, viscosity_indices: NDArray[np.float64], kv100_mm2_s: float, reference_oils: Sequence[ReferenceOil]
) -> NDArray[np.float64]:
    """The 40 °C viscosities at many viscosity indices; NaN where `kv40_at_viscosity_index_mm2_s` is out of range.

    U as there

    Args:
        viscosity_indices: wanted indices [-].
        kv100_mm2_s: kinematic viscosity at 100 °C [mm²/s].
        reference_oils: coefficient rows of D2270, ascending and without gap.

    Sources: astm-d2270-10; checked against `kv40_at_viscosity_index_mm2_s` in
        tests/knowledge/physics/test_viscosity_index.py.
    """
    l_mm2_s, h_mm2_s = reference_viscosities(kv100_mm2_s=kv100_mm2_s, reference_oils=reference_oils)
    below = l_mm2_s - viscosity_indices * (l_mm2_s - h_mm2_s) / 100.0
    n = np.log10(1.0 + _INDEX_PER_ANTILOG * np.maximum(viscosity_indices - 100.0, 0.0))
    found = np.where(viscosity_indices <= 100.0, below, h_mm2_s / kv100_mm2_s**n)
    return np.where(found > kv100_mm2_s, found, np.nan)
