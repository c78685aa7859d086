"""A solid from a STEP file: read, checked to be one, and meshed."""

import gmsh
import numpy as np

from spokecheck.errors import InputError
from spokecheck.fem.cyclic import Cyclic
from spokecheck.mesh.record import Mesh
from spokecheck.wheel.kernel.fields import HXT, ball_fields
from spokecheck.wheel.kernel.readout import GMSH_TO_TET10, TET10
from spokecheck.wheel.kernel.task import RawMesh, SolidTask


def mesh_solid(task: SolidTask) -> RawMesh:
    """Mesh the one solid of a STEP file, in mm as the file's own unit tells.

    Raises
    ------
    InputError
        If the file cannot be read or does not hold one solid.
    """
    occ, option = gmsh.model.occ, gmsh.option.setNumber
    gmsh.option.setString("Geometry.OCCTargetUnit", "MM")
    try:
        found = occ.importShapes(str(task.path))
    except Exception as failure:  # gmsh raises plain Exception
        raise InputError(
            f"{task.path}: cannot be read as STEP ({failure}); write it anew"
        ) from failure
    occ.synchronize()
    solids = [tag for tag in found if tag[0] == 3]
    if len(solids) != 1:
        raise InputError(
            f"{task.path}: holds {len(solids)} solids, one is needed; join the parts "
            "of the wheel to one solid, leave all else out, and write it as a solid, "
            "not as a surface"
        )
    volume = float(occ.getMass(*solids[0]))
    option("Mesh.MeshSizeMax", task.largest)
    option("Mesh.MeshSizeMin", task.smallest)
    option("Mesh.MeshSizeFromCurvature", task.per_turn)
    option("Mesh.MeshSizeFromPoints", 0)
    option("Mesh.Algorithm3D", HXT)
    balls = ball_fields(task.refinements, (0.0,), task.largest)
    if balls:
        option("Mesh.MeshSizeMin", min(ball.size for ball in task.refinements))
        least = gmsh.model.mesh.field.add("Min")
        gmsh.model.mesh.field.setNumbers(least, "FieldsList", balls)
        gmsh.model.mesh.field.setAsBackgroundMesh(least)
    gmsh.model.mesh.generate(3)
    gmsh.model.mesh.setOrder(2)
    return RawMesh(_all_cells(), Cyclic(), volume)


def _all_cells() -> Mesh:
    """Points and cells of the mesh in memory, without names."""
    tags, xyz, _ = gmsh.model.mesh.getNodes()
    _, connectivity = gmsh.model.mesh.getElementsByType(TET10)
    used, cells = np.unique(connectivity.astype(np.int64), return_inverse=True)
    order = np.argsort(tags)
    rows = order[np.searchsorted(tags.astype(np.int64), used, sorter=order)]
    points = xyz.reshape(-1, 3)[rows]
    return Mesh(points, cells.reshape(-1, 10)[:, GMSH_TO_TET10])
