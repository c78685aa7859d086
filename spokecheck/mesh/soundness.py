"""Check that a mesh from elsewhere is one closed body of usable cells.

Left-handed cells are turned, first-order cells get mid-side points, and points that no
cell uses are dropped; all else is a fault of the file.
"""

from dataclasses import dataclass

import numpy as np
import scipy.sparse as sp
from scipy.sparse.csgraph import connected_components
from scipy.spatial import cKDTree

from spokecheck.errors import Fault
from spokecheck.mesh.files import MeshFile
from spokecheck.mesh.jacobian_bounds import bernstein_coefficients
from spokecheck.mesh.record import (
    TET_EDGES,
    TET_FACES,
    Mesh,
    boundary_faces,
    face_keys,
)
from spokecheck.units import FloatArray, IntArray

FLAT = 1.0e-6
"""Volume over that of a cube of the longest edge below which a cell has none."""

COINCIDENT = 1.0e-6
"""Distance of two points, as a share of the body's size, below which they are one."""

TURNED: IntArray = np.array([1, 0, 2, 3, 4, 6, 5, 8, 7, 9])
"""Node order that changes a cell's handedness."""

MERGE = "merge coincident points, or join the parts, before the mesh is written"


@dataclass(frozen=True)
class Sound:
    """A mesh, or why there is none.

    Attributes
    ----------
    mesh : Mesh or None
        Second order; surfaces are the file's groups on its boundary.
    faults : tuple of Fault
    """

    mesh: Mesh | None
    faults: tuple[Fault, ...] = ()


def make_sound(file: MeshFile) -> Sound:
    """Checked mesh of a mesh file.

    Parameters
    ----------
    file : MeshFile
        Points already in mm.

    Returns
    -------
    Sound
    """
    points, cells, faces = _used(file)
    if cells.shape[1] == 4:
        points, cells = raised(points, cells)
    cells = _right_handed(points, cells)
    faults = [*_flat_faults(points, cells), *_body_faults(points, cells)]
    if faults:
        return Sound(None, tuple(faults))
    outer = boundary_faces(cells)
    surfaces = {name: _on_boundary(outer, some) for name, some in faces.items()}
    kept = {name: some for name, some in surfaces.items() if len(some)}
    return Sound(Mesh(points, cells, kept, file.zones))


def _used(file: MeshFile) -> tuple[FloatArray, IntArray, dict[str, IntArray]]:
    """Points that cells use, and cells and faces renumbered to them.

    A face with a corner that no cell uses is none of the body's.
    """
    used = np.unique(file.cells)
    number = np.full(len(file.points), -1)
    number[used] = np.arange(len(used))
    faces = {name: number[some] for name, some in file.faces.items()}
    faces = {name: some[(some >= 0).all(axis=1)] for name, some in faces.items()}
    return file.points[used], number[file.cells], faces


def raised(points: FloatArray, cells: IntArray) -> tuple[FloatArray, IntArray]:
    """Second-order cells with straight edges.

    Parameters
    ----------
    points : ndarray (n_points, 3)
    cells : ndarray (n_cells, 4)

    Returns
    -------
    points : ndarray (n_points + n_edges, 3)
    cells : ndarray (n_cells, 10)
    """
    ends = np.sort(cells[:, TET_EDGES], axis=2).reshape(-1, 2)
    edges, which = np.unique(ends, axis=0, return_inverse=True)
    middles = points[edges].mean(axis=1)
    mids = len(points) + which.reshape(-1, 6)
    return np.vstack([points, middles]), np.hstack([cells, mids])


def _right_handed(points: FloatArray, cells: IntArray) -> IntArray:
    """Cells of positive volume: that between bowed edges, not that of the corners."""
    left = bernstein_coefficients(points, cells).mean(axis=1) < 0.0
    return np.where(left[:, None], cells[:, TURNED], cells)


def _flat_faults(points: FloatArray, cells: IntArray) -> list[Fault]:
    corners = points[cells[:, :4]]
    edges = corners[:, TET_EDGES[:, 1]] - corners[:, TET_EDGES[:, 0]]
    longest = np.linalg.norm(edges, axis=2).max(axis=1)
    volume = bernstein_coefficients(points, cells).mean(axis=1)
    count = int((volume <= FLAT * longest**3).sum())
    if not count:
        return []
    return [
        Fault("cells", f"{count} flat", "have no volume", "mesh these places again")
    ]


def _body_faults(points: FloatArray, cells: IntArray) -> list[Fault]:
    """Parts that are not joined, cells that overlap, edges where more than two meet."""
    outer = np.unique(boundary_faces(cells)[:, :3])
    if not len(outer):
        text = "have no boundary: every face belongs to two of them"
        remedy = "remove the cells that occur twice"
        return [Fault("cells", f"{len(cells)}", text, remedy)]
    faults = []
    twins = _coincident(points, outer)
    if twins:
        text = "lie on another point: the boundary is open along a crack there"
        faults.append(Fault("points", f"{twins}", text, MERGE))
    sides = np.sort(cells[:, TET_FACES[:, :3]].reshape(-1, 3), axis=1)
    _, which, count = np.unique(sides, axis=0, return_inverse=True, return_counts=True)
    if (count > 2).any():
        text = "shared by more than two cells: cells overlap"
        remedy = "remove the cells that occur twice"
        faults.append(Fault("faces", f"{int((count > 2).sum())}", text, remedy))
        return faults
    bodies = _bodies(which.ravel(), count, len(cells))
    if bodies > 1:
        text = "are not joined by cell faces; one body is needed"
        faults.append(Fault("bodies", f"{bodies}", text, f"keep one of them; {MERGE}"))
    edges = _edge_counts(boundary_faces(cells)[:, :3])
    if (edges != 2).any():
        text = "edges of the boundary where more than two faces meet: it is no surface"
        remedy = "repair the solid there, and mesh it again"
        faults.append(Fault("boundary", f"{int((edges != 2).sum())}", text, remedy))
    return faults


def _coincident(points: FloatArray, nodes: IntArray) -> int:
    corners = points[nodes]
    size = float(np.ptp(corners, axis=0).max())
    return len(cKDTree(corners).query_pairs(COINCIDENT * size))


def _bodies(face: IntArray, count: IntArray, n_cells: int) -> int:
    """Number of bodies, cells being joined by common faces."""
    order = np.argsort(face, kind="stable")
    owner = np.repeat(np.arange(n_cells), 4)[order]
    shared = count[face[order]] == 2
    pairs = owner[shared].reshape(-1, 2)
    shape = (n_cells, n_cells)
    graph = sp.csr_array((np.ones(len(pairs)), (pairs[:, 0], pairs[:, 1])), shape=shape)
    return int(connected_components(graph, directed=False)[0])


def _edge_counts(corners: IntArray) -> IntArray:
    """How many faces meet at each edge of a surface."""
    ends = np.sort(corners[:, [[0, 1], [1, 2], [2, 0]]], axis=2).reshape(-1, 2)
    _, count = np.unique(ends, axis=0, return_counts=True)
    return np.asarray(count)


def _on_boundary(outer: IntArray, corners: IntArray) -> IntArray:
    """TRI6 faces of the boundary that have these corners."""
    base = int(outer.max()) + 1
    keys = face_keys(corners, base)
    return np.asarray(outer[np.isin(face_keys(outer, base), keys)])
