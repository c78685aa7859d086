"""One meshing task in one gmsh session."""

from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import replace

import gmsh

from spokecheck.errors import InputError, MemoryLimitError, MeshError
from spokecheck.wheel.meshing.kernel.exchange import write_msh, write_step
from spokecheck.wheel.meshing.kernel.faces import name_faces, tie_cuts
from spokecheck.wheel.meshing.kernel.imported import find_solid_symmetry, mesh_solid
from spokecheck.wheel.meshing.kernel.readout import read_mesh
from spokecheck.wheel.meshing.kernel.ring import grid_ring
from spokecheck.wheel.meshing.kernel.rows import divide_rows
from spokecheck.wheel.meshing.kernel.size_bound import check_cells, estimate_cells
from spokecheck.wheel.meshing.kernel.size_fields import (
    generate,
    sphere_sizes,
    surface_sizes,
)
from spokecheck.wheel.meshing.kernel.solid import Solid, build_solid
from spokecheck.wheel.meshing.kernel.task import (
    Exported,
    MeshTask,
    MshTask,
    RawMesh,
    SolidTask,
    StepTask,
    Symmetry,
    SymmetryTask,
)
from spokecheck.wheel.meshing.kernel.trials import ONE_POINT, TRIALS, Trial


@contextmanager
def quiet_session() -> Iterator[None]:
    """Provide a gmsh that prints nothing and uses one thread."""
    _start()
    try:
        yield
    finally:
        gmsh.finalize()


def _start() -> None:
    gmsh.initialize(interruptible=False, readConfigFiles=False)
    gmsh.option.setNumber("General.Terminal", 0)
    gmsh.option.setNumber("General.NumThreads", 1)
    gmsh.option.setNumber("Geometry.ToleranceBoolean", ONE_POINT)


def _start_again() -> None:
    """Start a new session: after a failure the mesher stays locked and idle."""
    gmsh.finalize()
    _start()


def run(
    task: MeshTask | StepTask | MshTask | SolidTask | SymmetryTask,
    gigabytes: float = float("inf"),
) -> RawMesh | Exported | Symmetry:
    """Do one task.

    Parameters
    ----------
    task : MeshTask, SolidTask, SymmetryTask, StepTask or MshTask
        What to do.
    gigabytes : float
        Memory that this process may take.

    Returns
    -------
    RawMesh, Exported or Symmetry

    Raises
    ------
    MeshError
        If the CAD kernel or the mesher fails.
    InputError
        If a file cannot be read as its format says.
    MemoryLimitError
        If the mesh would need more memory.
    """
    try:
        with quiet_session():
            match task:
                case StepTask():
                    return write_step(task)
                case MshTask():
                    return write_msh(task)
                case SolidTask():
                    return mesh_solid(task, gigabytes)
                case SymmetryTask():
                    return find_solid_symmetry(task)
                case MeshTask():
                    return mesh_drawing(task, gigabytes)
    except (InputError, MemoryLimitError, MeshError):
        raise
    except Exception as failure:  # gmsh raises plain Exception
        raise MeshError(f"the mesher failed ({failure})") from failure


def mesh_drawing(task: MeshTask, gigabytes: float = float("inf")) -> RawMesh:
    """Mesh one sector of a drawing by the first trial at which the kernel succeeds.

    Parameters
    ----------
    task : MeshTask
        Trials before ``task.trial`` are left out.
    gigabytes : float
        Memory that this process may take.

    Returns
    -------
    RawMesh
    """
    failure: Exception = MeshError("no trial is left")
    for number in range(task.trial, len(TRIALS)):
        try:
            names, solid = _first_order(task, TRIALS[number], gigabytes)
            gmsh.model.mesh.setOrder(2)
            return replace(read_mesh(task.drawing, names, solid), trial=number)
        except (InputError, MemoryLimitError):
            raise
        except Exception as error:  # gmsh raises plain Exception
            failure = error
            _start_again()
    raise failure


def _first_order(
    task: MeshTask, trial: Trial, gigabytes: float = float("inf")
) -> tuple[dict[str, list[int]], Solid]:
    """Faces by name and the solid of a mesh of first order in memory."""
    gmsh.clear()
    gmsh.option.setNumber("Geometry.ToleranceBoolean", trial.tolerance)
    gmsh.option.setNumber("Mesh.MeshSizeFactor", trial.share)
    gmsh.option.setNumber("Mesh.Algorithm", trial.surfaces)
    solid = build_solid(task.drawing)
    names = name_faces(task.drawing)
    _check_size(task, names, solid, gigabytes)
    tie_cuts(task.drawing, names)
    grid_ring(task.drawing, names)
    divide_rows(task, names)
    generate([*surface_sizes(task, names), *sphere_sizes(task)], task.largest)
    return names, solid


def _check_size(
    task: MeshTask, names: Mapping[str, Sequence[int]], solid: Solid, gigabytes: float
) -> None:
    """Refuse a mesh of too many cells before it is made."""
    sizes = {
        face: task.sizes[name]
        for name, faces in names.items()
        if name in task.sizes
        for face in faces
    }
    cells = estimate_cells(solid.volume, sizes, task.largest, task.refinements)
    remedy = "mesh less fine, or give larger roundings"
    check_cells(cells, task.drawing.name, remedy, gigabytes)
