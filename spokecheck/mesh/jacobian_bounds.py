"""Bounds of the Jacobian over whole cells, and how flat a curved cell is.

The Jacobian of a TET10 is a cubic.  Written in Bernstein polynomials it lies between
its least and its largest coefficient, everywhere in the cell.
A part of a cell that is halved in its own reference coordinates has coefficients that
are means of its parent's, so the least over the largest never falls by halving: what
holds for a mesh holds for whatever is halved out of it.
The straight cell between the same corners is no measure: that of a part can be as flat
as one likes, and left-handed, where the part itself is sound.

References
----------
Johnen, Remacle, Geuzaine, Geometrical validity of curvilinear finite elements, J.
Comput. Phys. 233 (2013) 359-372 (from memory).
Knupp, Algebraic mesh quality metrics, SIAM J. Sci. Comput. 23 (2001) 193-218 (from
memory).
"""

from itertools import product
from math import factorial

import numpy as np

from spokecheck.mesh.quadrature import TET_4
from spokecheck.mesh.record import TET_EDGES
from spokecheck.mesh.shapes import TET_NODES, jacobians, tet_gradients
from spokecheck.mesh.subdivide import WHOLE_PARTS
from spokecheck.units import FloatArray, IntArray

POWERS: IntArray = np.array([p for p in product(range(4), repeat=4) if sum(p) == 3])
"""Powers (20, 4) of the barycentric coordinates in the Bernstein cubics."""

LATTICE: FloatArray = POWERS[:, 1:] / 3.0
"""Reference coordinates (20, 3) of points that settle a cubic."""


def _bernstein(xi: FloatArray) -> FloatArray:
    """Bernstein cubics (n, 20) at reference points (n, 3)."""
    L = np.column_stack([1.0 - xi.sum(axis=1), xi])
    count = [6 / np.prod([factorial(k) for k in power]) for power in POWERS]
    return np.asarray(count * np.prod(L[:, None, :] ** POWERS, axis=2))


FROM_VALUES = np.asarray(np.linalg.inv(_bernstein(LATTICE)), dtype=np.float64)
"""Coefficients (20, 20) from values at ``LATTICE``."""


def _of_parts() -> FloatArray:
    """Coefficients (8 * 20, 20) on the parts from those on the whole."""
    weights = np.column_stack([1.0 - LATTICE.sum(axis=1), LATTICE])
    parts = [weights @ TET_NODES[corners] for corners in WHOLE_PARTS[0]]
    return np.vstack([FROM_VALUES @ _bernstein(xi) for xi in parts])


OF_PARTS = _of_parts()

UNCLEAR = 0.1
"""Bounds below this are looked for again on the parts, where they are closer."""

REGULAR: FloatArray = np.array(
    [[1.0, 0.5, 0.5], [0.0, 0.75**0.5, 12.0**-0.5], [0.0, 0.0, (2.0 / 3.0) ** 0.5]]
)
"""Edges of the regular tetrahedron, as columns."""

BLOCK = 8192


def determinants(J: FloatArray) -> FloatArray:
    """Determinants (...) of matrices (..., 3, 3)."""
    a, b, c = J[..., 0], J[..., 1], J[..., 2]
    return np.asarray(
        a[..., 0] * (b[..., 1] * c[..., 2] - b[..., 2] * c[..., 1])
        + a[..., 1] * (b[..., 2] * c[..., 0] - b[..., 0] * c[..., 2])
        + a[..., 2] * (b[..., 0] * c[..., 1] - b[..., 1] * c[..., 0])
    )


def bernstein_coefficients(points: FloatArray, cells: IntArray) -> FloatArray:
    """Coefficients of the cells' Jacobians; their mean is six times the volume.

    Parameters
    ----------
    points : ndarray (n_points, 3)
        Coordinates [mm].
    cells : ndarray (n_cells, 10)
        TET10 connectivity.

    Returns
    -------
    ndarray (n_cells, 20)
        [mm^3].
    """
    dN, found = tet_gradients(LATTICE), np.empty((len(cells), len(POWERS)))
    for start in range(0, len(cells), BLOCK):
        part = slice(start, start + BLOCK)
        found[part] = determinants(jacobians(points, cells[part], dN)) @ FROM_VALUES.T
    return found


def jacobian_ratios(points: FloatArray, cells: IntArray) -> FloatArray:
    """Lower bound of each cell's least Jacobian over an upper bound of its largest.

    Parameters
    ----------
    points : ndarray (n_points, 3)
        Coordinates [mm].
    cells : ndarray (n_cells, 10)
        TET10 connectivity.

    Returns
    -------
    ndarray (n_cells,)
        1 for straight cells; positive only if the Jacobian is so all over the cell;
        minus infinity if it is nowhere positive.
    """
    corners = points[cells[:, :4]]
    upright = np.linalg.det(corners[:, 1:] - corners[:, :1]) > 0.0
    ratios = np.asarray(np.where(upright, 1.0, -np.inf), dtype=np.float64)
    bow = points[cells[:, 4:]] - points[cells[:, TET_EDGES]].mean(axis=2)
    curved = np.flatnonzero((np.abs(bow) > 1e-9).any(axis=(1, 2)))
    coefficients = bernstein_coefficients(points, cells[curved])
    ratios[curved] = _ratio(coefficients)
    unclear = ratios[curved] < UNCLEAR
    ratios[curved[unclear]] = _ratio(coefficients[unclear] @ OF_PARTS.T)
    return ratios


def _ratio(coefficients: FloatArray) -> FloatArray:
    """Least over largest (n,) of coefficients (n, m)."""
    least, largest = coefficients.min(axis=1), coefficients.max(axis=1)
    nowhere = np.full(len(least), -np.inf)
    return np.asarray(np.divide(least, largest, out=nowhere, where=largest > 0.0))


def cell_shapes(points: FloatArray, cells: IntArray) -> FloatArray:
    """How little each cell differs from the regular tetrahedron.

    Parameters
    ----------
    points : ndarray (n_points, 3)
        Coordinates [mm].
    cells : ndarray (n_cells, 10)
        TET10 connectivity.

    Returns
    -------
    ndarray (n_cells,)
        Inverse condition number (Frobenius, times 3) of the map from the regular
        tetrahedron, the least at the four integration points; 1 for the regular one,
        about the thickness over the length of a flat one, negative where it is folded.
    """
    dN = tet_gradients(TET_4.points) @ np.linalg.inv(REGULAR)
    shapes = np.empty(len(cells))
    for start in range(0, len(cells), BLOCK):
        part = slice(start, start + BLOCK)
        T = jacobians(points, cells[part], dN)
        # the norm of the inverse is that of the cofactors over the determinant
        cofactors = np.cross(np.roll(T, -1, axis=3), np.roll(T, -2, axis=3), axis=2)
        norms = (T**2).sum(axis=(2, 3)) * (cofactors**2).sum(axis=(2, 3))
        inverse = 3.0 / np.sqrt(np.where(norms > 0.0, norms, np.inf))
        shapes[part] = (determinants(T) * inverse).min(axis=1)
    return shapes
