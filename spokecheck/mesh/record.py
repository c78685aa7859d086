"""The mesh record: points, second-order tetrahedra, named surfaces and zones.

TET10 node order, stated here and nowhere else: four corners 0 to 3, then the middle of
edges 01, 12, 20, 03, 13, 23 (the order of VTK's quadratic tetrahedron; gmsh swaps
the last two, which is put right at the file boundary).
TRI6: three corners, then the middle of edges 01, 12, 20.
Corners are numbered so that a cell's volume is positive and a surface face,
seen from outside the body, turns anticlockwise.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

import numpy as np

from spokecheck.errors import MeshError
from spokecheck.units import FloatArray, IntArray

TET_EDGES: IntArray = np.array([[0, 1], [1, 2], [2, 0], [0, 3], [1, 3], [2, 3]])
"""Corners at the ends of each edge; row k belongs to local node 4 + k."""

TET_FACES: IntArray = np.array(
    [[0, 2, 1, 6, 5, 4], [0, 1, 3, 4, 8, 7], [1, 2, 3, 5, 9, 8], [2, 0, 3, 6, 7, 9]]
)
"""Local nodes of the four TRI6 faces, outward."""


@dataclass(frozen=True)
class Mesh:
    """A body meshed with second-order tetrahedra.

    Attributes
    ----------
    points : ndarray (n_points, 3)
        Coordinates [mm].
    cells : ndarray (n_cells, 10)
        TET10 connectivity, in the order above.
    surfaces : mapping of str to ndarray (n_faces, 6)
        Named parts of the boundary as TRI6 faces, outward.
    zones : mapping of str to ndarray (n_zone_cells,)
        Named sets of cells, by cell number.
    interfaces : mapping of str to ndarray (n_faces, 6)
        Named surfaces inside the body as TRI6 faces, such as between two zones; no part
        of the boundary.
    """

    points: FloatArray
    cells: IntArray
    surfaces: Mapping[str, IntArray] = field(default_factory=dict)
    zones: Mapping[str, IntArray] = field(default_factory=dict)
    interfaces: Mapping[str, IntArray] = field(default_factory=dict)

    @property
    def n_points(self) -> int:
        """Number of points."""
        return len(self.points)

    @property
    def n_cells(self) -> int:
        """Number of cells."""
        return len(self.cells)

    @property
    def named(self) -> dict[str, IntArray]:
        """Surfaces and interfaces together."""
        return {**self.surfaces, **self.interfaces}

    def faces(self, names: str | Iterable[str]) -> IntArray:
        """Faces of one or several named surfaces, those inside the body too.

        Parameters
        ----------
        names : str or iterable of str
            Names of surfaces or interfaces.

        Returns
        -------
        ndarray (n_faces, 6)
            TRI6 faces, in the order of the names.

        Raises
        ------
        MeshError
            If a name is unknown; the message lists the names there are.
        """
        asked = [names] if isinstance(names, str) else list(names)
        surfaces = self.named
        unknown = [name for name in asked if name not in surfaces]
        if unknown:
            raise MeshError(
                f"surface {', '.join(unknown)}: not in this mesh; "
                f"it has {', '.join(sorted(surfaces)) or 'no named surface'}"
            )
        return np.concatenate([surfaces[name] for name in asked])

    def nodes(self, names: str | Iterable[str]) -> IntArray:
        """Sorted point numbers on one or several named surfaces."""
        return np.unique(self.faces(names))


def face_keys(faces: IntArray, n_points: int) -> IntArray:
    """One number for each face by its corners, whatever their order.

    Parameters
    ----------
    faces : ndarray (n_faces, 3 or 6)
        Corners first.
    n_points : int
        More than any corner's number.

    Returns
    -------
    ndarray (n_faces,)
    """
    corners = np.sort(faces[:, :3], axis=1)
    return np.asarray(corners @ np.array([n_points**2, n_points, 1]))


def boundary_faces(cells: IntArray) -> IntArray:
    """Faces that belong to one cell only.

    Parameters
    ----------
    cells : ndarray (n_cells, 10)
        TET10 connectivity.

    Returns
    -------
    ndarray (n_faces, 6)
        TRI6 faces of the boundary, outward.
    """
    faces = cells[:, TET_FACES].reshape(-1, 6)
    corners = np.sort(faces[:, :3], axis=1)
    _, first, count = np.unique(corners, axis=0, return_index=True, return_counts=True)
    return np.asarray(faces[np.sort(first[count == 1])])


def cells_behind(faces: IntArray, cells: IntArray, n_points: int) -> IntArray:
    """Cell (n_faces,) that each boundary face belongs to.

    Parameters
    ----------
    faces : ndarray (n_faces, 6)
        TRI6 faces.
    cells : ndarray (n_cells, 10)
        TET10 connectivity.
    n_points : int
        More than any point's number.

    Raises
    ------
    MeshError
        If a face belongs to no cell.
    """
    keys = face_keys(cells[:, TET_FACES].reshape(-1, 6), n_points)
    order = np.argsort(keys)
    wanted = face_keys(faces, n_points)
    at = np.searchsorted(keys, wanted, sorter=order)
    match = order[np.minimum(at, len(keys) - 1)]
    lost = int((keys[match] != wanted).sum())
    if lost:
        raise MeshError(
            f"{lost} of {len(faces)} faces belong to no cell of the mesh: "
            "give faces of its own boundary"
        )
    return np.asarray(match // 4)
