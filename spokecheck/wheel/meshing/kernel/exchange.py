"""Write the CAD solid as STEP, and a mesh as MSH."""

import re
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path

import gmsh
import numpy as np

from spokecheck.errors import MeshError
from spokecheck.units import IntArray
from spokecheck.wheel.meshing.kernel.readout import GMSH_TO_TET10, TET10, TRI6
from spokecheck.wheel.meshing.kernel.solid import build_solid
from spokecheck.wheel.meshing.kernel.task import Exported, MshTask, StepTask

MSH_VERSION = 4.1
TET10_TO_GMSH: IntArray = np.argsort(GMSH_TO_TET10)

HEADER = re.compile(r"(?<=HEADER;\n).*?(?=FILE_SCHEMA)", re.DOTALL)
TIME = re.compile(r"'(\d{4}-\d\d-\d\dT[^']*)'")
WRITER = re.compile(r"'([^']*processor[^']*)'")
"""Parts of the header as the kernel writes it."""
PRODUCT = re.compile(r"PRODUCT\('[^']*',\s*'[^']*'")


def write_step(task: StepTask) -> Exported:
    """Build the whole wheel as one solid, zones or not, and write it, in mm."""
    whole = replace(task.drawing, count=1, low_angle=0.0, divide=None)
    solid = build_solid(whole)
    gmsh.write(str(task.path))
    _describe(task.path)
    return Exported(solid.volume)


def _describe(path: Path) -> None:
    """Put what the file holds in place of the kernel's own name.

    Raises
    ------
    MeshError
        If the kernel's header is not as expected.
    """
    text = path.read_text(encoding="utf-8")
    head = HEADER.search(text)
    time, writer = (p.search(head[0] if head else "") for p in (TIME, WRITER))
    text, products = PRODUCT.subn("PRODUCT('wheel','wheel'", text)
    if not (head and time and writer) or products != 1:
        raise MeshError(
            f"{path}: STEP header of an unknown form, {products} products (1 expected);"
            " install another release of gmsh"
        )
    # ISO 10303-21, header section: the order of the entries, and the writer's name
    # where FILE_NAME asks for it
    entries = (
        "FILE_DESCRIPTION(('road wheel, one solid, mm'),'2;1');\n"
        f"FILE_NAME('wheel','{time[1]}',(''),(''),'{writer[1]}','spokecheck','');\n"
    )
    path.write_text(text.replace(head[0], entries, 1), encoding="utf-8")


def write_msh(task: MshTask) -> Exported:
    """Write points, cells and named faces; names become physical groups.

    Cells that lie in no zone form a group ``wheel``.
    """
    mesh = task.mesh
    tags = np.arange(1, mesh.n_points + 1)
    zones = dict(mesh.zones)
    free = _unzoned(mesh.n_cells, mesh.zones)
    if len(free):
        zones["wheel"] = free
    first = 1
    for k, (name, rows) in enumerate(zones.items(), 1):
        body = gmsh.model.addDiscreteEntity(3)
        if first == 1:
            gmsh.model.mesh.addNodes(3, body, tags, mesh.points.ravel())
        cells = mesh.cells[rows][:, TET10_TO_GMSH] + 1
        first = _add(body, TET10, cells, first)
        gmsh.model.addPhysicalGroup(3, [body], k, name)
    for k, (name, faces) in enumerate(mesh.named.items(), 1):
        face = gmsh.model.addDiscreteEntity(2)
        first = _add(face, TRI6, faces + 1, first)
        gmsh.model.addPhysicalGroup(2, [face], k, name)
    gmsh.option.setNumber("Mesh.MshFileVersion", MSH_VERSION)
    gmsh.option.setNumber("Mesh.Binary", 0)
    gmsh.write(str(task.path))
    return Exported()


def _unzoned(count: int, zones: Mapping[str, IntArray]) -> IntArray:
    free = np.ones(count, dtype=bool)
    for rows in zones.values():
        free[rows] = False
    return np.flatnonzero(free)


def _add(entity: int, kind: int, nodes: IntArray, first: int) -> int:
    """Add elements numbered from ``first``; return the next free number."""
    count = len(nodes)
    tags = np.arange(first, first + count)
    gmsh.model.mesh.addElementsByType(entity, kind, tags, nodes.ravel())
    return first + count
