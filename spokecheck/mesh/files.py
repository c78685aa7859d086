"""Meshes to files and back through meshio, whose home this is."""

from collections.abc import Mapping
from pathlib import Path

import meshio
import numpy as np

from spokecheck.mesh.record import Mesh
from spokecheck.units import FloatArray

VTK_TET10 = "tetra10"
"""meshio's name for the ten-node tetrahedron, in VTK's node order, which is ours."""


def write_vtu(
    path: Path, mesh: Mesh, point_data: Mapping[str, FloatArray] | None = None
) -> Path:
    """Write a mesh as a VTU file (VTK's XML format for unstructured grids).

    Parameters
    ----------
    path : Path
        File to write.
    mesh : Mesh
        Points [mm] and cells; surfaces and zones are not written.
    point_data : mapping of str to ndarray (n_points, ...), optional
        Fields on the points.

    Returns
    -------
    Path
        ``path``.
    """
    fields = {name: np.asarray(field) for name, field in (point_data or {}).items()}
    grid = meshio.Mesh(mesh.points, [(VTK_TET10, mesh.cells)], point_data=fields)
    meshio.write(path, grid, file_format="vtu")
    return path


def read_vtu(path: Path) -> tuple[Mesh, dict[str, FloatArray]]:
    """Read the second-order tetrahedra of a VTU file and their point fields."""
    grid = meshio.read(path, file_format="vtu")
    cells = np.asarray(grid.get_cells_type(VTK_TET10), dtype=np.int64)
    mesh = Mesh(np.asarray(grid.points, dtype=float), cells)
    return mesh, {name: np.asarray(field) for name, field in grid.point_data.items()}
