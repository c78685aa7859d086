"""What holds a body: prescribed displacements along any direction, by name or by place.

Every support adds, at each of its points, some unit directions d and values g with
``d . u = g``.
Points held along the axes keep the axes; others get a frame of their own, so that what
is held is always one component.

References
----------
Cook, Malkus, Plesha, Witt, Concepts and Applications of Finite Element Analysis,
4th ed., sec. 13.1 and 8.3 (constraints, skew supports; from memory).
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from spokecheck.errors import ModelError
from spokecheck.fem.loads import VectorField, sample_faces
from spokecheck.mesh.record import Mesh
from spokecheck.units import BoolArray, FloatArray, IntArray

Where = str | Sequence[str] | IntArray | Callable[[FloatArray], BoolArray]
"""Surface name or names, point numbers, or a test of positions (n, 3) -> (n,)."""

Vector = Sequence[float] | FloatArray
"""Three numbers."""

AXES = {"x": 0, "y": 1, "z": 2}

HELD = 1e-8
"""Least share of a direction that must be held for it to count, and the relative size
below which a rigid motion's resistance counts as none."""


@dataclass(frozen=True)
class Support:
    """Prescribed displacement of some points along some directions.

    Attributes
    ----------
    where : Where
        The points.
    directions : ndarray (n_directions, 3) or callable
        Directions held, the same at all points, or one direction (n, 3) as a function
        of position.
    value : ndarray (3,) or callable
        Displacement [mm], of which only the components along ``directions`` count.
    """

    where: Where
    directions: FloatArray | VectorField
    value: FloatArray | VectorField


@dataclass(frozen=True)
class RigidPart:
    """Points that move as one rigid body and carry a force and a moment."""

    where: Where
    centre: Vector


@dataclass(frozen=True)
class Foundation:
    """Springs normal to a surface, ``stiffness`` [N/mm^3] per area."""

    where: str | Sequence[str]
    stiffness: float


AnySupport = Support | RigidPart | Foundation


def fix(where: Where, axes: str = "xyz") -> Support:
    """Hold points along some of the axes."""
    return displace(where, (0.0, 0.0, 0.0), axes)


def displace(where: Where, value: Vector | VectorField, axes: str = "xyz") -> Support:
    """Prescribe the displacement of points along some of the axes.

    Parameters
    ----------
    where : Where
        The points.
    value : sequence of three float, or callable
        Displacement [mm], constant or as a function of position.
    axes : str
        Letters of the axes along which it is prescribed; the others stay free.

    Returns
    -------
    Support

    Raises
    ------
    ModelError
        If a letter is none of x, y, z.
    """
    unknown = sorted(set(axes) - set(AXES))
    if unknown or not axes:
        raise ModelError(
            f"axes = {axes!r}: must be letters out of x, y, z; name what is held"
        )
    rows = np.eye(3)[[AXES[letter] for letter in axes]]
    return Support(where, rows, value if callable(value) else np.asarray(value, float))


def slide(where: Where, normal: Vector | VectorField) -> Support:
    """Hold points along one direction only, the same everywhere or position-wise."""
    if callable(normal):
        return Support(where, normal, np.zeros(3))
    return Support(where, np.asarray(normal, dtype=float)[None, :], np.zeros(3))


def move_rigidly(
    where: Where,
    centre: Vector,
    shift: Vector = (0.0, 0.0, 0.0),
    rotation: Vector = (0.0, 0.0, 0.0),
) -> Support:
    """Prescribe a small rigid motion: shift [mm] and rotation vector [rad]."""
    about, d, w = (np.asarray(v, dtype=float) for v in (centre, shift, rotation))
    return displace(where, lambda x: d + np.cross(w, x - about))


def symmetry(mesh: Mesh, name: str) -> Support:
    """Hold a plane surface along its normal, whatever way it faces.

    Parameters
    ----------
    mesh : Mesh
        The body.
    name : str
        A plane surface.

    Returns
    -------
    Support

    Raises
    ------
    ModelError
        If the surface is not plane.
    """
    areas = sample_faces(mesh.points, mesh.faces(name)).areas.reshape(-1, 3)
    normal = areas.sum(axis=0)
    share = np.linalg.norm(normal) / np.linalg.norm(areas, axis=1).sum()
    if share < 1.0 - 1e-9:
        raise ModelError(
            f"surface {name}: not plane (mean normal {share:.6f} of full length); "
            "a symmetry plane must be plane, use slide with a function of position"
        )
    return slide(name, normal / np.linalg.norm(normal))


def near(position: Vector) -> Callable[[FloatArray], BoolArray]:
    """Test that picks the one point nearest to a position [mm]."""
    target = np.asarray(position, dtype=float)

    def nearest(x: FloatArray) -> BoolArray:
        picked = np.zeros(len(x), dtype=bool)
        picked[int(np.argmin(np.linalg.norm(x - target, axis=1)))] = True
        return picked

    return nearest


def select(mesh: Mesh, where: Where) -> IntArray:
    """Sorted point numbers of a selection.

    Raises
    ------
    MeshError
        If a surface name is unknown.
    ModelError
        If nothing is selected.
    """
    if isinstance(where, str):
        nodes = mesh.nodes(where)
    elif callable(where):
        nodes = np.flatnonzero(where(mesh.points))
    elif isinstance(where, np.ndarray):
        nodes = np.unique(where)
    else:
        nodes = mesh.nodes(list(where))
    if not len(nodes):
        raise ModelError("selection of points is empty: name a surface or widen it")
    return np.asarray(nodes)


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
    N, b = np.zeros((mesh.n_points, 3, 3)), np.zeros((mesh.n_points, 3))
    rows = [_rows(mesh, s) for s in supports if isinstance(s, Support)]
    for nodes, d, g in rows:
        np.add.at(N, nodes, np.einsum("nki,nkj->nij", d, d))
        np.add.at(b, nodes, np.einsum("nki,nk->ni", d, g))
    frames = np.tile(np.eye(3), (mesh.n_points, 1, 1))
    skew = np.flatnonzero((np.abs(N * (1.0 - np.eye(3))) > 1e-12).any(axis=(1, 2)))
    share, frames[skew] = np.linalg.eigh(N[skew])
    held = np.diagonal(N, axis1=1, axis2=2) > HELD
    held[skew] = share > HELD
    used = np.flatnonzero(held.any(axis=1))
    u = np.zeros_like(b)
    u[used] = np.einsum("nij,nj->ni", np.linalg.pinv(N[used], rcond=HELD), b[used])
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
