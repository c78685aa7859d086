"""Planes of symmetry and antisymmetry of one's own part, found from its supports.

A plane face held along its normal alone carries no shear, and one held within its plane
alone no normal stress: either way the body goes on beyond it as its mirror image.
"""

import numpy as np

from spokecheck.fem.ghosts import MirrorPlane
from spokecheck.fem.orders import Supports
from spokecheck.mesh.record import Mesh, boundary_faces
from spokecheck.mesh.shapes import TRI_EDGES
from spokecheck.units import BoolArray, FloatArray, IntArray

FLAT = 1e-9
"""Distance of a point from the plane of its face, as a share of the body's size, up to
which the face is plane; a hundred times that tells two planes apart."""

HELD = 1e-6
"""How near to whole the share of a direction must be that is held or free."""


def mirror_planes(
    mesh: Mesh, supports: Supports, prescribed: FloatArray
) -> tuple[MirrorPlane, ...]:
    """Planes that supports make planes of symmetry or antisymmetry.

    Parameters
    ----------
    mesh : Mesh
        The body.
    supports : Supports
        What is held, coupled and sprung.
    prescribed : ndarray (n_points, 3)
        Prescribed displacement [mm].

    Returns
    -------
    tuple of MirrorPlane

    Notes
    -----
    More than half of the points inside the face must be held in just this way; what
    else is held on its border belongs to other faces.
    """
    faces = boundary_faces(mesh.cells)
    size = float(np.ptp(mesh.points, axis=0).max())
    normals, flat = _normals(mesh.points, faces, FLAT * size)
    H = _held_directions(supports, mesh.n_points)
    moving = np.abs(prescribed).max(axis=1) > 0.0
    moving[supports.coupled] = True
    if supports.springs is not None:
        moving[supports.springs.rows] = True
    flat &= ~moving[faces].any(axis=1)
    # along the normal n . H n, within the plane the rest of the trace
    along = np.einsum("fi,fkij,fj->fk", normals, H[faces], normals)
    trace = np.trace(H, axis1=1, axis2=2)
    within = trace[faces] - along
    found = []
    for held, rank, sign in ((along, 1, 1), (within, 2, -1)):
        whole = flat & (held > rank - HELD).all(axis=1)
        for plane in _planes(mesh.points, faces[whole], normals[whole], size):
            inner = _inside(plane[1], mesh.n_points)
            if len(inner) and (trace[inner] < rank + HELD).mean() > 0.5:
                n, some = plane
                offset = float(mesh.points[some[0, 0]] @ n)
                found.append(MirrorPlane(np.unique(some), n, offset, sign))
    return tuple(found)


def _normals(
    points: FloatArray, faces: IntArray, tolerance: float
) -> tuple[FloatArray, BoolArray]:
    """Unit normals (n_faces, 3) of the corners, and whether all points lie on them."""
    x = points[faces]
    n = np.cross(x[:, 1] - x[:, 0], x[:, 2] - x[:, 0])
    n /= np.linalg.norm(n, axis=1, keepdims=True)
    off = np.einsum("fki,fi->fk", x - x[:, :1], n)
    return n, np.asarray(np.abs(off).max(axis=1) < tolerance)


def _held_directions(supports: Supports, n_points: int) -> FloatArray:
    """Sum of d d^T (n_points, 3, 3) over the directions held at each point."""
    held = supports.held.astype(float)
    if supports.frames is None:
        return np.asarray(held[:, :, None] * np.eye(3))
    F = supports.frames
    return np.asarray(np.einsum("nk,nik,njk->nij", held, F, F))


def _planes(
    points: FloatArray, faces: IntArray, normals: FloatArray, size: float
) -> list[tuple[FloatArray, IntArray]]:
    """Faces by the plane they lie on, with its normal."""
    left = np.ones(len(faces), dtype=bool)
    planes = []
    while left.any():
        n = normals[int(np.argmax(left))]
        offset = points[faces[:, 0]] @ n
        level = offset[int(np.argmax(left))]
        same = left & (normals @ n > 1.0 - HELD)
        same &= np.abs(offset - level) < 100.0 * FLAT * size
        planes.append((n, faces[same]))
        left &= ~same
    return planes


def _inside(faces: IntArray, n_points: int) -> IntArray:
    """Points of some faces that are not on their common border."""
    ends = np.sort(faces[:, TRI_EDGES].reshape(-1, 2), axis=1)
    middles = faces[:, 3:].ravel()
    _, first, count = np.unique(middles, return_index=True, return_counts=True)
    border = first[count == 1]
    outer = np.concatenate([ends[border].ravel(), middles[border]])
    return np.asarray(np.setdiff1d(faces, outer))
