"""Shape functions of the second-order tetrahedron and triangle, as data and one method.

The same functions map the reference cell onto the real one (isoparametric), so they
serve the geometry checks of this room as well as the finite elements.
Node order: see ``record``.

References
----------
Zienkiewicz, Taylor, Zhu, The Finite Element Method: Its Basis and Fundamentals,
6th ed., sec. 4.9 and 5.10 (quadratic simplices; from memory).
"""

import numpy as np

from spokecheck.mesh.record import TET_EDGES
from spokecheck.units import FloatArray, IntArray

TRI_EDGES: IntArray = np.array([[0, 1], [1, 2], [2, 0]])
"""Corners at the ends of each triangle edge; row k belongs to local node 3 + k."""

TET_NODES: FloatArray = np.vstack(
    [np.eye(4), 0.5 * (np.eye(4)[TET_EDGES[:, 0]] + np.eye(4)[TET_EDGES[:, 1]])]
)[:, 1:]
"""Reference coordinates (10, 3) of the TET10 nodes: corner 0 at the origin."""

TRI_NODES: FloatArray = np.vstack(
    [np.eye(3), 0.5 * (np.eye(3)[TRI_EDGES[:, 0]] + np.eye(3)[TRI_EDGES[:, 1]])]
)[:, 1:]
"""Reference coordinates (6, 2) of the TRI6 nodes."""


def barycentric(xi: FloatArray) -> FloatArray:
    """Barycentric coordinates (n, d + 1) of reference points (n, d)."""
    return np.column_stack([1.0 - xi.sum(axis=1), xi])


def quadratic_values(xi: FloatArray, edges: IntArray) -> FloatArray:
    """Values of the quadratic shape functions of a simplex.

    Parameters
    ----------
    xi : ndarray (n, d)
        Reference coordinates, d = 2 for a triangle, 3 for a tetrahedron.
    edges : ndarray (n_edges, 2)
        ``TRI_EDGES`` or ``TET_EDGES``.

    Returns
    -------
    ndarray (n, d + 1 + n_edges)
        One column for each node: L (2 L - 1) at corners, 4 L_a L_b on edges.
    """
    L = barycentric(xi)
    return np.hstack([L * (2.0 * L - 1.0), 4.0 * L[:, edges[:, 0]] * L[:, edges[:, 1]]])


def quadratic_gradients(xi: FloatArray, edges: IntArray) -> FloatArray:
    """Reference gradients of the quadratic shape functions of a simplex.

    Parameters
    ----------
    xi : ndarray (n, d)
        Reference coordinates.
    edges : ndarray (n_edges, 2)
        ``TRI_EDGES`` or ``TET_EDGES``.

    Returns
    -------
    ndarray (n, n_nodes, d)
        Derivative of each shape function along each reference axis.
    """
    L = barycentric(xi)
    dim = xi.shape[1]
    dL = np.vstack([-np.ones(dim), np.eye(dim)])
    corner = (4.0 * L - 1.0)[:, :, None] * dL
    a, b = edges[:, 0], edges[:, 1]
    edge = 4.0 * (L[:, a, None] * dL[b] + L[:, b, None] * dL[a])
    return np.concatenate([corner, edge], axis=1)


def tet_values(xi: FloatArray) -> FloatArray:
    """TET10 shape functions (n, 10) at reference points (n, 3)."""
    return quadratic_values(xi, TET_EDGES)


def tet_gradients(xi: FloatArray) -> FloatArray:
    """TET10 reference gradients (n, 10, 3) at reference points (n, 3)."""
    return quadratic_gradients(xi, TET_EDGES)


def tri_values(xi: FloatArray) -> FloatArray:
    """TRI6 shape functions (n, 6) at reference points (n, 2)."""
    return quadratic_values(xi, TRI_EDGES)


def tri_gradients(xi: FloatArray) -> FloatArray:
    """TRI6 reference gradients (n, 6, 2) at reference points (n, 2)."""
    return quadratic_gradients(xi, TRI_EDGES)


def jacobians(points: FloatArray, cells: IntArray, dN: FloatArray) -> FloatArray:
    """Jacobian matrices of the map from the reference cell.

    Parameters
    ----------
    points : ndarray (n_points, 3)
        Coordinates [mm].
    cells : ndarray (n_cells, n_nodes)
        Connectivity.
    dN : ndarray (n_q, n_nodes, d)
        Reference gradients at the points asked for.

    Returns
    -------
    ndarray (n_cells, n_q, 3, d)
        Derivative of x, y, z along each reference axis [mm].
    """
    corners = points[cells].transpose(0, 2, 1)
    flat = np.ascontiguousarray(dN.transpose(1, 0, 2)).reshape(dN.shape[1], -1)
    J = np.matmul(corners, flat).reshape(len(cells), 3, dN.shape[0], dN.shape[2])
    return np.asarray(J.transpose(0, 2, 1, 3))


def invert(J: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Inverses and determinants of many 3 x 3 matrices, by cofactors.

    Parameters
    ----------
    J : ndarray (..., 3, 3)
        Matrices; singular ones give infinities, so look at the determinant first.

    Returns
    -------
    inverse : ndarray (..., 3, 3)
    det : ndarray (...)
    """
    a, b, c = J[..., 0], J[..., 1], J[..., 2]
    cofactors = np.stack([np.cross(b, c), np.cross(c, a), np.cross(a, b)], axis=-2)
    det = np.einsum("...i,...i->...", a, cofactors[..., 0, :])
    with np.errstate(divide="ignore", invalid="ignore"):
        return cofactors / det[..., None, None], det
