"""Stress in curved TRI6 faces from their own displacements and a known traction.

At each node of a face, with its normal n, P = 1 - n n and t_n = t . n:
``s = 2 l m / (l + 2 m) tr(e) P + 2 m e + l / (l + 2 m) t_n P
+ n t + t n - t_n n n - 2 m / (l + 2 m) b P``,
e the strain within the face, t the traction, l and m Lamé's constants, b the thermal
pressure: plane-stress Hooke for what lies in the face, the traction for the rest.

Index letters: f face, k node of the stress, a node of the displacement, i j space,
v Voigt component.
"""

import numpy as np

from spokecheck.mesh.shapes import TRI_NODES, tri_gradients
from spokecheck.units import FloatArray

FIRST, SECOND = np.array([0, 1, 2, 0, 1, 2]), np.array([0, 1, 2, 1, 2, 0])
"""Rows and columns of the Voigt components in the tensor."""


def gradients_and_normals(x: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Shape gradients within each face and its normal, at its own nodes.

    Parameters
    ----------
    x : ndarray (n_faces, 6, 3)
        Coordinates of the faces' nodes [mm].

    Returns
    -------
    g : ndarray (n_faces, 6, 6, 3)
        Gradient at the first node index of the shape function of the second [1/mm].
    n : ndarray (n_faces, 6, 3)
        Outward unit normals.
    """
    dN = tri_gradients(TRI_NODES)
    tangents = np.einsum("fai,kad->fkid", x, dN, optimize=True)
    metric = np.einsum("fkid,fkie->fkde", tangents, tangents)
    dual = tangents @ np.linalg.inv(metric)
    normal = np.cross(tangents[..., 0], tangents[..., 1])
    normal /= np.linalg.norm(normal, axis=-1, keepdims=True)
    return np.einsum("kad,fkid->fkai", dN, dual, optimize=True), normal


def smallest_rotations(n: FloatArray, m: FloatArray) -> FloatArray:
    """Smallest rotations (..., 3, 3) that turn unit vectors n to m."""
    v, c = np.cross(n, m), np.einsum("...i,...i->...", n, m)
    V = np.cross(np.eye(3), v[..., None, :])
    return np.asarray(np.eye(3) + V + V @ V / np.maximum(1.0 + c, 0.1)[..., None, None])


def face_weights(
    g: FloatArray, n: FloatArray, Q: FloatArray, lam: FloatArray, mu: FloatArray
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Weights of displacement, traction and thermal pressure in each face's stress.

    Parameters
    ----------
    g, n
        As from ``gradients_and_normals``.
    Q : ndarray (n_faces, 6, 3, 3)
        By which the tensor at each node is turned.
    lam, mu : ndarray (n_faces,)
        Lamé constants [MPa].

    Returns
    -------
    of_u : ndarray (n_faces, 6, 6, 6, 3)
        By node of the stress, node of the displacement, component of either.
    of_t : ndarray (n_faces, 6, 6, 3)
    of_b : ndarray (n_faces, 6, 6)
    """
    stiff = lam + 2.0 * mu
    plane, share = 2.0 * lam * mu / stiff, lam / stiff
    m = np.einsum("fkij,fkj->fki", Q, n)
    P = np.eye(3) - m[..., :, None] * m[..., None, :]
    A, G = P @ Q, np.einsum("fkij,fkaj->fkai", Q, g, optimize=True)
    of_u = np.empty((*g.shape[:3], 6, 3))
    of_t = np.empty((*n.shape[:2], 6, 3))
    for v, (i, j) in enumerate(zip(FIRST, SECOND, strict=True)):
        # within the surface: 2 l m / (l + 2 m) tr(e) P + 2 m e
        of_u[..., v, :] = (plane[:, None] * P[..., i, j])[..., None, None] * g
        bent = (
            A[..., None, i, :] * G[..., j, None] + A[..., None, j, :] * G[..., i, None]
        )
        of_u[..., v, :] += mu[:, None, None, None] * bent
        # from the traction: (l / (l + 2 m) P - m m) t_n + m t + t m
        pressed = share[:, None] * P[..., i, j] - m[..., i] * m[..., j]
        of_t[..., v, :] = pressed[..., None] * n
        of_t[..., v, :] += (
            m[..., i, None] * Q[..., j, :] + m[..., j, None] * Q[..., i, :]
        )
    of_b = (-2.0 * mu / stiff)[:, None, None] * P[..., FIRST, SECOND]
    return of_u, of_t, of_b
