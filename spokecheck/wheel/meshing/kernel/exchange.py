"""Write the CAD solid as STEP, and a mesh as MSH."""

from collections.abc import Mapping
from dataclasses import replace

import gmsh
import numpy as np

from spokecheck.units import IntArray
from spokecheck.wheel.meshing.kernel.readout import GMSH_TO_TET10, TET10, TRI6
from spokecheck.wheel.meshing.kernel.solid import build_solid
from spokecheck.wheel.meshing.kernel.task import Exported, MshTask, StepTask

MSH_VERSION = 4.1
TET10_TO_GMSH: IntArray = np.argsort(GMSH_TO_TET10)


def write_step(task: StepTask) -> Exported:
    """Build the whole wheel as one solid, zones or not, and write it, in mm."""
    whole = replace(task.drawing, count=1, low_angle=0.0, divide=None)
    solid = build_solid(whole)
    gmsh.write(str(task.path))
    return Exported(solid.volume)


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
