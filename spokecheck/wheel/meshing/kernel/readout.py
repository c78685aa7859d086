"""Read the mesh back from gmsh, in this project's conventions."""

import gmsh
import numpy as np

from spokecheck.errors import MeshError
from spokecheck.fem.cyclic import Cyclic, rotation
from spokecheck.mesh.record import Mesh, boundary_faces, face_keys
from spokecheck.units import FloatArray, IntArray
from spokecheck.wheel.meshing.kernel.solid import Solid
from spokecheck.wheel.meshing.kernel.task import RawMesh
from spokecheck.wheel.shape.drawing import DISC, Drawing
from spokecheck.wheel.shape.surfaces import CUT_HIGH, ON_SURFACE

GMSH_TO_TET10: IntArray = np.array([0, 1, 2, 3, 4, 5, 6, 7, 9, 8])
TET10, TRI6 = 11, 9


def read_mesh(drawing: Drawing, names: dict[str, list[int]], solid: Solid) -> RawMesh:
    """Cells, points, zones, named surfaces and cut pairs of the mesh in memory."""
    tags, xyz, _ = gmsh.model.mesh.getNodes()
    connectivity, zones = _cells_by_zone(solid)
    number = np.full(int(tags.max()) + 1, -1)
    used = np.unique(connectivity)
    number[used] = np.arange(len(used))
    row = np.full(int(tags.max()) + 1, -1)
    row[tags.astype(np.int64)] = np.arange(len(tags))
    points = xyz.reshape(-1, 3)[row[used]]
    cells = number[connectivity].reshape(-1, 10)[:, GMSH_TO_TET10]
    cells = _positive(points, cells)
    cyclic, points = _cut_pairs(drawing, names, number, points)
    outer = boundary_faces(cells)
    inside = () if drawing.divide is None else (drawing.divide.name,)
    surfaces = {
        name: _oriented(outer, number, faces)
        for name, faces in sorted(names.items())
        if name not in inside
    }
    interfaces = {
        name: _oriented(boundary_faces(cells[zones[DISC]]), number, names[name])
        for name in inside
    }
    mesh = Mesh(points, cells, surfaces, zones, interfaces)
    return RawMesh(mesh, cyclic, solid.volume)


def _cells_by_zone(solid: Solid) -> tuple[IntArray, dict[str, IntArray]]:
    """Connectivity of all cells, flat and in gmsh's numbers, and the cells of zones."""
    parts, zones, first = [], {}, 0
    for zone, volumes in solid.zones.items():
        by_volume = [
            gmsh.model.mesh.getElementsByType(TET10, tag)[1] for tag in volumes
        ]
        parts += by_volume
        count = sum(map(len, by_volume)) // 10
        zones[zone] = np.arange(first, first + count)
        first += count
    return np.concatenate(parts).astype(np.int64), zones


def _positive(points: FloatArray, cells: IntArray) -> IntArray:
    """Cells with their corners numbered so that the volume is positive."""
    edges = points[cells[:, 1:4]] - points[cells[:, :1]]
    if (np.linalg.det(edges) < 0.0).any():
        raise MeshError("gmsh numbered some cells left-handed; report this design")
    return cells


def _oriented(outer: IntArray, number: IntArray, faces: list[int]) -> IntArray:
    """TRI6 faces of CAD faces, taken from the cells' own boundary, so outward."""
    corners = []
    for face in faces:
        _, nodes = gmsh.model.mesh.getElementsByType(TRI6, face)
        corners.append(number[nodes.astype(np.int64)].reshape(-1, 6)[:, :3])
    base = int(outer.max()) + 1
    given, keys = face_keys(np.vstack(corners), base), face_keys(outer, base)
    order = np.argsort(keys)
    rows = order[np.searchsorted(keys[order], given)]
    return np.asarray(outer[np.sort(rows)])


def _cut_pairs(
    drawing: Drawing, names: dict[str, list[int]], number: IntArray, points: FloatArray
) -> tuple[Cyclic, FloatArray]:
    """Point pairs of the two cuts; the high copy is put exactly onto the low one's."""
    if drawing.count == 1:
        return Cyclic(), points
    pairs = []
    for face in names[CUT_HIGH]:
        _, here, there, _ = gmsh.model.mesh.getPeriodicNodes(2, face, True)
        pairs.append(
            np.column_stack(
                [number[there.astype(np.int64)], number[here.astype(np.int64)]]
            )
        )
    unique = np.unique(np.vstack(pairs), axis=0)
    cyclic = Cyclic(drawing.count, unique)
    moved = points[unique[:, 0]] @ rotation(cyclic.alpha).T
    gap = float(np.abs(moved - points[unique[:, 1]]).max())
    if gap > ON_SURFACE:
        raise MeshError(f"the meshes of the two sector cuts differ by {gap:.2g} mm")
    points = points.copy()
    points[unique[:, 1]] = moved
    return cyclic, points
