"""One meshing task in one gmsh session."""

from collections.abc import Iterator
from contextlib import contextmanager

import gmsh

from spokecheck.errors import InputError, MeshError
from spokecheck.wheel.kernel.export import write_msh, write_step
from spokecheck.wheel.kernel.faces import name_faces, tie_cuts
from spokecheck.wheel.kernel.fields import ball_sizes, generate, surface_sizes
from spokecheck.wheel.kernel.imported import mesh_solid
from spokecheck.wheel.kernel.readout import read_mesh
from spokecheck.wheel.kernel.solid import build_solid
from spokecheck.wheel.kernel.task import (
    Exported,
    MeshTask,
    MshTask,
    RawMesh,
    SolidTask,
    StepTask,
)

ONE_POINT = 5.0e-3
"""Points of the solid nearer than this [mm] are one: where a rounding touches a plane,
the kernel finds their common point to a few micrometres only, sometimes twice."""


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
    """Mesh one sector of a wheel, or the whole wheel where N is 1."""
    drawing = task.drawing
    solid = build_solid(drawing)
    names = name_faces(drawing)
    tie_cuts(drawing, names)
    parts = surface_sizes(task, names)
    parts += ball_sizes(task)
    generate(parts, task.largest)
    return read_mesh(drawing, names, solid)
