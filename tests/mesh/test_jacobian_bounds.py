"""Bounds of the Jacobian hold all over a cell, and for whatever is halved of it."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from spokecheck.mesh.jacobian_bounds import (
    bernstein_coefficients,
    cell_shapes,
    determinants,
    jacobian_ratios,
)
from spokecheck.mesh.record import TET_EDGES, Mesh
from spokecheck.mesh.shapes import TET_NODES, jacobians, tet_gradients
from spokecheck.mesh.soundness import raised
from spokecheck.mesh.subdivide import subdivide

CELL = np.arange(10)[None]
NONE = np.empty((0, 2), dtype=np.int64)
REGULAR = np.array([[1.0, 1, 1], [-1, -1, 1], [-1, 1, -1], [1, -1, -1]])


def bent(seed, bow=0.12):
    """Points of one cell with bowed edges, drawn at random."""
    noise = np.random.default_rng(seed).uniform(-bow, bow, (6, 3))
    points = TET_NODES.copy()
    points[4:] += noise
    return points


def samples(points):
    """Jacobian at many points all over the cell."""
    grid = np.linspace(0.0, 1.0, 13)
    x = np.stack(np.meshgrid(grid, grid, grid), axis=-1).reshape(-1, 3)
    x = x[x.sum(axis=1) <= 1.0 + 1e-12]
    return determinants(jacobians(points, CELL, tet_gradients(x)))[0]


@settings(max_examples=60, deadline=None)
@given(st.integers(0, 10**6))
def test_the_jacobian_lies_between_its_bounds(seed):
    """At 455 points it is not below the least nor above the largest coefficient."""
    points = bent(seed)
    found, at = bernstein_coefficients(points, CELL)[0], samples(points)
    assert found.min() - 1e-12 <= at.min()
    assert at.max() <= found.max() + 1e-12
    least = at.min() / at.max()
    assert jacobian_ratios(points, CELL)[0] <= max(least, 0.0) + 1e-12


def test_the_mean_coefficient_is_six_times_the_volume():
    """Of the unit cell whose edges in z = 0 are bowed down by h: by hand.

    Faces move by 4 h (L0 L1 + ...) along z; over the area 1/2 seen along z each product
    gives 1/24.  The base gains three of them, the slanted face loses one.
    """
    points, h = TET_NODES.copy(), 0.03
    base = (TET_EDGES < 3).all(axis=1)
    points[4:][base, 2] -= h
    volume = 1.0 / 6.0 + 4.0 * h * (3.0 - 1.0) / 24.0
    assert_allclose(bernstein_coefficients(points, CELL).mean(), 6.0 * volume)


def test_a_straight_cell_has_one_jacobian():
    """Ratio 1 if right-handed, none if left-handed."""
    assert jacobian_ratios(TET_NODES, CELL)[0] == 1.0
    mirrored = TET_NODES * [1.0, 1.0, -1.0]
    assert jacobian_ratios(mirrored, CELL)[0] == -np.inf


def test_a_fold_between_the_usual_points_is_seen():
    """Corners, mid-sides and integration points are sound, a face's middle is not."""
    bad = 0
    for seed in range(400):
        points = bent(seed, 0.2)
        at_nodes = determinants(jacobians(points, CELL, tet_gradients(TET_NODES)))
        if at_nodes.min() > 0.0 > samples(points).min():
            bad += 1
            assert jacobian_ratios(points, CELL)[0] < 0.0
    assert bad > 0


@settings(max_examples=40, deadline=None)
@given(st.integers(0, 10**6))
def test_halving_never_lessens_the_ratio(seed):
    """Three halvings of a whole cell and of one more part each: no part is worse."""
    mesh = Mesh(bent(seed), CELL)
    rng = np.random.default_rng(seed)
    for _ in range(3):
        before = jacobian_ratios(mesh.points, mesh.cells)
        marked = rng.random(mesh.n_cells) < 0.3
        marked[rng.integers(mesh.n_cells)] = True
        step = subdivide(mesh, marked, NONE)
        mesh = step.mesh
        after = jacobian_ratios(mesh.points, mesh.cells)
        positive = before[step.parent] > 0.0
        assert (after - before[step.parent])[positive].min(initial=0.0) > -1e-12


def test_parts_may_be_sound_though_their_corners_are_left_handed():
    """A cell with three faces on a rounding of 1.5 mm, as a mesher makes it.

    One of its parts is left-handed between its corners, and folded nowhere: held
    against the straight cell it would be refused.
    """
    points = np.array(
        [[0.0, 0.0, 0.0], [2.68, 0.0, 0.0], [5.27, -0.85, 0.0], [0.76, -0.16, -1.87],
         [1.34, 0.08, 0.03], [4.0, -0.35, -0.03], [2.69, -0.08, 0.07],
         [0.43, 0.25, -0.94], [1.75, 0.0, -0.97], [3.02, -0.5, -0.92]]
    )  # fmt: skip
    parts = subdivide(Mesh(points, CELL), np.array([True]), NONE).mesh
    x = parts.points[parts.cells[:, :4]]
    assert np.linalg.det(x[:, 1:] - x[:, :1]).min() < 0.0
    whole = jacobian_ratios(points, CELL)[0]
    assert 0.09 < whole < jacobian_ratios(parts.points, parts.cells).min()
    for cell in parts.cells:
        assert samples(parts.points[cell]).min() > 0.0


def test_the_regular_tetrahedron_has_shape_one():
    """And a flattened one about its thickness over its length."""
    points, cells = raised(REGULAR, np.array([[0, 1, 3, 2]]))
    straight = np.linalg.det(points[cells[0, 1:4]] - points[cells[0, 0]])
    cells = cells if straight > 0.0 else cells[:, [1, 0, 2, 3, 4, 6, 5, 8, 7, 9]]
    assert_allclose(cell_shapes(points, cells), 1.0)
    for flat in (0.1, 0.01):
        squeezed = cell_shapes(points * [1.0, 1.0, flat], cells)[0]
        # singular values 1, 1, f: 3 / (sqrt(2 + f^2) sqrt(2 + 1 / f^2))
        expected = 3.0 / np.sqrt((2.0 + flat**2) * (2.0 + flat**-2))
        assert squeezed == pytest.approx(expected)
        assert squeezed > flat
