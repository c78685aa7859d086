"""One meshing task in one gmsh session."""

from collections.abc import Iterator
from contextlib import contextmanager

import gmsh

from spokecheck.errors import InputError, MeshError
from spokecheck.wheel.kernel.export import write_msh, write_step
from spokecheck.wheel.kernel.faces import name_faces, tie_cuts
from spokecheck.wheel.kernel.fields import (
    ball_sizes,
    generate,
    least_shape,
    surface_sizes,
)
from spokecheck.wheel.kernel.imported import mesh_solid
from spokecheck.wheel.kernel.readout import read_mesh
from spokecheck.wheel.kernel.solid import Solid, build_solid
from spokecheck.wheel.kernel.task import (
    Exported,
    MeshTask,
    MshTask,
    RawMesh,
    SolidTask,
    StepTask,
)

ONE_POINT = 5.0e-3
"""Points of the solid nearer than this [mm] are one.  Where a rounding touches a plane,
the kernel finds their common point to a few micrometres only, sometimes twice, and a
sliver stands between the two; another tolerance finds it once."""

TRIALS = ((ONE_POINT, 1.0), (0.0, 1.0), (ONE_POINT, 0.9), (2.0e-2, 0.95))
"""Tolerance [mm] and share of all edge lengths, tried until the mesh is sound."""

SOUND = 0.01
"""Radius ratio of the worst cell at which no more is tried."""


@contextmanager
def quiet_session() -> Iterator[None]:
    """Provide a gmsh that prints nothing and uses one thread."""
    gmsh.initialize(interruptible=False, readConfigFiles=False)
    try:
        gmsh.option.setNumber("General.Terminal", 0)
        gmsh.option.setNumber("General.NumThreads", 1)
        gmsh.option.setNumber("Geometry.ToleranceBoolean", ONE_POINT)
        yield
    finally:
        gmsh.finalize()


def run(task: MeshTask | StepTask | MshTask | SolidTask) -> RawMesh | Exported:
    """Do one task.

    Parameters
    ----------
    task : MeshTask, SolidTask, StepTask or MshTask
        What to do.

    Returns
    -------
    RawMesh or Exported

    Raises
    ------
    MeshError
        If the CAD kernel or the mesher fails.
    InputError
        If a file to be read is not what it should be.
    """
    try:
        with quiet_session():
            match task:
                case StepTask():
                    return write_step(task)
                case MshTask():
                    return write_msh(task)
                case SolidTask():
                    return mesh_solid(task)
                case MeshTask():
                    return mesh_drawing(task)
    except (MeshError, InputError):
        raise
    except Exception as failure:  # gmsh raises plain Exception
        raise MeshError(f"the mesher gave up ({failure})") from failure


def mesh_drawing(task: MeshTask) -> RawMesh:
    """Mesh one sector of a wheel, or the whole wheel where N is 1.

    Other tolerances and sizes are tried as long as the kernel fails or leaves slivers;
    the best mesh is kept.
    """
    shapes: dict[tuple[float, float], float] = {}
    for trial in TRIALS:
        try:
            names, solid = _first_order(task, *trial)
        except Exception:  # gmsh raises plain Exception
            if trial == TRIALS[-1] and not shapes:
                raise
            continue
        shapes[trial] = least_shape()
        if shapes[trial] >= SOUND:
            break
    best = max(shapes, key=lambda trial: shapes[trial])
    if best != trial:
        names, solid = _first_order(task, *best)
    gmsh.model.mesh.setOrder(2)
    return read_mesh(task.drawing, names, solid)


def _first_order(
    task: MeshTask, tolerance: float, share: float
) -> tuple[dict[str, list[int]], Solid]:
    """Faces by name and the solid of a mesh of first order in memory."""
    gmsh.clear()
    gmsh.option.setNumber("Geometry.ToleranceBoolean", tolerance)
    gmsh.option.setNumber("Mesh.MeshSizeFactor", share)
    solid = build_solid(task.drawing)
    names = name_faces(task.drawing)
    tie_cuts(task.drawing, names)
    generate([*surface_sizes(task, names), *ball_sizes(task)], task.largest)
    return names, solid
