"""Wiping time against numeric solutions of the same face that share no formula with it.

A groove's own conductance by finite elements, the film of a whole face by finite differences with every land and groove
resolved, a porous land by Darcy's flow under Reynolds' film.
"""

import math
from typing import NamedTuple

import numpy as np
import pytest
from scipy.integrate import quad, solve_ivp
from scipy.sparse import coo_array
from scipy.sparse.linalg import spsolve

from knowledge.physics.limits import OutOfRange
from knowledge.physics.wiping import groove_conductance_mm4, wiping_time_s


class Face(NamedTuple):
    """A grooved face; oil of 1 Pa·s under 0.33 N/mm², as 60 N press a ring of 32 x 8 mm and 6.5°."""

    land: float
    pitch: float
    depth: float
    triangular: bool
    length: float
    across: float = 8.0
    start: float = 0.050
    end: float = 0.002
    permeability: float = 0.0
    lining: float = 0.0

    @property
    def groove(self):
        return self.pitch - self.land

    def wiping_s(self, cones=1, exponent=0.5, viscosity=1000):
        return wiping_time_s(
            dynamic_viscosity_mpa_s=viscosity,
            face_pressure_n_mm2=0.33,
            land_width_mm=self.land,
            land_share=self.land / self.pitch,
            groove_depth_mm=self.depth,
            triangular=self.triangular,
            groove_length_mm=self.length,
            end_to_end_mm=self.across,
            permeability_m2=self.permeability,
            lining_mm=self.lining,
            film_start_um=1000 * self.start,
            film_end_um=1000 * self.end,
            cones=cones,
            cones_exponent=exponent,
        )


SHARP = Face(0.1, 0.6, 0.30, True, 31.5)
WORN = Face(0.3, 0.6, 0.18, True, 31.5)
ALONG = Face(0.6, 1.0, 0.30, False, 8.0, math.inf, end=0.004)


def duct_mm4(land, groove, depth, film):
    """Flow through half a pitch of V groove and land under a film, times two: lap u = -1, linear finite elements."""
    y = np.concatenate([np.linspace(0, groove / 2, 31), groove / 2 + land / 2 * np.linspace(0.05, 1, 12) ** 1.5])
    floor = -np.maximum(0.0, depth * (1 - 2 * y / groove))
    z = film + (floor - film)[:, None] * 0.5 * (1 - np.cos(np.pi * np.linspace(0, 1, 27)))
    place = np.arange(z.size).reshape(z.shape)
    a, b, c, d = (place[part].ravel() for part in (np.s_[:-1, :-1], np.s_[1:, :-1], np.s_[:-1, 1:], np.s_[1:, 1:]))
    corners = np.concatenate([np.stack([a, b, d], 1), np.stack([a, d, c], 1)])
    at_y, at_z = np.repeat(y, z.shape[1])[corners], z.ravel()[corners]
    ahead, behind = [1, 2, 0], [2, 0, 1]
    slope_y, slope_z = at_z[:, ahead] - at_z[:, behind], at_y[:, behind] - at_y[:, ahead]
    area = 0.5 * np.abs(slope_y[:, 0] * slope_z[:, 1] - slope_y[:, 1] * slope_z[:, 0])
    stiff = slope_y[:, :, None] * slope_y[:, None, :] + slope_z[:, :, None] * slope_z[:, None, :]
    stiff = stiff / (4 * area)[:, None, None]
    matrix = coo_array((stiff.ravel(), (np.repeat(corners, 3, 1).ravel(), np.tile(corners, (1, 3)).ravel()))).tocsr()
    source = np.bincount(corners.ravel(), np.repeat(area / 3, 3))
    free = np.setdiff1d(place, place[:, [0, -1]])
    return 2 * source[free] @ spsolve(matrix[free][:, free].tocsc(), source[free])


def rectangle_mm4(width, depth):
    """The same of a rectangle by its whole series."""
    odd = np.arange(1, 200, 2)
    series = np.sum(np.tanh(odd * np.pi * width / (2 * depth)) / odd**5)
    return width * depth**3 / 12 * (1 - 192 * depth / (np.pi**5 * width) * series)


def pressure_under(face, film):
    """Mean pressure, for unit viscosity and closing speed, on a face between two slots: Reynolds' equation in a plane.

    Along each groove it is made to pass what its section does; half the face and half the length, by symmetry.
    """
    pitches = 1 if face.across == math.inf else round(face.across / face.pitch) / 2
    cells = 40 if face.across == math.inf else int(20 * pitches)
    dy, dx = pitches * face.pitch / cells, face.length / 2 / 40
    y = (np.arange(cells) + 0.5) * dy % face.pitch
    in_groove = np.abs(y - face.pitch / 2) < face.groove / 2
    below = face.depth * (1 - 2 * np.abs(y - face.pitch / 2) / face.groove if face.triangular else 1)
    gap = film + np.where(in_groove, below, 0.0)
    across, along = gap**3 / 12, np.full(cells, film**3 / 12)
    duct = (
        duct_mm4(face.land, face.groove, face.depth, film) - face.land * film**3 / 12
        if face.triangular
        else rectangle_mm4(face.groove, face.depth + film)
    )
    along[in_groove] = duct / (dy * in_groove[: round(face.pitch / dy)].sum())
    place = np.arange(40 * cells).reshape(40, cells)
    links = [(place[:-1], place[1:], np.tile(along * dy / dx, (39, 1)))]
    middle = dx / dy * 2 / (1 / across[1:] + 1 / across[:-1])
    links.append((place[:, :-1], place[:, 1:], np.tile(middle, (40, 1))))
    own = np.zeros(place.shape)
    own[0] += 2 * along * dy / dx  # the open slot
    if face.across < math.inf:
        own[:, 0] += 2 * across[0] * dx / dy  # the open end of the face
    rows, columns, values = [place.ravel()], [place.ravel()], [own.ravel()]
    for one, other, link in links:
        ends, link = (one.ravel(), other.ravel()), link.ravel()
        rows += [*ends, *ends]
        columns += [*ends, *ends[::-1]]
        values += [link, link, -link, -link]
    matrix = coo_array((np.concatenate(values), (np.concatenate(rows), np.concatenate(columns)))).tocsc()
    return spsolve(matrix, np.full(place.size, dx * dy)).mean()


def closed_s(face, pressure, points=8):
    """Time in which a film under 0.33 N/mm² and of 1 Pa·s closes: the pressure over all films, in steps of ln h."""
    nodes, weights = np.polynomial.legendre.leggauss(points)
    span = math.log(face.start / face.end)
    films = face.end * np.exp(span * 0.5 * (nodes + 1))
    total = sum(0.5 * weight * span * film * pressure(film) for film, weight in zip(films, weights, strict=True))
    return 1e-6 / 0.33 * total


@pytest.mark.parametrize("deep", [0.3, 0.6, 0.866, 1.2])
def test_a_groove_passes_what_finite_elements_find(deep):
    found = groove_conductance_mm4(groove_width_mm=0.5, groove_depth_mm=0.5 * deep, triangular=True)
    assert found == pytest.approx(duct_mm4(0.1, 0.5, 0.5 * deep, 1e-6), rel=0.05)
    found = groove_conductance_mm4(groove_width_mm=0.5, groove_depth_mm=0.5 * deep, triangular=False)
    assert found == pytest.approx(rectangle_mm4(0.5, 0.5 * deep), rel=0.01)


@pytest.mark.parametrize(
    "face",
    [
        SHARP,
        SHARP._replace(length=14.8),
        SHARP._replace(start=0.1),
        WORN,
        Face(0.2, 0.6, 0.30, True, 23.1, end=0.003),
        Face(0.25, 0.8, 0.35, True, 42.5, 14.4),
        ALONG,
        Face(1.5, 1.5 * 40 / 22, 0.2, False, 8.0, math.inf, end=0.006),
    ],
)
def test_a_grooved_face_closes_as_fast_as_the_plane_reynolds_equation_says(face):
    """Sharp and worn threads, few slots and many, and grooves along the cone."""
    assert face.wiping_s() == pytest.approx(closed_s(face, lambda film: pressure_under(face, film)), rel=0.1)


def test_the_time_is_that_of_the_film_s_own_motion():
    """The closing speed p/(eta·R(h)) stepped through in time, R from the plane equation at 12 films between."""
    films = np.geomspace(WORN.end, WORN.start, 12)
    resistances = np.log([pressure_under(WORN, film) for film in films])

    def speed(_, log_film):
        return -0.33 / 1e-6 / np.exp(np.interp(log_film, np.log(films), resistances) + log_film)

    def gripped(_, log_film):
        return log_film[0] - math.log(WORN.end)

    gripped.terminal = True
    run = solve_ivp(speed, (0, 10), [math.log(WORN.start)], events=gripped, rtol=1e-6, max_step=0.005)
    assert WORN.wiping_s() == pytest.approx(run.t_events[0][0], rel=0.1)


def porous_pressure(land, lining, permeability_mm2, film, cells=60, layers=24):
    """Mean pressure, as above, under a land on a porous lining that its grooves cut through: Darcy below the film."""
    dy, dz = land / 2 / cells, lining / layers
    place = np.arange((layers + 1) * cells).reshape(layers + 1, cells)
    sideways = np.repeat([[film**3 / 12 / dy], *[[permeability_mm2 * dz / dy]] * layers], cells, axis=1)
    down = np.full((layers, cells), permeability_mm2 * dy / dz)
    down[0] *= 2
    own = np.zeros(place.shape)
    own[:, -1] = 2 * sideways[:, -1]
    rows, columns, values = [place.ravel()], [place.ravel()], [own.ravel()]
    for one, other, link in (
        (place[:, :-1], place[:, 1:], sideways[:, 1:]),
        (place[:-1], place[1:], down),
    ):
        ends, link = (one.ravel(), other.ravel()), link.ravel()
        rows += [*ends, *ends]
        columns += [*ends, *ends[::-1]]
        values += [link, link, -link, -link]
    matrix = coo_array((np.concatenate(values), (np.concatenate(rows), np.concatenate(columns)))).tocsc()
    source = np.zeros(place.size)
    source[:cells] = dy
    return spsolve(matrix, source)[:cells].mean()


@pytest.mark.parametrize(("permeability_m2", "lining"), [(1e-14, 0.4), (1e-13, 0.5), (1e-12, 0.5)])
def test_a_porous_land_drains_into_its_lining_as_darcy_says(permeability_m2, lining):
    """Wide deep grooves and a long face, so that nothing but the land counts."""
    face = Face(1.5, 30, 30, False, 1000, math.inf, end=0.006, permeability=permeability_m2, lining=lining)
    expected = closed_s(face, lambda film: porous_pressure(1.5, lining, 1e6 * permeability_m2, film))
    assert face.wiping_s() == pytest.approx(1.5 / 30 * expected, rel=0.03)


@pytest.mark.parametrize(("land", "start", "end"), [(0.2, 0.02, 0.002), (0.1, 0.05, 0.002), (5.0, 0.2, 0.003)])
def test_beside_grooves_that_resist_nothing_a_land_is_a_strip(land, start, end):
    """Reynolds' equation over an endless strip, its pressure integrated and its closing stepped through."""
    load, _ = quad(lambda x: 6 * (land**2 / 4 - x**2), -land / 2, land / 2)
    strip_s = 1e-6 / 0.33 * load / land * quad(lambda film: film**-3, end, start, epsrel=1e-10)[0]
    found = Face(land, 100 * land, 100 * land, False, 100 * land, math.inf, start, end).wiping_s()
    assert found == pytest.approx(0.01 * strip_s, rel=0.01)


@pytest.mark.parametrize("permeability", [1e-26, 1e-18])
def test_a_lining_that_is_hardly_porous_drains_like_a_tight_one(permeability):
    porous = ALONG._replace(permeability=permeability, lining=0.4)
    assert porous.wiping_s() == pytest.approx(ALONG.wiping_s(), rel=1e-3)
    assert ALONG._replace(permeability=1e-13, lining=0.4).wiping_s() < 0.9 * ALONG.wiping_s()


def test_oil_twice_as_thick_takes_twice_as_long():
    assert SHARP.wiping_s(viscosity=2000) == pytest.approx(2 * SHARP.wiping_s())


def test_fewer_slots_and_shallower_grooves_hold_the_oil():
    assert SHARP.wiping_s() < SHARP._replace(length=60).wiping_s()
    assert SHARP.wiping_s() < SHARP._replace(depth=0.2).wiping_s()


def test_several_cones_clear_oil_worse_and_never_worse_than_one_after_the_other():
    """abdel-halim-2000, abstract: difficulty in dissipating cold oil; all at once and in a row are the limits."""
    times = [SHARP.wiping_s(cones=cones) for cones in (1, 2, 3)]
    assert times == sorted(times)
    assert SHARP.wiping_s(cones=3, exponent=0) == times[0]
    assert times[2] < SHARP.wiping_s(cones=3, exponent=1) == pytest.approx(3 * times[0])


def test_three_cones_are_in_trouble_where_one_is_not_yet():
    """abdel-halim-2000, abstract: seen at 0 °C, the cold end of 0 to 75 °C. An 80W-90 of 135 and 14.5 mm²/s there has

    about 2 Pa·s (ASTM D341, density 893 kg/m³): a sharp thread passes 60 ms with three cones and not with one.
    """
    assert SHARP.wiping_s(cones=1, viscosity=2100) < 0.060 < SHARP.wiping_s(cones=3, viscosity=2100)


@pytest.mark.parametrize(("start", "end"), [(2, 2), (1, 2), (math.nan, 2), (50, 0), (50, -1), (50, math.nan)])
def test_wiping_refuses_a_film_that_does_not_close(start, end):
    with pytest.raises(OutOfRange):
        SHARP._replace(start=start / 1000, end=end / 1000).wiping_s()


@pytest.mark.parametrize("face", [SHARP, WORN, ALONG], ids=["sharp", "worn", "along"])
def test_of_many_sizes_each_has_its_own_time(face):
    # Among these are linings from tight to open, which close by two formulas.
    factors = np.geomspace(0.8, 1.2, 7)
    permeability = np.geomspace(1e-21, 1e-13, 7)
    many = face._replace(land=face.land * factors, depth=face.depth * factors, permeability=permeability, lining=0.7)
    alone = [
        face._replace(land=face.land * one, depth=face.depth * one, permeability=leak, lining=0.7).wiping_s()
        for one, leak in zip(factors.tolist(), permeability.tolist(), strict=True)
    ]
    assert many.wiping_s().tolist() == pytest.approx(alone, rel=1e-12)
