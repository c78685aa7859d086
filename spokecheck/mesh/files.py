"""Meshes to files and back through meshio, whose home this is.

Names of surfaces and zones are written as cell data of 0 and 1.
A format that takes no blanks or commas gets the name's ``key``.
"""

import io
import re
import warnings
from collections.abc import Iterator, Mapping
from contextlib import contextmanager, redirect_stderr, redirect_stdout
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, TypeAlias

import meshio
import numpy as np
from numpy.typing import NDArray

from spokecheck.errors import InputError
from spokecheck.mesh.record import TET_EDGES, Mesh
from spokecheck.plain_text import bad_characters, described
from spokecheck.units import FloatArray, IntArray

VTK_TET10 = "tetra10"
"""meshio's name for the ten-node tetrahedron, in VTK's node order, which is ours."""
VTK_TRI6 = "triangle6"
SURFACE, ZONE = "surface:", "zone:"
"""In front of the name in cell data."""

FORMATS = {".vtu": False, ".vtk": True}
"""Whether a format takes names only as their ``key``, by suffix. These are the open
formats that keep every cell and every digit of a second-order mesh (see the tests).
"""
TITLE = "mesh of tetrahedra, mm"

SIGNATURE = re.compile(
    rb"<!--This file was created by [^>]*-->\n|(?<=\n)written by [^\n]*"
)
"""Where meshio writes its own name: a comment in VTU, the title line in VTK."""
HEAD = 400
"""Bytes in which the signature lies."""

FIRST_ORDER = 4
"""Points of a cell of first order."""

NO_BOW, FEW = 1.0e-2, 1.0e-3
"""Edges that bow by less than this share of their length count as straight: a rounding
with two edges on its quarter arc bows them by 0.1, digits cut off in a file by 0.001.
A mesh with fewer than this share of bowed edges is one of polygons."""

Marks: TypeAlias = NDArray[np.int32]

TRIANGLES = ("triangle", "triangle6")
SHELLS = (*TRIANGLES, "quad", "quad8", "quad9")
FIRST, SECOND = "tetra", "tetra10"
FLAT = ("vertex", "line", "line3", *SHELLS)
"""Cells that are no volume; they carry names, or nothing."""


def key(name: str) -> str:
    """Name in letters, digits and underscores, for formats that take nothing else.

    Examples
    --------
    >>> key("flange inboard, bead side")
    'flange_inboard_bead_side'
    """
    return re.sub(r"[\W_]+", "_", name).strip("_").lower()


FARTHEST = 1.0e9
"""Largest coordinate of a mesh file, whatever its unit: a wheel in nanometres."""


@dataclass(frozen=True)
class MeshFile:
    """Content of a mesh file: cells of any order, names as written.

    Attributes
    ----------
    points : ndarray (n_points, 3)
        In the file's unit.
    cells : ndarray (n_cells, 4) or (n_cells, 10)
        Tetrahedra, second-order ones in our node order.
    faces : mapping of str to ndarray (n_faces, 3)
        Corners of the triangles of each named group.
    zones : mapping of str to ndarray (n_zone_cells,)
        Numbers of the tetrahedra of each named group.
    fields : mapping of str to ndarray (n_points, ...)
        Fields on the points.
    """

    points: FloatArray
    cells: IntArray
    faces: Mapping[str, IntArray] = field(default_factory=dict)
    zones: Mapping[str, IntArray] = field(default_factory=dict)
    fields: Mapping[str, FloatArray] = field(default_factory=dict)

    @property
    def straight(self) -> bool:
        """Whether almost no edge bows, so that every rounding is a polygon."""
        if self.cells.shape[1] == FIRST_ORDER:
            return True
        ends = self.points[self.cells[:, TET_EDGES]]
        bow = self.points[self.cells[:, 4:]] - ends.mean(axis=2)
        length = np.linalg.norm(ends[:, :, 1] - ends[:, :, 0], axis=2)
        bowed = np.linalg.norm(bow, axis=2) > NO_BOW * length
        return bool(bowed.mean() < FEW)


def write_mesh(
    path: Path, mesh: Mesh, point_data: Mapping[str, FloatArray] | None = None
) -> Path:
    """Write a mesh with the names of its surfaces, interfaces and zones.

    Parameters
    ----------
    path : Path
        File to write; its suffix is one of ``FORMATS``, which are meshio's names too.
    mesh : Mesh
        Points [mm], cells, surfaces, interfaces and zones.
    point_data : mapping of str to ndarray (n_points, ...), optional
        Fields on the points.

    Returns
    -------
    Path
        ``path``.
    """
    keyed = FORMATS[path.suffix]
    shells = np.concatenate([np.empty((0, 6), np.int64), *mesh.named.values()])
    blocks = [(VTK_TET10, mesh.cells), (VTK_TRI6, shells)]
    data = {
        kind + key(name) if keyed else f"{kind} {name}": list(masks)
        for kind, name, masks in _marked(mesh, len(shells))
    }
    fields = {name: np.asarray(field) for name, field in (point_data or {}).items()}
    grid = meshio.Mesh(mesh.points, blocks, point_data=fields, cell_data=data)
    with _silence():
        meshio.write(path, grid, file_format=path.suffix[1:])
    content = path.read_bytes()
    title = b"" if path.suffix == ".vtu" else TITLE.encode()
    path.write_bytes(SIGNATURE.sub(title, content[:HEAD], count=1) + content[HEAD:])
    return path


def _marked(
    mesh: Mesh, n_shells: int
) -> Iterator[tuple[str, str, tuple[Marks, Marks]]]:
    """Kind and name of each surface and zone, with 1 on its cells and shells."""
    start = 0
    for name, faces in mesh.named.items():
        shells = np.zeros(n_shells, dtype=np.int32)
        shells[start : start + len(faces)] = 1
        start += len(faces)
        yield SURFACE, name, (np.zeros(mesh.n_cells, dtype=np.int32), shells)
    for name, rows in mesh.zones.items():
        cells = np.zeros(mesh.n_cells, dtype=np.int32)
        cells[rows] = 1
        yield ZONE, name, (cells, np.zeros(n_shells, dtype=np.int32))


def read_mesh_file(path: Path) -> MeshFile:
    """Read the tetrahedra of a mesh file, and the groups of cells that have a name.

    Parameters
    ----------
    path : Path
        Any format meshio reads.

    Returns
    -------
    MeshFile

    Raises
    ------
    InputError
        If the file cannot be read, or holds no tetrahedra or other cells beside them.
    """
    grid = _read(path)
    kinds = [block.type for block in grid.cells]
    solid = sorted({kind for kind in kinds if kind not in FLAT})
    if not solid:
        what = ", ".join(sorted(set(kinds))) or "no cells at all"
        raise InputError(
            f"{path}: a shell or line mesh ({what}), tetrahedra are needed; mesh the "
            "volume of the wheel and write its cells"
        )
    if solid not in ([FIRST], [SECOND]):
        raise InputError(
            f"{path}: cells of kind {', '.join(solid)}, tetrahedra of one order are "
            "needed (4 or 10 nodes); mesh the wheel with tetrahedra alone"
        )
    try:
        return _checked(path, grid, solid[0])
    except (TypeError, ValueError, IndexError, OverflowError) as failure:
        raise InputError(
            f"{path}: its arrays do not fit each other ({failure}); write it again"
        ) from failure


def _checked(path: Path, grid: Any, solid: str) -> MeshFile:
    """Record of what the library has read, once all its numbers are in range."""
    cells = np.asarray(grid.get_cells_type(solid), dtype=np.int64)
    points = np.asarray(grid.points, dtype=float)
    faces, zones = _groups(grid, solid)
    for what, numbers, count in (
        ("node", cells, len(points)),
        *(
            (f"node of group {name!r}", rows, len(points))
            for name, rows in faces.items()
        ),
        *(
            (f"cell of group {name!r}", rows, len(cells))
            for name, rows in zones.items()
        ),
    ):
        _check_range(path, what, numbers, count)
    used = points[np.unique(cells)]
    if used.shape[1:] != (3,) or not np.isfinite(used).all():
        raise InputError(f"{path}: points must have three finite coordinates")
    farthest = float(np.abs(used).max(initial=0.0))
    if farthest > FARTHEST:
        raise InputError(
            f"{path}: a coordinate is {farthest:.3g}, limit {FARTHEST:g} in any unit; "
            "write the mesh again"
        )
    for name in (*faces, *zones):
        misnamed = next(bad_characters(name, ""), None)
        if misnamed is not None:
            raise InputError(
                f"{path}: the name of group {name!r} holds {described(misnamed)}, "
                "which is no text; rename the group"
            )
    fields = {name: np.asarray(field) for name, field in grid.point_data.items()}
    return MeshFile(points, cells, faces, zones, fields)


def _check_range(path: Path, what: str, numbers: IntArray, count: int) -> None:
    """Refuse numbers of nodes or cells that are not there."""
    if not numbers.size:
        return
    low, high = int(numbers.min()), int(numbers.max())
    if low < 0 or high >= count:
        raise InputError(
            f"{path}: {what} {low if low < 0 else high} does not exist: the file has "
            f"{count}, numbered from 0; write it again"
        )


def _read(path: Path) -> Any:
    """Content of a file by meshio, whose errors are translated."""
    if not path.is_file():
        raise InputError(f"{path}: no such file; check the path")
    try:
        with _silence():
            return meshio.read(path)
    except (Exception, SystemExit) as failure:  # meshio's readers raise and exit freely
        said = f" ({failure})" if str(failure) not in ("", "1") else ""
        raise InputError(
            f"{path}: cannot be read as a mesh{said}; write the mesh as "
            f"{', '.join(('.msh', *FORMATS))}, or the solid as .step"
        ) from failure


@contextmanager
def _silence() -> Iterator[None]:
    """Keep what meshio prints and warns of from the terminal."""
    with (
        redirect_stdout(io.StringIO()),
        redirect_stderr(io.StringIO()),
        warnings.catch_warnings(),
    ):
        warnings.simplefilter("ignore")
        yield


def _groups(grid: Any, solid: str) -> tuple[dict[str, IntArray], dict[str, IntArray]]:
    """Triangle corners and tetrahedron numbers of every named group."""
    faces: dict[str, list[IntArray]] = {}
    zones: dict[str, list[IntArray]] = {}
    start = 0
    for k, block in enumerate(grid.cells):
        nodes = np.asarray(block.data, dtype=np.int64)
        for name, rows in _members(grid, k):
            if block.type == solid:
                zones.setdefault(name, []).append(start + rows)
            elif block.type in TRIANGLES:
                faces.setdefault(name, []).append(nodes[rows][:, :3])
        start += len(nodes) if block.type == solid else 0
    return _joined(faces), _joined(zones)


def _joined(parts: Mapping[str, list[IntArray]]) -> dict[str, IntArray]:
    joined = {name: np.concatenate(some) for name, some in parts.items()}
    return {name: rows for name, rows in joined.items() if len(rows)}


def _members(grid: Any, k: int) -> Iterator[tuple[str, IntArray]]:
    """Names of the groups that cells of block ``k`` belong to, and which cells."""
    for label, blocks in grid.cell_data.items():
        name = label.removeprefix(SURFACE).removeprefix(ZONE).strip()
        if name != label:
            yield name, np.flatnonzero(np.asarray(blocks[k]) == 1)
    for name, blocks in grid.cell_sets.items():
        rows = None if ":" in name else blocks[k]
        if rows is not None:
            yield name, np.asarray(rows, dtype=np.int64)
    physical = grid.cell_data.get("gmsh:physical")
    if physical is None:
        return
    for name, (tag, dim) in grid.field_data.items():
        if name not in grid.cell_sets and dim == grid.cells[k].dim:
            yield name, np.flatnonzero(np.asarray(physical[k]) == tag)
