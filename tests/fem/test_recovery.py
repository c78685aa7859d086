"""Patch recovery gives back what it must, and converges."""

import numpy as np
import pytest
from numpy.testing import assert_allclose

from spokecheck.fem.actions import heat, traction
from spokecheck.fem.cyclic import Cyclic
from spokecheck.fem.elasticity import Material
from spokecheck.fem.recovery import patch_recovery
from spokecheck.fem.static import solve_static
from spokecheck.fem.supports import fix
from spokecheck.handbook.patch_test import patch_mesh
from spokecheck.mesh.blocks import block, join, moved, turned_copies, zoned
from spokecheck.mesh.parts import beam_block, ring_sector
from spokecheck.mesh.quadrature import TET_4
from spokecheck.mesh.shapes import tet_values


def samples(mesh):
    """Positions (n_cells, 4, 3) of the integration points."""
    return np.einsum("qa,eai->eqi", tet_values(TET_4.points), mesh.points[mesh.cells])


def recovered(mesh, field):
    """Recover a scalar field given at the integration points."""
    values = np.repeat(field(samples(mesh))[..., None], 6, axis=-1)
    nodal = patch_recovery(mesh.points, mesh.cells).nodal(
        values[None].astype(complex), np.zeros(1, dtype=int)
    )
    return nodal[0, :, 0].real


@pytest.mark.parametrize("n", [1, 2, 3])
def test_linear_stress_comes_back_exactly(n):
    """A linear field is recovered to rounding on distorted meshes of any size."""
    mesh = patch_mesh(n)
    got = recovered(mesh, lambda x: 3.0 + x @ [1.0, -2.0, 0.5])
    assert_allclose(got, 3.0 + mesh.points @ [1.0, -2.0, 0.5], atol=1e-10)


def test_quadratic_stress_comes_back_at_every_corner():
    """A quadratic field is recovered at all corners, also at edges of the body."""
    mesh = beam_block(3.0, 2.0, 1.0, (4, 4, 4))
    got = recovered(mesh, lambda x: x[..., 0] ** 2 - x[..., 1] * x[..., 2])
    corners = np.unique(mesh.cells[:, :4])
    x = mesh.points[corners]
    assert_allclose(got[corners], x[:, 0] ** 2 - x[:, 1] * x[:, 2], atol=1e-8)


def test_sector_and_whole_ring_recover_alike():
    """Patches at the cuts are completed by the neighbour sectors, two layers deep."""
    count, angle = 6, np.pi / 3.0
    sector = ring_sector(1.0, 2.0, 0.5, (2, 4, 1), angle)
    whole = turned_copies(sector, count, angle)
    low, high = sector.nodes("start"), sector.nodes("end")

    def key(x):
        return np.lexsort(np.round([x[:, 2], np.hypot(x[:, 0], x[:, 1])], 9))

    low, high = low[key(sector.points[low])], high[key(sector.points[high])]
    cyclic = Cyclic(count, np.column_stack([low, high]))
    radius = np.hypot(*np.moveaxis(samples(sector)[..., :2], -1, 0))
    values = np.zeros((1, *radius.shape, 6), dtype=complex)
    values[..., 2] = radius**3
    part = patch_recovery(sector.points, sector.cells, cyclic).nodal(
        values, np.zeros(1, dtype=int)
    )[0, :, 2]
    full = recovered(whole, lambda x: np.hypot(x[..., 0], x[..., 1]) ** 3)
    gap = np.linalg.norm(sector.points[:, None] - whole.points, axis=2)
    assert_allclose(part.real, full[gap.argmin(axis=1)], rtol=1e-9)


def test_recovery_converges_with_the_cube_of_the_cell_size():
    """A smooth field is recovered with an error that falls about as h cubed."""
    gaps = []
    for n in (2, 4, 8):
        mesh = block(lambda x: x, (n, n, n))
        got = recovered(mesh, lambda x: np.sin(2 * x[..., 0] + x[..., 1]))
        exact = np.sin(2 * mesh.points[:, 0] + mesh.points[:, 1])
        gaps.append(np.sqrt(np.mean((got - exact) ** 2)))
    rates = np.log2(np.array(gaps[:-1]) / gaps[1:])
    assert rates[-1] > 2.7


def _two_metals(n=4):
    """A block whose half x > 1.5 is another group, and that group (n_cells,)."""
    mesh = beam_block(3.0, 2.0, 1.0, (2 * n, n, n))
    return mesh, (mesh.points[mesh.cells[:, :4]].mean(axis=1)[:, 0] > 1.5).astype(int)


def _jumping(mesh, groups, quiet=None):
    """Recovered field that is linear on either side of a jump at x = 1.5."""
    x = samples(mesh)
    values = np.where(groups[:, None] == 1, 20.0 - x[..., 1], 10.0 + x[..., 0])
    return (
        patch_recovery(mesh.points, mesh.cells, groups=quiet)
        .nodal(
            np.repeat(values[None, ..., None], 6, axis=-1).astype(complex),
            np.zeros(1, dtype=int),
        )[0, :, 0]
        .real
    )


def test_no_patch_reaches_across_a_change_of_metal():
    """A jump between two groups stays sharp: both sides are exact up to the interface.

    Points on the interface take the side of the lower number.
    """
    mesh, groups = _two_metals()
    got, x = _jumping(mesh, groups, groups), mesh.points
    first = x[:, 0] < 1.5 + 1e-9
    assert_allclose(got[first], 10.0 + x[first, 0], atol=1e-9)
    corners = np.zeros(mesh.n_points, dtype=bool)
    corners[mesh.cells[:, :4]] = True
    other = ~first & corners
    assert_allclose(got[other], 20.0 - x[other, 1], atol=1e-9)


def test_without_groups_a_jump_is_smeared():
    """The same jump with one group is off by a fifth of it beside the interface."""
    mesh, groups = _two_metals()
    got, x = _jumping(mesh, groups), mesh.points
    beside = np.abs(x[:, 0] - 1.5) < 1e-9
    assert np.abs(got[beside] - 10.0 - x[beside, 0]).max() > 1.5


def test_equal_groups_change_nothing():
    """One group for all cells gives the weights of no groups, bit by bit."""
    mesh, _ = _two_metals(2)
    same = patch_recovery(mesh.points, mesh.cells, groups=np.zeros(mesh.n_cells, int))
    none = patch_recovery(mesh.points, mesh.cells)
    assert (same.weights != none.weights).nnz == 0


def test_a_patch_reaches_no_further_than_it_must():
    """A corner inside a body is weighted from the cells that meet there, and no others.

    They are 24 in a block of bricks, more than the ten monomials of the fit need.
    """
    mesh = block(lambda x: x, (4, 4, 4))
    weights = patch_recovery(mesh.points, mesh.cells).weights
    inside = ((mesh.points > 1e-9) & (mesh.points < 1.0 - 1e-9)).all(axis=1)
    corners = np.intersect1d(np.flatnonzero(inside), mesh.cells[:, :4])
    assert len(corners) == 27
    for corner in corners:
        used = np.unique(weights[[corner]].nonzero()[1] // 4)
        assert set(used) == set(np.flatnonzero((mesh.cells == corner).any(axis=1)))


def test_a_wave_of_a_few_cells_is_not_smeared():
    """Of a wave eight cells long, 1 % is lost at the points within the body.

    A quadratic leaves the cubic term (k h)^3 / 6, a tenth at the edge of a patch of one
    layer and less at its centre; one layer more makes it eight times as large.
    """
    mesh = block(lambda x: x, (8, 8, 8))
    got = recovered(mesh, lambda x: np.sin(6.0 * x[..., 0] + 3.0 * x[..., 1]))
    gap = got - np.sin(6.0 * mesh.points[:, 0] + 3.0 * mesh.points[:, 1])
    inside = ((mesh.points > 1e-9) & (mesh.points < 1.0 - 1e-9)).all(axis=1)
    assert np.sqrt((gap[inside] ** 2).mean()) < 0.01


STIFF = Material(E=70000.0, nu=0.33, alpha=2.3e-5)


def _two_metal_bar(soft, load):
    """Solution of a bar, stiff up to x = 2 and soft beyond, all points held across.

    Strain is along x alone, and even in each metal, so stress is too.
    """
    near_root = beam_block(2.0, 1.0, 1.0, (4, 3, 3))
    beyond = zoned(moved(near_root, lambda x: x + np.array([2.0, 0.0, 0.0])), "soft")
    held = [fix("root"), fix(lambda x: x[:, 0] >= 0.0, "yz")]
    return solve_static(join([near_root, beyond]), STIFF, held, load, {"soft": soft})


def _sides(solution):
    """Points up to the interface, and those beyond it."""
    x = solution.mesh.points[:, 0]
    return x < 2.0 + 1e-9, x > 2.0 + 1e-9


def test_own_parts_of_two_metals_are_exact_up_to_the_interface():
    """Pulled by s along x, each metal has s nu / (1 - nu) across (Hooke's law).

    A patch across the interface would miss by a third of the difference one layer off.
    """
    soft = Material(E=7000.0, nu=0.1)
    s = _two_metal_bar(soft, [traction("tip", (10.0, 0.0, 0.0))])
    first, beyond = _sides(s)
    across = [10.0 * nu / (1.0 - nu) for nu in (STIFF.nu, soft.nu)]
    assert_allclose(s.stress[:, 0], 10.0, rtol=1e-10)
    assert_allclose(s.stress[first, 1], across[0], rtol=1e-10)
    assert_allclose(s.stress[beyond, 1], across[1], rtol=1e-10)
    # asked within the first layer of cells, each side answers for itself
    assert_allclose(s.stress_at((1.95, 0.4, 0.6))[1], across[0], rtol=1e-10)
    assert_allclose(s.stress_at((2.05, 0.4, 0.6))[1], across[1], rtol=1e-10)


def test_metals_that_differ_in_expansion_alone_are_two():
    """Heated by T and held across, each metal has -E alpha T / (1 - nu) there."""
    quiet = Material(E=STIFF.E, nu=STIFF.nu, alpha=0.0)
    s = _two_metal_bar(quiet, [heat(100.0)])
    first, beyond = _sides(s)
    hot = -STIFF.E * STIFF.alpha * 100.0 / (1.0 - STIFF.nu)
    assert_allclose(s.stress[first, 1], hot, rtol=1e-9)
    assert_allclose(s.stress[beyond, 1], 0.0, atol=1e-9 * abs(hot))
