"""Take cells off the surface of a mesh that cannot stand there.

Where two triangles of a surface lie in one plane, the mesher can put a cell without
thickness under them, and nothing it improves inside the body removes that cell.
Where they lie on one curved surface the cell has thickness, but none along the edge
they share once it bows: all its edges at an end of that edge touch one plane.
Without such a cell the body is the same: the surface then has the two triangles of the
other diagonal, whose middle is put on the surface.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from spokecheck.mesh.quality import TIGHT, radius_ratios, scaled_jacobians
from spokecheck.mesh.record import TET_FACES, Mesh
from spokecheck.units import BoolArray, FloatArray, IntArray

ROUNDS = 3
"""A cell that has become a surface cell may be flat itself."""

SMOOTH = 0.02
"""Two triangles are on one smooth surface if their points lie nearer to a quadric than
this share of the new edge's length."""

REVERSED: IntArray = np.array([0, 2, 1, 5, 4, 3])
"""Nodes of a TRI6 face seen from its other side."""

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
        Radius ratio below which a cell is flat; it is folded if its Jacobian is below
        ``TIGHT`` of the straight cell's.

    Returns
    -------
    Peeled
        The very same mesh if it has no such cell.  Cells between two named surfaces
        stay, unless a third face shows where they belong; so do cells at an interface.
    """
    count, deviation = 0, 0.0
    for _ in range(ROUNDS):
        is_flat = radius_ratios(mesh.points, mesh.cells) < flat
        folded = scaled_jacobians(mesh.points, mesh.cells) < TIGHT
        found = _without(mesh, pairs, is_flat, folded)
        if not found.gone:
            break
        count += len(found.gone)
        deviation = max(deviation, found.deviation)
        points = mesh.points.copy()
        for middle, place in found.middles.items():
            points[middle] = place
        mesh = replace(mesh, points=points)
        mesh, pairs = _compact(mesh, found.surfaces, np.array(found.gone), pairs)
    return Peeled(mesh, pairs, count, deviation)


@dataclass
class _Off:
    """What taking cells off does.

    ``middles`` gives new places of mid-side points, ``deviation`` how far the surface
    moves.
    """

    surfaces: dict[str, IntArray]
    gone: list[int] = field(default_factory=list)
    middles: dict[int, FloatArray] = field(default_factory=dict)
    deviation: float = 0.0


def _without(mesh: Mesh, pairs: IntArray, flat: BoolArray, folded: BoolArray) -> _Off:
    """Surfaces without the cells that can go, and which these are."""
    inside = {_key(face) for faces in mesh.interfaces.values() for face in faces}
    off, on_cut = _Off(dict(mesh.surfaces)), set(pairs.ravel())
    for cell in np.flatnonzero(flat | folded):
        faces = mesh.cells[cell][TET_FACES]
        names = [_name_of(off.surfaces, face) for face in faces]
        both = list(zip(faces, names, strict=True))
        outer = [face for face, name in both if name is not None]
        inner = [face[REVERSED] for face, name in both if name is None]
        heir = _heir(names)
        if (
            heir is None
            or any(_key(face) in inside for face in faces)
            or any(on_cut.issuperset(face[:3]) for face in outer)
            or _touch(off.surfaces, inner)
        ):
            continue
        moved = _thickness(mesh, int(cell))
        if not flat[cell]:
            if len(outer) != 2 or names.count(heir) != 2:
                continue
            middle, place, length, moved = _middle(mesh.points, outer, inner)
            if moved > SMOOTH * length:
                continue
            off.middles[middle] = place
        lost = {_key(face) for face in outer}
        off.surfaces = {
            name: _drop(old, lost) if name in names else old
            for name, old in off.surfaces.items()
        }
        off.surfaces[heir] = np.vstack([off.surfaces[heir], inner])
        off.gone.append(int(cell))
        off.deviation = max(off.deviation, moved)
    return off


def _middle(
    points: FloatArray, outer: Sequence[IntArray], inner: Sequence[IntArray]
) -> tuple[int, FloatArray, float, float]:
    """Mid-side point of the new edge: number, place, edge length, distance off [mm].

    The place lies on the quadric through the points of the two outer faces, in least
    squares; the distance is the largest of these points from it.
    """
    edge = set(inner[0]).intersection(inner[1])
    (middle,) = edge.intersection(inner[0][3:])
    ends = points[sorted(edge - {middle})]
    chord, length = ends.mean(axis=0), float(np.linalg.norm(ends[1] - ends[0]))
    known = points[np.unique(np.concatenate(outer))] - chord
    corners = points[[face[:3] for face in outer]]
    normal = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]).sum(
        axis=0
    )
    normal = normal / np.linalg.norm(normal)
    along = (ends[1] - ends[0]) / length
    across = np.cross(normal, along)
    u, v = known @ along / length, known @ across / length
    terms = np.column_stack([np.ones(len(u)), u, v, u * u, u * v, v * v])
    height = known @ normal
    fit, *_ = np.linalg.lstsq(terms, height, rcond=None)
    off = float(np.abs(terms @ fit - height).max())
    return int(middle), chord + fit[0] * normal, length, off


def _touch(surfaces: Mapping[str, IntArray], inner: Sequence[IntArray]) -> bool:
    """Whether the edge between two inner faces lies on the surface already."""
    if len(inner) < 2:
        return False
    (middle,) = set(inner[0][3:]).intersection(inner[1][3:])
    return any((faces[:, 3:] == middle).any() for faces in surfaces.values())


def _thickness(mesh: Mesh, cell: int) -> float:
    """Largest distance [mm] of opposite edges' middles, square to the flat cell."""
    at = mesh.points[mesh.cells[cell]]
    sides = np.cross(at[TET_FACES[:, 1]] - at[TET_FACES[:, 0]],
                     at[TET_FACES[:, 2]] - at[TET_FACES[:, 0]])  # fmt: skip
    normal = sides[np.linalg.norm(sides, axis=1).argmax()]
    height = at @ (normal / np.linalg.norm(normal))
    return float(np.ptp(height))


def _key(face: IntArray) -> Corners:
    a, b, c = sorted(face[:3].tolist())
    return a, b, c


def _name_of(surfaces: Mapping[str, IntArray], face: IntArray) -> str | None:
    """Surface that a face belongs to; None for a face inside the body."""
    wanted = np.sort(face[:3])
    for name, faces in surfaces.items():
        if (np.sort(faces[:, :3], axis=1) == wanted).all(axis=1).any():
            return name
    return None


def _heir(names: list[str | None]) -> str | None:
    """Surface that takes over the inner faces of a flat cell, if one can."""
    outer = [name for name in names if name is not None]
    if len(outer) not in (2, 3):
        return None
    common = max(outer, key=outer.count)
    return common if outer.count(common) >= 2 else None


def _drop(faces: IntArray, lost: set[Corners]) -> IntArray:
    kept = [_key(face) not in lost for face in faces]
    return np.asarray(faces[np.array(kept, dtype=bool)])


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
