"""The committed reference meshes are those of the code, and pass their own check."""

from pathlib import Path

import numpy as np
from numpy.testing import assert_allclose, assert_array_equal

from spokecheck.fem.elasticity import Material
from spokecheck.fem.static import solve_static
from spokecheck.fem.supports import displace
from spokecheck.handbook.patch_test import PATCH_POINTS, patch_field, patch_mesh
from spokecheck.mesh.named_files import read_vtu
from spokecheck.mesh.record import boundary_faces

FILE = Path(__file__).parents[2] / "meshes/reference/patch-test.vtu"


def test_file_and_code_hold_the_same_patch_mesh():
    """The committed file has the points and cells that the code builds."""
    found, _ = read_vtu(FILE)
    built = patch_mesh()
    assert_allclose(found.points, built.points, atol=1e-12)
    assert_array_equal(found.cells, built.cells)


def test_the_published_points_are_in_the_mesh():
    """All eight inner points of MacNeal and Harder (1985) are corners of cells."""
    found, _ = read_vtu(FILE)
    corners = found.points[np.unique(found.cells[:, :4])]
    for point in PATCH_POINTS.reshape(-1, 3):
        assert np.linalg.norm(corners - point, axis=1).min() < 1e-12
    assert len(corners) == 16


def test_the_file_passes_the_patch_test():
    """Read from the file, the mesh gives 2000 and 400 everywhere."""
    mesh, _ = read_vtu(FILE)
    skin = np.unique(boundary_faces(mesh.cells))
    hold = displace(skin, patch_field)
    solution = solve_static(mesh, Material(E=1.0e6, nu=0.25), [hold], [])
    target = np.array([2000.0, 2000.0, 2000.0, 400.0, 400.0, 400.0])
    gap = np.abs(solution.cell_stress - target).max()
    assert gap < 1e-9 * 2000.0
