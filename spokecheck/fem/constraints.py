"""All supports of a body gathered point by point, and the motions they leave free.

Points held along the axes keep the axes; others get a frame of their own, so that what
is held is always one component.

References
----------
Cook, Malkus, Plesha, Witt, Concepts and Applications of Finite Element Analysis,
4th ed., secs. 8.3 and 13.1 (constraints, skew supports; from memory).
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from spokecheck.errors import ModelError
from spokecheck.fem.supports import AXES, AnySupport, Support, select
from spokecheck.mesh.record import Mesh
from spokecheck.units import BoolArray, FloatArray, IntArray

HELD = 1e-8
"""Least share of a direction that must be held for it to count, and the relative size
below which a rigid motion's resistance counts as none."""


@dataclass(frozen=True)
class Constraints:
    """All prescribed displacements of a body, gathered point by point.

    Attributes
    ----------
    frames : ndarray (n_points, 3, 3)
        Columns are the axes of each point's own frame.
    held : ndarray (n_points, 3) of bool
        Held components, counted in the frames.
    values : ndarray (n_points, 3)
        Prescribed displacement [mm] in space, zero along what is free.
    resistance : ndarray (n_points, 3, 3)
        Sum of d d^T over the directions held at each point.
    """

    frames: FloatArray
    held: BoolArray
    values: FloatArray
    resistance: FloatArray

    @property
    def turned(self) -> bool:
        """Whether any point has a frame other than the axes."""
        return bool((self.frames != np.eye(3)).any())


def gather_constraints(mesh: Mesh, supports: Sequence[AnySupport]) -> Constraints:
    """Gather the prescribed displacements of all supports.

    Parameters
    ----------
    mesh : Mesh
        The body.
    supports : sequence of AnySupport
        Rigid parts and foundations are passed over.

    Returns
    -------
    Constraints

    Raises
    ------
    ModelError
        If two supports prescribe different values along the same direction.
    """
    # each support holds d . u = g: sum N = d d^T and b = d g point by point
    N, b = np.zeros((mesh.n_points, 3, 3)), np.zeros((mesh.n_points, 3))
    rows = [_rows(mesh, s) for s in supports if isinstance(s, Support)]
    for nodes, d, g in rows:
        np.add.at(N, nodes, np.einsum("nki,nkj->nij", d, d))
        np.add.at(b, nodes, np.einsum("nki,nk->ni", d, g))
    # points held askew take the eigenvectors of N as their frame
    frames = np.tile(np.eye(3), (mesh.n_points, 1, 1))
    skew = np.flatnonzero((np.abs(N * (1.0 - np.eye(3))) > 1e-12).any(axis=(1, 2)))
    share, frames[skew] = np.linalg.eigh(N[skew])
    held = np.diagonal(N, axis1=1, axis2=2) > HELD
    held[skew] = share > HELD
    # prescribed displacement of least size, N u = b
    holding = np.flatnonzero(held.any(axis=1))
    u = np.zeros_like(b)
    u[holding] = np.einsum(
        "nij,nj->ni", np.linalg.pinv(N[holding], rcond=HELD), b[holding]
    )
    # supports that contradict each other leave a gap
    for nodes, d, g in rows:
        gap = np.abs(np.einsum("nki,ni->nk", d, u[nodes]) - g).max()
        if gap > 1e-9 * max(float(np.abs(u).max()), float(np.abs(g).max())):
            raise ModelError(
                f"supports prescribe displacements {2 * gap:.3g} mm apart at one point "
                "along one direction: take one of them away"
            )
    return Constraints(frames, held, u, N)


def _rows(mesh: Mesh, support: Support) -> tuple[IntArray, FloatArray, FloatArray]:
    """Points, unit directions (n, k, 3) and values (n, k) of one support."""
    nodes = select(mesh, support.where)
    x = mesh.points[nodes]
    if callable(support.directions):
        d = np.asarray(support.directions(x), dtype=float)[:, None, :]
    else:
        d = np.broadcast_to(support.directions, (len(x), *support.directions.shape))
    d = d / np.linalg.norm(d, axis=2, keepdims=True)
    value = support.value(x) if callable(support.value) else support.value
    return nodes, d, np.einsum("nki,ni->nk", d, np.broadcast_to(value, x.shape))


def free_motions(points: FloatArray, resistance: FloatArray) -> list[str]:
    """Rigid motions that nothing resists, in words.

    Parameters
    ----------
    points : ndarray (n_points, 3)
        Coordinates [mm].
    resistance : ndarray (n_points, 3, 3)
        Sum of d d^T over what resists at each point.

    Returns
    -------
    list of str
        Such as ``shift along x``; empty for a body that is held.
    """
    centre, size = points.mean(axis=0), float(np.ptp(points, axis=0).max())
    # resistance of the six motions to each other, M = sum U^T N U; its null space
    motion = rigid_motions((points - centre) / size)
    M = np.einsum("nia,nij,njb->ab", motion, resistance, motion, optimize=True)
    values, vectors = np.linalg.eigh(M)
    null = vectors[:, values <= HELD * max(values.max(), HELD)]
    basis = _echelon(null.T[:, [3, 4, 5, 0, 1, 2]])
    return [_in_words(row[:3], row[3:], centre, size) for row in basis]


def rigid_motions(points: FloatArray) -> FloatArray:
    """The six rigid motions (n_points, 3, 6): shifts along, then rotations about x y z.

    Rotations turn about the origin.
    """
    x = np.asarray(points, dtype=float)
    motion = np.zeros((len(x), 3, 6))
    motion[:, :, :3] = np.eye(3)
    for k, axis in enumerate(np.eye(3)):
        motion[:, :, 3 + k] = np.cross(axis, x)
    return motion


def _echelon(rows: FloatArray) -> FloatArray:
    """Reduced row echelon form, with the largest pivot taken."""
    A, done = rows.copy(), 0
    for column in range(A.shape[1]):
        if done == len(A):
            break
        pivot = done + int(np.argmax(np.abs(A[done:, column])))
        if abs(A[pivot, column]) < 1e-6:
            continue
        A[[done, pivot]] = A[[pivot, done]]
        A[done] /= A[done, column]
        others = np.arange(len(A)) != done
        A[others] -= np.outer(A[others, column], A[done])
        done += 1
    return A


def _in_words(w: FloatArray, d: FloatArray, centre: FloatArray, size: float) -> str:
    """Name of a rigid motion of rotation w and, at ``centre``, shift d size."""
    turn = float(np.linalg.norm(w))
    if turn < 1e-6:
        return f"shift along {_direction(d / np.linalg.norm(d))}"
    axis = w / turn
    through = centre + size * np.cross(w, d) / turn**2
    through = through - axis * (through @ axis)
    place = ", ".join(
        f"{c + 0.0:.4g}" for c in np.where(abs(through) < 1e-9 * size, 0.0, through)
    )
    return f"rotation about {_direction(axis)} through ({place}) mm"


def _direction(unit: FloatArray) -> str:
    for name, k in AXES.items():
        if abs(abs(unit[k]) - 1.0) < 1e-6:
            return name
    return "(" + ", ".join(f"{c:.3g}" for c in unit) + ")"
