"""Loads whose edge falls inside faces: their true resultant, at their true place."""

import numpy as np
import pytest
from numpy.testing import assert_allclose

import spokecheck as sc
from spokecheck.fem.loads import pressure_forces, resultant, traction_forces
from spokecheck.fem.split_loads import FINE_RULE


@pytest.fixture(scope="module")
def slab():
    """A slab with faces of some 3 mm, and no line of the mesh at the patch's edge."""
    return sc.beam_block(30.0, 20.0, 3.0, (10, 7, 1))


DISCS = [(4.0, 13.1, 9.3), (2.5, 17.0, 10.0), (6.2, 12.0, 8.5), (1.6, 14.2, 11.1)]


@pytest.mark.parametrize(("radius", "x", "y"), DISCS)
def test_a_disc_of_pressure_has_its_own_area(slab, radius, x, y):
    """Pi r^2 p, through the centre: within 2 in 1,000, whatever the cells.

    At fixed integration points it is off by 1 to 8 %.
    """

    def disc(at):
        inside = np.hypot(at[:, 0] - x, at[:, 1] - y) < radius
        return np.where(inside, 5.0, 0.0)

    nodal = sc.pressure("top", disc).nodal(slab)
    force, moment = resultant(slab.points, nodal, np.array([x, y, 3.0]))
    exact = -5.0 * np.pi * radius**2
    assert_allclose(force, [0.0, 0.0, exact], rtol=2e-3, atol=1e-9)
    assert np.abs(moment).max() < 2e-3 * abs(exact) * radius


def test_fixed_points_would_miss_it(slab):
    """The worst of these discs at fixed integration points is off by more than 1 %."""
    off = []
    for radius, x, y in DISCS:

        def disc(at, r=radius, x=x, y=y):
            return (np.hypot(at[:, 0] - x, at[:, 1] - y) < r).astype(float)

        nodal = pressure_forces(slab, slab.faces("top"), disc, FINE_RULE)
        off.append(abs(nodal.sum(axis=0)[2]) / (np.pi * radius**2) - 1.0)
    assert np.abs(off).max() > 0.01


def test_a_strip_of_traction_ends_where_it_should():
    """A strip from 0.31 to 0.77 of a bar, pulled along x: force and place."""
    bar = sc.beam_block(10.0, 4.0, 2.0, (4, 2, 1))

    def strip(x):
        inside = (x[:, 0] > 3.1) & (x[:, 0] < 7.7)
        return inside[:, None] * np.array([2.0, 0.0, 0.0])

    nodal = sc.traction("top", strip).nodal(bar)
    force, moment = resultant(bar.points, nodal)
    assert_allclose(force[0], 2.0 * 4.6 * 4.0, rtol=1e-3)
    assert_allclose(moment[2], -2.0 * 4.6 * 4.0 * 2.0, rtol=1e-3)
    weight = nodal[:, 0] @ bar.points[:, 0] / force[0]
    assert_allclose(weight, (3.1 + 7.7) / 2.0, rtol=1e-3)


def test_a_patch_on_a_curved_surface():
    """A patch of +/- 17 degrees on a cylinder of 8 edges: 2 p R b sin 17 degrees."""
    ring = sc.ring_sector(20.0, 30.0, 4.0, (1, 32, 1), 2.0 * np.pi)

    def patch(x):
        turn = np.arctan2(x[:, 1], x[:, 0])
        return np.where(np.abs(turn) < np.radians(17.0), 3.0, 0.0)

    force = sc.pressure("outer", patch).nodal(ring).sum(axis=0)
    exact = -2.0 * 3.0 * 30.0 * 4.0 * np.sin(np.radians(17.0))
    assert_allclose(force, [exact, 0.0, 0.0], rtol=1e-3, atol=1e-3 * abs(exact))


def test_smooth_loads_stay_what_they_were(slab):
    """Polynomials of low degree are exact already: the same forces to rounding."""

    def smooth(x):
        return x[:, [0]] ** 2 * np.array([1.0, 2.0, -1.0]) + x[:, [1]]

    split = sc.traction("top", smooth).nodal(slab)
    usual = traction_forces(slab, slab.faces("top"), smooth, FINE_RULE)
    assert_allclose(split, usual, atol=1e-10 * np.abs(usual).max())
