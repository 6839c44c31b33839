"""Squeezing the oil film out from between cone and facing, before a synchronizer can grip."""

from math import inf, pi, sqrt
from typing import Any

import numpy as np

from knowledge.physics.limits import check_positive, check_within

DEEPEST_GROOVE = 1.3  # depth over width, as far as the formulas were held against numeric solutions

_PA_S_PER_MPA_S_AND_N_MM2 = 1e-9
_MM2_PER_M2 = 1e6
_MM_PER_UM = 1e-3
# What the ends of a rectangle, or of a rectangular duct, take off an endless strip, for each width over length.
_ENDS = 0.63


def groove_conductance_mm4(*, groove_width_mm: float, groove_depth_mm: float, triangular: bool) -> float:
    """How well a closed groove passes oil: flow times viscosity over pressure gradient.

    D = 0.61·A³/U²                                  triangle, A = g·d/2, U = g + 2·sqrt((g/2)² + d²)
    D = g·d³/12·(1 - 0.63·d/g·tanh(pi·g/(2·d)))     rectangle

    Slow steady flow of a Newtonian oil. Valid for depths up to 1.3 times the width; outside, raises OutOfRange.
    Within 5 % of the exact solution for triangles, within 1 % for rectangles.

    Args:
        groove_width_mm: g, at the face [mm].
        groove_depth_mm: d [mm].
        triangular: whether its section is a triangle, else a rectangle.

    Raises:
        OutOfRange: a size not positive, or the groove too deep for its width.

    Sources: shah-london-1978 (f·Re = 13.1 for a triangle, and the first term of the series, both from memory;
        confirmed by finite elements and the whole series in tests/knowledge/physics/test_wiping.py); checked by golden
        cases shah-london-1978--equilateral-triangle and shah-london-1978--square.
    """
    width, depth = groove_width_mm, groove_depth_mm
    check_positive(quantity="groove width", value=width, unit="mm")
    check_within(
        quantity="groove depth", value=depth, low=0.0, high=DEEPEST_GROOVE * width, unit="mm", low_included=False
    )
    if triangular:
        triangle: float = 0.61 * (0.5 * width * depth) ** 3 / (width + 2.0 * np.hypot(0.5 * width, depth)) ** 2
        return triangle
    rectangle: float = width * depth**3 / 12.0 * (1.0 - _ENDS * depth / width * np.tanh(0.5 * pi * width / depth))
    return rectangle


def wiping_time_s(
    *,
    dynamic_viscosity_mpa_s: float,
    face_pressure_n_mm2: float,
    land_width_mm: float,
    land_share: float,
    groove_depth_mm: float,
    triangular: bool,
    groove_length_mm: float,
    end_to_end_mm: float,
    permeability_m2: float,
    lining_mm: float,
    film_start_um: float,
    film_end_um: float,
    cones: int,
    cones_exponent: float,
) -> float:
    """Time in which a grooved face squeezes its oil film down to the thickness at which it starts to grip.

    t = eta/p·{ s·w²·I + Rg·[F(h1) - F(h2)] / (1 + F(h1)/(2·d))^m }·n^x

    The oil leaves a land for the grooves beside it (first term), runs along them to their open ends (second term), or
    leaves across the lands at the ends of the face, which wins while the film is thicker than h*:

    I = integral of dh/(h³ + 12·k·H') from h2 to h1,  H' = (c/pi)·tanh(pi·H/c);  for a tight face (1/h2² - 1/h1²)/2
    Rg = L²·P/(12·D),  P = c/s,  D of the groove;   m = 4 for a triangle, else 3 - d/g, at least 1.5
    F(h) = 1/sqrt(1/h² + 1/h*²),  h* = 1.3·(b²·s/Rg)^(1/3);   w² = c²·(1 - 0.63·c/L), of the shorter of c and L

    Newtonian oil, isothermal, gaps full, steady force, slots wider than they throttle. Within 10 % of the plane
    Reynolds equation for c up to 0.3·L and h2 from 2 to 8 µm. The cones of a set share the force and drain at the
    same time; that n of them take n^x times as long is judged. Above some 10 Pa·s the film itself drags as hard as
    the ring grips, and the time means nothing. Lengths in mm, k in mm². Of arrays of sizes each has a time of its own.

    Args:
        dynamic_viscosity_mpa_s: eta of the oil [mPa·s].
        face_pressure_n_mm2: p, on the whole face, grooves counted in [N/mm²].
        land_width_mm: c, width of one land between two grooves [mm].
        land_share: s, part of the face that is land [-].
        groove_depth_mm: d [mm].
        triangular: whether the grooves' section is a triangle, else a rectangle.
        groove_length_mm: L, between two open ends of a groove [mm].
        end_to_end_mm: b, of the face across its grooves; infinite where they run along the cone [mm].
        permeability_m2: k of a porous lining, 0 for a tight face [m²].
        lining_mm: H, thickness of the lining [mm].
        film_start_um: h1 [µm].
        film_end_um: h2 [µm].
        cones: n, films in series.
        cones_exponent: x, from 0 (all at once) to 1 (one after the other).

    Raises:
        OutOfRange: a value not positive (not negative: k, H and x), s not below 1, or h1 not above h2.

    Sources: cameron-1966 (strip), prakash-vij-1973 (porous wall), shah-london-1978 (grooves), all from memory;
        paffoni-2000 (abstract: grooves drain the film), abdel-halim-2000 (abstract: several cones clear oil worse);
        the whole is confirmed by finite elements and differences in tests/knowledge/physics/test_wiping.py; checked by
        golden cases cameron-1966--strip-20-to-2-um and cameron-1966--wide-smooth-lining-cold.
    """
    check_positive(quantity="dynamic viscosity", value=dynamic_viscosity_mpa_s, unit="mPa s")
    check_positive(quantity="face pressure", value=face_pressure_n_mm2, unit="N/mm2")
    check_positive(quantity="groove length", value=groove_length_mm, unit="mm")
    check_within(quantity="cones", value=cones, low=1, unit="")
    check_within(quantity="cones exponent", value=cones_exponent, low=0.0, high=1.0, unit="")
    is_endless = isinstance(end_to_end_mm, float) and end_to_end_mm == inf
    if not is_endless:
        check_positive(quantity="end to end", value=end_to_end_mm, unit="mm")
    start, end = _film_mm(film_start_um, film_end_um)
    groove_width = _groove_width_mm(land_width_mm, land_share)
    conductance = groove_conductance_mm4(
        groove_width_mm=groove_width, groove_depth_mm=groove_depth_mm, triangular=triangular
    )
    along = groove_length_mm**2 * (land_width_mm + groove_width) / (12.0 * conductance)
    thickest, thinnest = start, end
    if not is_endless:
        ends_win = 1.3 * (end_to_end_mm**2 * land_share / along) ** (1 / 3)
        thickest, thinnest = (1.0 / np.hypot(1.0 / film, 1.0 / ends_win) for film in (start, end))
    power = 4.0 if triangular else np.maximum(3.0 - groove_depth_mm / groove_width, 1.5)
    grooves = along * (thickest - thinnest) / (1.0 + 0.5 * thickest / groove_depth_mm) ** power
    short, long = np.minimum(land_width_mm, groove_length_mm), np.maximum(land_width_mm, groove_length_mm)
    leak = _leak_mm3(land_width_mm, permeability_m2, lining_mm)
    lands = land_share * short**2 * (1.0 - _ENDS * short / long) * _closing(start, end, leak ** (1 / 3))
    per_viscosity = _PA_S_PER_MPA_S_AND_N_MM2 / face_pressure_n_mm2 * (lands + grooves)
    found: float = dynamic_viscosity_mpa_s * per_viscosity * cones**cones_exponent
    return found


def _film_mm(start_um: float, end_um: float) -> tuple[float, float]:
    check_positive(quantity="film at the end", value=end_um, unit="um")
    check_within(quantity="film at the start", value=start_um, low=end_um, unit="um", low_included=False)
    return start_um * _MM_PER_UM, end_um * _MM_PER_UM


def _groove_width_mm(land_width_mm: float, land_share: float) -> float:
    check_positive(quantity="land width", value=land_width_mm, unit="mm")
    check_within(quantity="land share", value=land_share, low=0.0, high=1.0, unit="", low_included=False)
    return land_width_mm * (1.0 / land_share - 1.0)


def _leak_mm3(land_width_mm: float, permeability_m2: float, lining_mm: float) -> float:
    """What a porous lining adds to h³: a land reaches only so deep into it as it is wide."""
    check_within(quantity="permeability", value=permeability_m2, low=0.0, unit="m2")
    check_within(quantity="lining", value=lining_mm, low=0.0, unit="mm")
    reach: float = land_width_mm / pi * np.tanh(pi * lining_mm / land_width_mm)
    return 12.0 * permeability_m2 * _MM2_PER_M2 * reach


def _closing(start: float, end: float, leak: Any) -> Any:
    """Integral of dh/(h³ + a³) from the end to the start [1/mm²]."""
    is_tight = leak < 1e-3 * end
    if np.all(is_tight):
        return 0.5 * (end**-2 - start**-2)
    leak = np.where(is_tight, end, leak)

    def from_zero(film: float) -> Any:
        squares = film * film - film * leak + leak * leak
        turned = np.arctan((2.0 * film - leak) / (leak * sqrt(3.0))) / sqrt(3.0)
        return (np.log((film + leak) ** 2 / squares) / 6.0 + turned) / (leak * leak)

    return np.where(is_tight, 0.5 * (end**-2 - start**-2), from_zero(start) - from_zero(end))[()]
