"""Values at points: exact for fields of the cells' own degree."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from spokecheck.errors import ModelError
from spokecheck.fem.probe import locate
from spokecheck.handbook.patch_test import patch_mesh
from spokecheck.mesh.blocks import geometric
from spokecheck.mesh.parts import beam_block, ring_sector

CUBE = patch_mesh(2)
inside = st.floats(0.0, 1.0)


@settings(max_examples=30, deadline=None)
@given(inside, inside, inside)
def test_quadratic_field_is_exact_at_any_point(x, y, z):
    """A quadratic field on straight cells is interpolated exactly, skin included."""
    p = CUBE.points
    field = p[:, 0] ** 2 - 2.0 * p[:, 1] * p[:, 2] + 3.0 * p[:, 2]
    got = locate(CUBE, np.array([x, y, z])).value(CUBE, field)
    assert_allclose(got, x**2 - 2.0 * y * z + 3.0 * z, atol=1e-9)


def test_every_point_of_the_mesh_finds_itself():
    """A mesh point has weight one on itself."""
    for n in range(0, CUBE.n_points, 7):
        spot = locate(CUBE, CUBE.points[n])
        nodes = CUBE.cells[spot.cell]
        assert_allclose(spot.weights[nodes == n], 1.0, atol=1e-9)


def test_long_cells_are_found():
    """Slender graded cells do not hide a point."""
    bar = beam_block(1000.0, 1.0, 1.0, (geometric(6, 500.0), 1, 1))
    for x in (0.1, 3.0, 111.0, 999.0):
        at = locate(bar, np.array([x, 0.3, 0.6])).value(bar, bar.points)
        assert_allclose(at, [x, 0.3, 0.6], rtol=1e-9)


def test_point_on_the_true_circle_is_found_on_a_coarse_ring():
    """A point on the bore between mesh points counts as inside."""
    ring = ring_sector(50.0, 100.0, 10.0, (2, 4, 1))
    angle = np.radians(17.0)
    at = 50.0 * np.array([np.cos(angle), np.sin(angle), 0.0])
    assert_allclose(locate(ring, at).value(ring, ring.points), at, atol=0.01)


@pytest.mark.parametrize(
    "outside", [[-0.1, 0.5, 0.5], [0.5, 1.05, 0.5], [9.0, 9.0, 9.0]]
)
def test_point_outside_is_refused(outside):
    """A point outside is an error that tells the body's extent."""
    with pytest.raises(ModelError, match=r"spans \(0, 0, 0\) to \(1, 1, 1\) mm"):
        locate(CUBE, np.array(outside)).value(CUBE, CUBE.points)
