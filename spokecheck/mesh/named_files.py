"""Meshes of one's own, with named surfaces, from and to files."""

from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path

import numpy as np

from spokecheck.errors import InputError, InputFileError
from spokecheck.mesh.files import FORMATS, MeshFile, read_mesh_file, write_mesh
from spokecheck.mesh.record import TET_FACES, Mesh, boundary_faces, face_keys
from spokecheck.mesh.soundness import make_sound
from spokecheck.units import FloatArray, IntArray

INSIDE = " inside"
"""Behind the name of a group's faces inside the body, if it has others outside."""


def read_mesh(path: str | Path, unit_mm: float = 1.0) -> Mesh:
    """Read a body of tetrahedra; named groups of its cells become surfaces and zones.

    Parameters
    ----------
    path : str or Path
        A mesh file, such as MSH, VTU or VTK; second-order cells, or first-order ones,
        which get points in the middle of their straight edges.
    unit_mm : float
        The file's unit of length [mm]; 1000 for metres.

    Returns
    -------
    Mesh
        Groups of triangles (physical groups, cell sets) on the boundary are surfaces,
        those inside the body interfaces; groups of tetrahedra are zones.

    Raises
    ------
    InputError
        If the file cannot be read or holds other cells than tetrahedra of one order.
    InputFileError
        With all faults of the body at once: flat or overlapping cells, cracks, parts
        that are not joined.

    Notes
    -----
    A rounding of straight edges is a polygon: stress there is off, see
    ``fem.surface_stress``.
    """
    if not unit_mm > 0.0:
        raise InputError(f"unit_mm = {unit_mm:g} mm: must be positive; 1000 for metres")
    raw = read_mesh_file(Path(path))
    sound = make_sound(replace(raw, points=unit_mm * raw.points))
    if sound.mesh is None:
        raise InputFileError(str(path), sound.faults, "mesh")
    used = np.unique(raw.cells)
    number = np.full(len(raw.points), -1)
    number[used] = np.arange(len(used))
    faces = {name: number[corners] for name, corners in raw.faces.items()}
    return _named(sound.mesh, faces, raw.zones)


def _named(
    mesh: Mesh, faces: Mapping[str, IntArray], zones: Mapping[str, IntArray]
) -> Mesh:
    """A mesh with the surfaces and interfaces that triangles (n, 3) name.

    Triangles that are no faces of cells are left out.
    """
    outer = boundary_faces(mesh.cells)
    every = mesh.cells[:, TET_FACES].reshape(-1, 6)
    keys, first = np.unique(face_keys(every, mesh.n_points), return_index=True)
    outside = np.isin(keys, face_keys(outer, mesh.n_points))
    surfaces, interfaces = {}, {}
    for name, some in faces.items():
        corners = some[(some >= 0).all(axis=1)]
        mine = np.isin(keys, face_keys(corners, mesh.n_points))
        on, within = every[first[mine & outside]], every[first[mine & ~outside]]
        if len(on):
            surfaces[name] = on
        if len(within):
            interfaces[name + INSIDE if len(on) else name] = within
    return replace(mesh, surfaces=surfaces, zones=dict(zones), interfaces=interfaces)


def write_vtu(
    path: str | Path, mesh: Mesh, point_data: Mapping[str, FloatArray] | None = None
) -> Path:
    """Write a mesh as a VTU file (VTK's XML format for unstructured grids).

    Parameters
    ----------
    path : str or Path
        File to write, with the suffix ``.vtu``.
    mesh : Mesh
        Points [mm], cells, surfaces, interfaces and zones; names are written as cell
        data of 0 and 1.
    point_data : mapping of str to ndarray (n_points, ...), optional
        Fields on the points.

    Returns
    -------
    Path

    Raises
    ------
    InputError
        If the suffix is another.
    """
    file = Path(path)
    if file.suffix != ".vtu":
        raise InputError(f"{file}: must end in .vtu; a mesh alone can be {_formats()}")
    return write_mesh(file, mesh, point_data)


def _formats() -> str:
    return ", ".join(sorted(FORMATS))


def read_vtu(path: str | Path) -> tuple[Mesh, dict[str, FloatArray]]:
    """Read a VTU file as ``write_vtu`` writes it: mesh with its names, point fields.

    Raises
    ------
    InputError
        If the file cannot be read, or its cells are not second-order tetrahedra.
    """
    found: MeshFile = read_mesh_file(Path(path))
    if found.cells.shape[1] != 10:
        raise InputError(
            f"{path}: cells of {found.cells.shape[1]} nodes, 10 are needed; read_mesh "
            "raises them to second order"
        )
    mesh = _named(Mesh(found.points, found.cells), found.faces, found.zones)
    return mesh, dict(found.fields)
