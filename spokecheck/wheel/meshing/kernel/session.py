"""One meshing task in one gmsh session."""

from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from typing import NamedTuple

import gmsh

from spokecheck.errors import InputError, MemoryLimitError, MeshError
from spokecheck.wheel.meshing.kernel.exchange import write_msh, write_step
from spokecheck.wheel.meshing.kernel.faces import name_faces, tie_cuts
from spokecheck.wheel.meshing.kernel.imported import find_solid_symmetry, mesh_solid
from spokecheck.wheel.meshing.kernel.readout import read_mesh
from spokecheck.wheel.meshing.kernel.ring import grid_ring
from spokecheck.wheel.meshing.kernel.size_bound import check_cells, estimate_cells
from spokecheck.wheel.meshing.kernel.size_fields import (
    count_cells,
    generate,
    least_shape,
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

ONE_POINT = 5.0e-3
"""Points of the solid nearer than this [mm] are one.  Where a rounding touches a plane,
the kernel finds their common point to a few micrometres only, sometimes twice, and a
sliver stands between the two; another tolerance finds it once."""

FRONTAL, ADAPTED = 6, 1
"""gmsh's surface meshers: from the front inward, the default; and by local changes.
The first works in the plane of a face's parameters, and can leave triangles from end to
end of a narrow ring; the second is slower, and looks at lengths in space."""


class Trial(NamedTuple):
    """One way to build and mesh a drawing.

    Attributes
    ----------
    tolerance : float
        Points of the solid nearer than this [mm] are one.
    share : float
        Share of all edge lengths.
    surfaces : int
        gmsh's surface mesher.
    """

    tolerance: float
    share: float
    surfaces: int = FRONTAL


TRIALS = (
    Trial(ONE_POINT, 1.0),
    Trial(0.0, 1.0),
    Trial(ONE_POINT, 0.9),
    Trial(2.0e-2, 0.95),
    Trial(ONE_POINT, 1.0, ADAPTED),
)
"""Tried in order until the mesh is sound."""

MOST_CELLS = 200_000
"""With a mesh of more cells in hand no more is tried, since that would take minutes."""

SOUND = 0.01
"""Radius ratio of the worst cell at which no more is tried."""


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
    """Mesh one sector of a wheel, or the whole wheel where N is 1.

    Other tolerances and sizes are tried as long as the kernel fails or leaves slivers;
    the best mesh is kept.
    """
    shapes, cells = dict[Trial, float](), 0
    for trial in TRIALS:
        if cells > MOST_CELLS:
            break
        last = trial
        try:
            names, solid = _first_order(task, trial, gigabytes)
            shapes[trial], cells = least_shape(), count_cells()
        except (InputError, MemoryLimitError):
            raise
        except Exception:  # gmsh raises plain Exception
            if trial == TRIALS[-1] and not shapes:
                raise
            _start_again()
        if shapes.get(trial, 0.0) >= SOUND:
            break
    best = max(shapes, key=lambda trial: shapes[trial])
    if best != last:
        names, solid = _first_order(task, best)
    gmsh.model.mesh.setOrder(2)
    return read_mesh(task.drawing, names, solid)


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
