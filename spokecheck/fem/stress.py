"""Strain and stress inside the cells, straight from the displacements."""

from collections.abc import Sequence

import numpy as np

from spokecheck.errors import ModelError
from spokecheck.fem.assembly import chunks, shape_gradients
from spokecheck.mesh.quadrature import TET_4, Rule
from spokecheck.units import ComplexArray, FloatArray, IntArray


def cell_stress(
    points: FloatArray,
    cells: IntArray,
    u: ComplexArray,
    lame: tuple[FloatArray, FloatArray],
    rule: Rule = TET_4,
) -> ComplexArray:
    """Stress at the integration points of every cell.

    Parameters
    ----------
    points : ndarray (n_points, 3)
        Coordinates [mm].
    cells : ndarray (n_cells, 10)
        TET10 connectivity.
    u : ndarray (n_fields, n_points, 3)
        Displacement fields [mm], real or complex.
    lame : tuple of ndarray (n_cells,)
        Lamé constants [MPa] of each cell.
    rule : Rule
        Where to evaluate; the four-point rule has the optimal stress points.

    Returns
    -------
    ndarray (n_fields, n_cells, n_q, 6)
        Stress [MPa], order xx yy zz xy yz zx.
    """
    n_q = len(rule.weights)
    # H = sum_a u_a dN_a/dx for all fields in one product, then Hooke's law
    stress = np.empty((len(u), len(cells), n_q, 6), dtype=u.dtype)
    moved = np.ascontiguousarray(u.transpose(1, 0, 2))
    for part in chunks(len(cells)):
        G, _ = shape_gradients(points, cells[part], rule)
        local = moved[cells[part]].reshape(-1, 1, 10, len(u) * 3)
        H = np.matmul(G.transpose(0, 1, 3, 2), local)
        H = H.reshape(-1, n_q, 3, len(u), 3).transpose(3, 0, 1, 4, 2)
        stress[:, part] = _hooke(H, lame[0][part], lame[1][part])
    return stress


def _hooke(H: ComplexArray, lam: FloatArray, mu: FloatArray) -> ComplexArray:
    """Voigt stress from displacement gradients H[..., i, j] = d u_i / d x_j."""
    out = np.empty((*H.shape[:-2], 6), dtype=H.dtype)
    mu_q = mu[:, None]
    spread = lam[:, None] * np.trace(H, axis1=-2, axis2=-1)
    for k in range(3):
        out[..., k] = spread + 2.0 * mu_q * H[..., k, k]
    for k, (i, j) in enumerate([(0, 1), (1, 2), (2, 0)], start=3):
        out[..., k] = mu_q * (H[..., i, j] + H[..., j, i])
    return out


def von_mises(stress: FloatArray) -> FloatArray:
    """Von Mises stress [MPa] of stresses (..., 6).

    Examples
    --------
    >>> float(von_mises(np.array([100.0, 0.0, 0.0, 0.0, 0.0, 0.0])))
    100.0
    """
    x, y, z = stress[..., 0], stress[..., 1], stress[..., 2]
    shear = (stress[..., 3:] ** 2).sum(axis=-1)
    normal = 0.5 * ((x - y) ** 2 + (y - z) ** 2 + (z - x) ** 2)
    return np.asarray(np.sqrt(normal + 3.0 * shear))


def stress_tensor(stress: FloatArray) -> FloatArray:
    """Tensors (..., 3, 3) of Voigt stresses (..., 6)."""
    return np.asarray(stress[..., [[0, 3, 5], [3, 1, 4], [5, 4, 2]]])


def stress_along(stress: FloatArray, direction: FloatArray) -> FloatArray:
    """Normal stress [MPa] on the plane whose normal is ``direction`` (..., 3)."""
    n = np.asarray(direction, dtype=float)
    n = n / np.linalg.norm(n, axis=-1, keepdims=True)
    return np.asarray(np.einsum("...i,...ij,...j->...", n, stress_tensor(stress), n))


def principal_stresses(stress: FloatArray) -> FloatArray:
    """Principal stresses [MPa], the largest first.

    Parameters
    ----------
    stress : ndarray (..., 6)
        Stress [MPa], order xx yy zz xy yz zx.

    Returns
    -------
    ndarray (..., 3)

    Examples
    --------
    Pure shear:

    >>> principal_stresses(np.array([0.0, 0.0, 0.0, 50.0, 0.0, 0.0])).round(9).tolist()
    [50.0, 0.0, -50.0]
    """
    tensors = stress_tensor(np.asarray(stress, dtype=float))
    return np.asarray(np.linalg.eigvalsh(tensors)[..., ::-1])


def principal_directions(stress: FloatArray) -> FloatArray:
    """Unit vectors (..., 3, 3) of the principal stresses, row by row in their order.

    The sign of a direction means nothing, nor do directions of equal stresses alone.
    """
    tensors = stress_tensor(np.asarray(stress, dtype=float))
    columns = np.linalg.eigh(tensors)[1][..., ::-1]
    return np.asarray(np.swapaxes(columns, -1, -2))


def cylindrical(
    field: FloatArray,
    positions: FloatArray,
    axis: Sequence[float] = (0.0, 0.0, 1.0),
    through: Sequence[float] = (0.0, 0.0, 0.0),
) -> FloatArray:
    """Components along the radius, around and along an axis.

    Parameters
    ----------
    field : ndarray (..., 6) or (..., 3)
        Stresses [MPa], or vectors such as displacements [mm].
    positions : ndarray (..., 3)
        Where they are [mm].
    axis : sequence of three float
        Direction of the axis; around is positive by the right hand.
    through : sequence of three float
        A point of the axis [mm].

    Returns
    -------
    ndarray (..., 6) or (..., 3)
        rr, tt, aa, rt, ta, ar of a stress; r, t, a of a vector.

    Raises
    ------
    ModelError
        If a position lies on the axis, where there is no radius.

    Examples
    --------
    >>> hoop = np.array([0.0, 80.0, 0.0, 0.0, 0.0, 0.0])
    >>> cylindrical(hoop, np.array([50.0, 0.0, 0.0])).tolist()
    [0.0, 80.0, 0.0, 0.0, 0.0, 0.0]
    """
    values, x = np.asarray(field, dtype=float), np.asarray(positions, dtype=float)
    a = np.asarray(axis, dtype=float) / np.linalg.norm(axis)
    arm = x - np.asarray(through, dtype=float)
    radius = arm - (arm @ a)[..., None] * a
    length = np.linalg.norm(radius, axis=-1, keepdims=True)
    if (length <= 1e-9 * np.abs(arm).max(initial=0.0)).any():
        raise ModelError("a position lies on the axis: it has no radius; leave it out")
    r = radius / length
    frame = np.stack([r, np.cross(a, r), np.broadcast_to(a, r.shape)], axis=-2)
    if values.shape[-1] == 3:
        return np.asarray(np.einsum("...ij,...j->...i", frame, values))
    s = np.einsum("...ij,...jk,...lk->...il", frame, stress_tensor(values), frame)
    return np.asarray(s[..., [0, 1, 2, 0, 1, 2], [0, 1, 2, 1, 2, 0]])
