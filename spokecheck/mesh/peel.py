"""Take flat and folded cells off the surface of a mesh.

Where two triangles of a surface lie in one plane, the mesher can put a cell without
thickness under them, which no improvement inside the body removes.
Where they lie on one curved surface the cell has thickness, but none along the edge
they share once it bows: all its edges at an end of that edge touch one plane.
Without such a cell the body is the same: the surface then has the two triangles of the
other diagonal, whose middle is put on the surface.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from spokecheck.mesh.jacobian_bounds import jacobian_ratios
from spokecheck.mesh.quality import TIGHT, radius_ratios
from spokecheck.mesh.record import TET_FACES, Mesh, face_keys
from spokecheck.units import BoolArray, FloatArray, IntArray

ROUNDS = 5
"""Most rounds: a cell that becomes a surface cell may be taken off in the next."""

SMOOTH = 0.02
"""Two triangles are on one smooth surface if their points lie nearer to a quadric than
this share of the new edge's length."""

REVERSED: IntArray = np.array([0, 2, 1, 5, 4, 3])
"""Nodes of a TRI6 face, turned to its other side."""

Corners = tuple[int, int, int]


@dataclass(frozen=True)
class Peeled:
    """A mesh without flat or folded surface cells.

    Attributes
    ----------
    mesh : Mesh
    pairs : ndarray (n_pairs, 2)
        The pairs given, in the numbers of the new mesh.
    count : int
        Cells taken off.
    deviation : float
        Largest distance [mm] between the surface before and after.
    """

    mesh: Mesh
    pairs: IntArray
    count: int
    deviation: float


def peel(mesh: Mesh, pairs: IntArray, flat: float) -> Peeled:
    """Take off flat cells with two or three faces on the surface, folded ones with two.

    Parameters
    ----------
    mesh : Mesh
        Second-order mesh whose whole boundary is named.
    pairs : ndarray (n_pairs, 2)
        Points of two cuts that are images of each other; cells with a face between such
        points stay.
    flat : float
        Radius ratio below which a cell is flat; it is folded if its Jacobian falls
        below ``TIGHT`` of its largest.

    Returns
    -------
    Peeled
        The same mesh if it has no such cell.  Cells between two named surfaces stay,
        unless a third face shows where they belong; so do cells at an interface.
    """
    count, deviation = 0, 0.0
    for _ in range(ROUNDS):
        is_flat = radius_ratios(mesh.points, mesh.cells) < flat
        folded = jacobian_ratios(mesh.points, mesh.cells) < TIGHT
        off = _taken_off(mesh, pairs, is_flat, folded)
        if not off.gone:
            break
        count += len(off.gone)
        deviation = max(deviation, off.deviation)
        points = mesh.points.copy()
        for middle, place in off.middles.items():
            points[middle] = place
        surfaces = _without(mesh, off)
        mesh = replace(mesh, points=points)
        mesh, pairs = _compact(mesh, surfaces, np.array(off.gone), pairs)
    return Peeled(mesh, pairs, count, deviation)


@dataclass
class _Off:
    """Cells to take off, and the change of the surface.

    Attributes
    ----------
    gone : list of int
        Cells.
    lost : set of Corners
        Faces that are no longer on the surface.
    fresh : dict of str to list of ndarray (6,)
        Faces that are on it now, by surface.
    middles : dict of int to ndarray (3,)
        New places of mid-side points.
    deviation : float
        How far the surface moves [mm].
    """

    gone: list[int] = field(default_factory=list)
    lost: set[Corners] = field(default_factory=set)
    fresh: dict[str, list[IntArray]] = field(default_factory=dict)
    middles: dict[int, FloatArray] = field(default_factory=dict)
    deviation: float = 0.0


def _taken_off(mesh: Mesh, pairs: IntArray, flat: BoolArray, folded: BoolArray) -> _Off:
    """Cells that can be taken off, and the surface they leave.

    Cells that share a point with one of them are left to the next round.
    """
    off, cells = _Off(), np.flatnonzero(flat | folded)
    owner = _owners(mesh, cells)
    inside = {_key(face) for faces in mesh.interfaces.values() for face in faces}
    on_cut, touched = set(pairs.ravel().tolist()), set[int]()
    named = [faces[:, 3:].ravel() for faces in mesh.named.values()]
    on_surface = set(np.concatenate(named).tolist()) if len(cells) else set[int]()
    for cell in cells.tolist():
        faces = mesh.cells[cell][TET_FACES]
        names = [owner.get(_key(face)) for face in faces]
        both = list(zip(faces, names, strict=True))
        outer = [face for face, name in both if name is not None]
        inner = [face[REVERSED] for face, name in both if name is None]
        # inner faces of a cell that goes become surface; cuts and interfaces must not
        heir = _heir(names)
        if (
            heir is None
            or any(_key(face) in inside for face in faces)
            or any(on_cut.issuperset(face[:3].tolist()) for face in outer)
            or (len(inner) == 2 and _shared(inner) in on_surface)
            or not touched.isdisjoint(mesh.cells[cell].tolist())
        ):
            continue
        moved, smooth = _thickness(mesh, cell), False
        if len(outer) == 2:
            place, length, residual = _middle(mesh.points, outer, inner)
            smooth = residual <= SMOOTH * length
        if smooth:
            off.middles[_shared(inner)], moved = place, residual
        elif not flat[cell]:
            continue
        off.gone.append(cell)
        off.lost.update(_key(face) for face in outer)
        off.fresh.setdefault(heir, []).extend(inner)
        off.deviation = max(off.deviation, moved)
        touched.update(mesh.cells[cell].tolist())
    return off


def _owners(mesh: Mesh, cells: IntArray) -> dict[Corners, str]:
    """Surfaces that faces of some cells belong to."""
    sides = mesh.cells[cells][:, TET_FACES].reshape(-1, 6)
    keys, owners = face_keys(sides, mesh.n_points), {}
    for name, faces in mesh.surfaces.items():
        for face in faces[np.isin(face_keys(faces, mesh.n_points), keys)]:
            owners[_key(face)] = name
    return owners


def _without(mesh: Mesh, off: _Off) -> dict[str, IntArray]:
    """Surfaces after some cells are off."""
    lost = face_keys(np.array(sorted(off.lost)), mesh.n_points)
    surfaces = {}
    for name, faces in mesh.surfaces.items():
        kept = ~np.isin(face_keys(faces, mesh.n_points), lost)
        surfaces[name] = np.vstack([faces[kept], *off.fresh.get(name, [])])
    return surfaces


def _shared(inner: Sequence[IntArray]) -> int:
    """Mid-side point of the edge that two inner faces share."""
    (middle,) = set(inner[0][3:].tolist()).intersection(inner[1][3:].tolist())
    return int(middle)


def _middle(
    points: FloatArray, outer: Sequence[IntArray], inner: Sequence[IntArray]
) -> tuple[FloatArray, float, float]:
    """Middle (3,) of the new edge, its length, and distance off the surface [mm].

    The place lies on the quadric through the points of the two outer faces, in least
    squares; the distance is the largest of these points from it.
    """
    # 1. frame at the middle of the chord: along the edge, across it, normal
    ends = points[np.intersect1d(inner[0][:3], inner[1][:3])]
    chord, length = ends.mean(axis=0), float(np.linalg.norm(ends[1] - ends[0]))
    neighbours = points[np.unique(np.concatenate(outer))] - chord
    first, second, third = points[np.stack(outer)[:, :3]].transpose(1, 0, 2)
    normal = np.cross(second - first, third - first).sum(axis=0)
    normal = normal / np.linalg.norm(normal)
    along = (ends[1] - ends[0]) / length
    across = np.cross(normal, along)
    # 2. height h = c0 + c1 u + c2 v + c3 u^2 + c4 u v + c5 v^2 in least squares
    u, v = neighbours @ along / length, neighbours @ across / length
    terms = np.column_stack([np.ones(len(u)), u, v, u * u, u * v, v * v])
    height = neighbours @ normal
    fit, *_ = np.linalg.lstsq(terms, height, rcond=None)
    # 3. the middle of the edge, u = v = 0, lies c0 above the chord
    off = float(np.abs(terms @ fit - height).max())
    return chord + fit[0] * normal, length, off


def _thickness(mesh: Mesh, cell: int) -> float:
    """Largest distance [mm] of opposite edges' middles, square to the flat cell."""
    nodes = mesh.points[mesh.cells[cell]]
    sides = np.cross(nodes[TET_FACES[:, 1]] - nodes[TET_FACES[:, 0]],
                     nodes[TET_FACES[:, 2]] - nodes[TET_FACES[:, 0]])  # fmt: skip
    normal = sides[np.linalg.norm(sides, axis=1).argmax()]
    height = nodes @ (normal / np.linalg.norm(normal))
    return float(np.ptp(height))


def _key(face: IntArray) -> Corners:
    a, b, c = sorted(face[:3].tolist())
    return a, b, c


def _heir(names: list[str | None]) -> str | None:
    """Surface that takes over the inner faces of a flat cell, if one can."""
    outer = [name for name in names if name is not None]
    if len(outer) not in (2, 3):
        return None
    common = max(outer, key=outer.count)
    return common if outer.count(common) >= 2 else None


def _compact(
    mesh: Mesh, surfaces: dict[str, IntArray], gone: IntArray, pairs: IntArray
) -> tuple[Mesh, IntArray]:
    """Mesh without some cells, and without the points that only they had."""
    left = np.delete(np.arange(mesh.n_cells), gone)
    number = np.full(mesh.n_cells, -1)
    number[left] = np.arange(len(left))
    zones = {name: number[of] for name, of in mesh.zones.items()}
    zones = {name: of[of >= 0] for name, of in zones.items()}
    cells = mesh.cells[left]
    used = np.unique(cells)
    point = np.full(mesh.n_points, -1)
    point[used] = np.arange(len(used))
    new_pairs = point[pairs] if len(pairs) else pairs
    return replace(
        mesh,
        points=mesh.points[used],
        cells=point[cells],
        surfaces={name: point[faces] for name, faces in surfaces.items()},
        zones=zones,
        interfaces={name: point[faces] for name, faces in mesh.interfaces.items()},
    ), new_pairs
