"""Stiffness and mass of a mesh: batched cell matrices, summed by pairs of points.

Index letters, here and in the formulas: e cell, q integration point, a b local node,
i j space.
For an isotropic material the cell matrix needs one product only,
``O_aibj = sum_q w G_ai G_bj``, since
``K_aibj = lambda O_aibj + mu O_ajbi + mu delta_ij O_akbk``.
"""

from collections.abc import Iterator

import numpy as np
import scipy.sparse as sp

from spokecheck.errors import MeshError
from spokecheck.fem.block_sparse import BlockSparse, sum_blocks
from spokecheck.fem.elasticity import Material
from spokecheck.mesh.quadrature import TET_4, Rule, conical_rule
from spokecheck.mesh.record import Mesh
from spokecheck.mesh.shapes import invert, jacobians, tet_gradients, tet_values
from spokecheck.units import FloatArray, IntArray

CHUNK = 4096
"""Cells handled at a time: 30 MB of cell matrices."""


def chunks(n_cells: int, size: int = CHUNK) -> Iterator[slice]:
    """Slices that run through all cells, ``size`` at a time."""
    return (
        slice(start, min(start + size, n_cells)) for start in range(0, n_cells, size)
    )


def shape_gradients(
    points: FloatArray, cells: IntArray, rule: Rule = TET_4
) -> tuple[FloatArray, FloatArray]:
    """Gradients of the shape functions in space.

    Parameters
    ----------
    points : ndarray (n_points, 3)
        Coordinates [mm].
    cells : ndarray (n_cells, 10)
        TET10 connectivity.
    rule : Rule
        Integration rule on the reference tetrahedron.

    Returns
    -------
    G : ndarray (n_cells, n_q, 10, 3)
        Derivative of each shape function along x, y, z [1/mm].
    dV : ndarray (n_cells, n_q)
        Weight times Jacobian determinant [mm^3].

    Raises
    ------
    MeshError
        If the determinant is not positive somewhere.
    """
    # dN/dx = dN/dxi J^-1
    dN = tet_gradients(rule.points)
    inverse, det = invert(jacobians(points, cells, dN))
    if not (det > 0.0).all():
        bad = np.flatnonzero((det <= 0.0).any(axis=1))
        raise MeshError(
            f"{len(bad)} of {len(cells)} cells: Jacobian determinant not positive "
            f"(first: cell {bad[0]}); refine there, or straighten mid-side nodes"
        )
    return np.matmul(dN, inverse), det * rule.weights


def cell_stiffness(
    G: FloatArray, dV: FloatArray, lam: FloatArray | float, mu: FloatArray | float
) -> FloatArray:
    """Stiffness matrices of a batch of isotropic cells.

    Parameters
    ----------
    G : ndarray (n_cells, n_q, 10, 3)
        Shape gradients [1/mm].
    dV : ndarray (n_cells, n_q)
        Integration weights [mm^3].
    lam, mu : float or ndarray (n_cells,)
        Lamé constants [MPa].

    Returns
    -------
    ndarray (n_cells, 10, 3, 10, 3)
        Indexed K[e, a, i, b, j] [N/mm].
    """
    n_cells, n_q = dV.shape
    # O_aibj = sum_q w G_ai G_bj, one product of (30, n_q) and (n_q, 30) for each cell
    h = G.reshape(n_cells, n_q, 30)
    hw = h * dV[:, :, None]
    P = np.matmul(hw.transpose(0, 2, 1), h).reshape(n_cells, 10, 3, 10, 3)
    lam_e = np.reshape(np.broadcast_to(lam, (n_cells,)), (n_cells, 1, 1, 1, 1))
    mu_e = np.reshape(np.broadcast_to(mu, (n_cells,)), (n_cells, 1, 1, 1, 1))
    # lambda O_aibj + mu O_ajbi
    K: FloatArray = lam_e * P
    K += mu_e * P.transpose(0, 1, 4, 3, 2)
    # mu delta_ij O_akbk
    trace = mu_e[..., 0, 0] * np.trace(P, axis1=2, axis2=4)
    for i in range(3):
        K[:, :, i, :, i] += trace
    return K


def cell_lame(
    mesh: Mesh, material: Material, zones: dict[str, Material] | None = None
) -> tuple[FloatArray, FloatArray]:
    """Lamé constants of every cell, ``material`` unless its zone says otherwise."""
    lame = np.tile(material.lame, (mesh.n_cells, 1))
    for name, other in (zones or {}).items():
        lame[mesh.zones[name]] = other.lame
    return lame[:, 0], lame[:, 1]


def assemble_stiffness(
    mesh: Mesh,
    material: Material,
    zones: dict[str, Material] | None = None,
    rule: Rule = TET_4,
) -> sp.csr_array:
    """Stiffness matrix of a mesh.

    Parameters
    ----------
    mesh : Mesh
        Every point must belong to a cell.
    material : Material
        Material of all cells outside ``zones``.
    zones : dict of str to Material, optional
        Other materials by zone name.
    rule : Rule
        Integration rule; four points are exact on straight cells.

    Returns
    -------
    csr_array (3 n_points, 3 n_points)
        K [N/mm], symmetric, with the six rigid motions in its null space.
    """
    return stiffness_blocks(mesh, cell_lame(mesh, material, zones), rule).full()


def stiffness_blocks(
    mesh: Mesh, lame: tuple[FloatArray, FloatArray], rule: Rule = TET_4
) -> BlockSparse:
    """Stiffness of a mesh by pairs of points; ``lame`` holds both (n_cells,)."""
    lam, mu = lame

    def blocks() -> Iterator[FloatArray]:
        for part in chunks(mesh.n_cells):
            G, dV = shape_gradients(mesh.points, mesh.cells[part], rule)
            yield cell_stiffness(G, dV, lam[part], mu[part])

    return sum_blocks(mesh.cells, blocks(), mesh.n_points)


def mass_blocks(mesh: Mesh, rho: FloatArray) -> BlockSparse:
    """Consistent mass [t] of a mesh by pairs of points; ``rho`` (n_cells,) [t/mm^3]."""
    rule = conical_rule(3, 4)
    N = tet_values(rule.points)

    def blocks() -> Iterator[FloatArray]:
        for part in chunks(mesh.n_cells):
            _, dV = shape_gradients(mesh.points, mesh.cells[part], rule)
            # M_aibj = delta_ij sum_q rho w N_a N_b
            M = np.einsum("e,eq,qa,qb->eab", rho[part], dV, N, N, optimize=True)
            yield M[:, :, None, :, None] * np.eye(3)[:, None, :]

    return sum_blocks(mesh.cells, blocks(), mesh.n_points)
