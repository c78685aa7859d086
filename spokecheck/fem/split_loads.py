"""Nodal forces of loads that change abruptly within a face.

The edge of a patch need not follow the mesh.
A face is cut into four, and its parts again, until what the parts add up to no longer
differs from what the whole gave; only parts that the edge crosses are cut to the end.
"""

from collections.abc import Callable

import numpy as np

from spokecheck.mesh.quadrature import Rule, conical_rule
from spokecheck.mesh.record import Mesh
from spokecheck.mesh.shapes import TRI_NODES, tri_gradients, tri_values
from spokecheck.units import FloatArray, IntArray

AreaForce = Callable[[FloatArray, FloatArray], FloatArray]
"""From positions (n, 3) and area vectors (n, 3), outward, to forces (n, 3) [N]."""

FINE_RULE: Rule = conical_rule(2, 8)
"""For tractions that are functions of position."""

ENOUGH = 1e-6
"""Parts are cut no further once that changes their forces by less than this share of
all forces on the surface."""

CUTS = 6
"""Most cuts: an edge across a face is then known to a 64th of the face."""

QUARTERS: IntArray = np.array([[0, 3, 5], [3, 1, 4], [5, 4, 2], [3, 4, 5]])
"""Corners of the four parts of a triangle, among its TRI6 nodes."""


def split_forces(mesh: Mesh, faces: IntArray, force: AreaForce) -> FloatArray:
    """Nodal forces (n_points, 3) [N] of a load on faces, cut up where it jumps.

    Parameters
    ----------
    mesh : Mesh
        The body.
    faces : ndarray (n_faces, 6)
        Loaded TRI6 faces.
    force : callable
        See ``AreaForce``.

    Returns
    -------
    ndarray (n_points, 3)

    Notes
    -----
    Resultants of discs and strips come out within 1 in 1,000 once they are as wide as
    half a face.  Of a patch narrower than a tenth of a face, between the integration
    points, nothing may be seen: refine the mesh there.
    """
    corners = np.broadcast_to(TRI_NODES[:3], (len(faces), 3, 2))
    of_part = _integrals(mesh, faces, corners, force)
    limit = ENOUGH * np.abs(of_part).sum()
    total = np.zeros((mesh.n_points, 3))
    for _ in range(CUTS):
        faces = np.repeat(faces, 4, axis=0)
        corners = _quartered(corners)
        parts = _integrals(mesh, faces, corners, force)
        limit = max(limit, ENOUGH * np.abs(parts).sum())
        together = parts.reshape(-1, 4, 6, 3).sum(axis=1)
        open_ones = np.abs(together - of_part).max(axis=(1, 2)) > limit
        np.add.at(total, faces[::4][~open_ones], together[~open_ones])
        further = np.repeat(open_ones, 4)
        faces, corners, of_part = faces[further], corners[further], parts[further]
        if not len(faces):
            return total
    np.add.at(total, faces, of_part)
    return total


def _quartered(corners: FloatArray) -> FloatArray:
    """Reference corners (4 n, 3, 2) of the parts of triangles (n, 3, 2)."""
    middles = (corners + np.roll(corners, -1, axis=1)) / 2.0
    nodes = np.concatenate([corners, middles], axis=1)
    return np.asarray(nodes[:, QUARTERS].reshape(-1, 3, 2))


def _integrals(
    mesh: Mesh, faces: IntArray, corners: FloatArray, force: AreaForce
) -> FloatArray:
    """Forces (n, 6, 3) at the faces' nodes of what acts on a part of each.

    ``corners`` (n, 3, 2) are those of the part in the face's reference coordinates.
    """
    rule = FINE_RULE
    weights = np.column_stack([1.0 - rule.points.sum(axis=1), rule.points])
    xi = np.einsum("qc,fcd->fqd", weights, corners)
    edges = corners[:, 1:] - corners[:, :1]
    share = np.abs(np.linalg.det(edges))[:, None] * rule.weights
    shape = xi.shape[:2]
    N = tri_values(xi.reshape(-1, 2)).reshape(*shape, 6)
    dN = tri_gradients(xi.reshape(-1, 2)).reshape(*shape, 6, 2)
    x = mesh.points[faces]
    tangents = np.einsum("fqad,fai->fqid", dN, x, optimize=True)
    areas = np.cross(tangents[..., 0], tangents[..., 1]) * share[..., None]
    positions = np.einsum("fqa,fai->fqi", N, x, optimize=True)
    acting = force(positions.reshape(-1, 3), areas.reshape(-1, 3))
    by_point = acting.reshape(positions.shape)
    return np.asarray(np.einsum("fqa,fqi->fai", N, by_point, optimize=True))
