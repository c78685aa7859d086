"""How far the stress inside the cells is from the recovered one.

The recovered field is smoother and nearer to the truth, so the difference measures the
error of the raw one, and bounds that of the recovered one in practice.

References
----------
Zienkiewicz, Zhu, A simple error estimator and adaptive procedure for practical
engineering analysis, Int. J. Numer. Methods Eng. 24 (1987) 337-357 (from memory).
"""

import numpy as np

from spokecheck.mesh.quadrature import TET_4
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
    for low, smooth in zip(raw, recovered, strict=True):
        gap = np.matmul(N, smooth[cells]) - low
        total += (np.abs(gap) ** 2 @ SHEAR_WEIGHT).mean(axis=1)
    return np.asarray(np.sqrt(total))


def point_errors(
    cells: IntArray, errors: FloatArray, recovered: ComplexArray
) -> FloatArray:
    """Relative stress error at each point: the mean of its cells over its own stress.

    Parameters
    ----------
    cells : ndarray (n_cells, 10)
        TET10 connectivity.
    errors : ndarray (n_cells,)
        From ``cell_errors`` [MPa].
    recovered : ndarray (n_orders, n_points, 6)
        Recovered stress [MPa].

    Returns
    -------
    ndarray (n_points,)
        Dimensionless; infinite where there is no stress.
    """
    n_points = recovered.shape[1]
    flat = cells.ravel()
    count = np.bincount(flat, minlength=n_points)
    mean = np.bincount(flat, np.repeat(errors, 10), n_points) / np.maximum(count, 1)
    size = np.sqrt((np.abs(recovered) ** 2 @ SHEAR_WEIGHT).sum(axis=0))
    share = np.full(n_points, np.inf)
    np.divide(mean, size, out=share, where=size > 0.0)
    return share
