"""How far the stress inside the cells is from the recovered one.

The recovered field is smoother and nearer to the truth, so the difference measures the
error of the raw one, and bounds that of the recovered one in practice.

References
----------
Zienkiewicz, Zhu, A simple error estimator and adaptive procedure for practical
engineering analysis, Int. J. Numer. Methods Eng. 24 (1987) 337-357 (from memory).
"""

import numpy as np

from spokecheck.fem.stress import cell_stress
from spokecheck.mesh.quadrature import TET_4
from spokecheck.mesh.record import Mesh
from spokecheck.mesh.shapes import tet_values
from spokecheck.units import ComplexArray, FloatArray, IntArray

SHEAR_WEIGHT = np.array([1.0, 1.0, 1.0, 2.0, 2.0, 2.0])
"""So that the norm is that of the tensor, in which shear stands twice."""


def cell_errors(
    cells: IntArray, raw: ComplexArray, recovered: ComplexArray
) -> FloatArray:
    """Root mean square difference of raw and recovered stress in each cell.

    Parameters
    ----------
    cells : ndarray (n_cells, 10)
        TET10 connectivity.
    raw : ndarray (n_orders, n_cells, 4, 6)
        Stress at the four-point rule's points [MPa].
    recovered : ndarray (n_orders, n_points, 6)
        Recovered stress [MPa].

    Returns
    -------
    ndarray (n_cells,)
        Over all orders, tensor norm [MPa].
    """
    N = tet_values(TET_4.points)
    total = np.zeros(len(cells))
    for raw_order, smooth in zip(raw, recovered, strict=True):
        # recovered stress at the samples, less the raw one
        gap = np.matmul(N, smooth[cells]) - raw_order
        total += (np.abs(gap) ** 2 @ SHEAR_WEIGHT).mean(axis=1)
    return np.asarray(np.sqrt(total))


def errors_at(
    mesh: Mesh,
    lame: tuple[FloatArray, FloatArray],
    u: ComplexArray,
    recovered: ComplexArray,
    points: IntArray,
) -> FloatArray:
    """Relative stress error at some points: the mean of their cells over their stress.

    Parameters
    ----------
    mesh : Mesh
        The body.
    lame : tuple of ndarray (n_cells,)
        Lamé constants [MPa] of each cell.
    u : ndarray (n_orders, n_points, 3)
        Displacement [mm].
    recovered : ndarray (n_orders, n_points, 6)
        Recovered stress [MPa].
    points : ndarray (n,)
        Points asked for.

    Returns
    -------
    ndarray (n,)
        Dimensionless; infinite where there is no stress.
    """
    asked = np.zeros(mesh.n_points, dtype=bool)
    asked[points] = True
    touching = np.flatnonzero(asked[mesh.cells].any(axis=1))
    cells = mesh.cells[touching]
    raw = cell_stress(mesh.points, cells, u, (lame[0][touching], lame[1][touching]))
    errors = cell_errors(cells, raw, recovered)
    # mean over the cells that touch each point
    touches = (cells[None] == points[:, None, None]).any(axis=2)
    mean = (touches @ errors) / np.maximum(touches.sum(axis=1), 1)
    size = np.sqrt((np.abs(recovered[:, points]) ** 2 @ SHEAR_WEIGHT).sum(axis=0))
    share = np.full(len(points), np.inf)
    np.divide(mean, size, out=share, where=size > 0.0)
    return share
