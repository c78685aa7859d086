"""Write a design's solid and mesh in open formats."""

from collections.abc import Callable, Sequence
from pathlib import Path

from spokecheck.errors import InputError, MeshError
from spokecheck.fem.whole import copied_round
from spokecheck.mesh.files import FORMATS, write_mesh
from spokecheck.mesh.record import Mesh
from spokecheck.report.whole_files import write_whole
from spokecheck.wheel.build import build_wheel
from spokecheck.wheel.meshing.kernel.task import Exported, MshTask, StepTask
from spokecheck.wheel.meshing.kernel_process import ask_kernel
from spokecheck.wheel.meshing.sizing import Fineness
from spokecheck.wheel.shape.fallbacks import FAITHFUL
from spokecheck.wheel.shape.wheel_shape import draw_wheel
from spokecheck.wheel.tables.design import Design

SOLIDS = (".step", ".stp")
MSH = ".msh"
SUFFIXES = (*SOLIDS, MSH, *FORMATS)


def check_suffixes(files: Sequence[Path]) -> None:
    """Refuse files whose suffix names no format.

    Raises
    ------
    InputError
        Naming every such file, and the suffixes there are.
    """
    unknown = [str(file) for file in files if file.suffix not in SUFFIXES]
    if unknown:
        raise InputError(
            f"{', '.join(unknown)}: no format of that suffix; a solid goes to "
            f"{' or '.join(SOLIDS)}, a mesh to {', '.join((MSH, *FORMATS))}"
        )


def export_design(
    design: Design, files: Sequence[Path], fineness: Fineness | None = None
) -> list[Path]:
    """Write the whole wheel to files, each in the format of its suffix.

    Parameters
    ----------
    design : Design
        A design without faults.
    files : sequence of Path
        ``.step`` and ``.stp`` take the CAD solid, the others the mesh; all in mm, in
        the axes of the design: z along the axle, 0 in the rim's centre plane, positive
        towards the face.
    fineness : Fineness, optional
        How fine to mesh; nothing is refined.

    Returns
    -------
    list of Path
        As given; each is whole or not there.

    Raises
    ------
    InputError
        If a suffix is unknown.
    MeshError
        If the CAD kernel or the mesher fails.
    """
    check_suffixes(files)
    mesh: Mesh | None = None
    for file in files:
        if file.suffix in SOLIDS:
            task = _step_task(design)
        else:
            if mesh is None:
                mesh = whole_mesh(design, fineness)
            task = _mesh_task(mesh)
        write_whole(file, task)
    return list(files)


def whole_mesh(design: Design, fineness: Fineness | None = None) -> Mesh:
    """Mesh of the whole wheel, made of sectors, in the very shape asked for.

    Nothing in the file could say that its shape differs from the solid's.
    """
    wheel = build_wheel(design, fineness, fallbacks=FAITHFUL)
    return copied_round(wheel.mesh, wheel.cyclic).mesh


def _step_task(design: Design) -> Callable[[Path], None]:
    drawing = draw_wheel(design).drawing
    return lambda part: _by_kernel(StepTask(drawing, part), design.name)


def _mesh_task(mesh: Mesh) -> Callable[[Path], None]:
    def write(part: Path) -> None:
        if part.suffix == MSH:
            _by_kernel(MshTask(mesh, part), "mesh")
        else:
            write_mesh(part, mesh)

    return write


def _by_kernel(task: StepTask | MshTask, name: str) -> None:
    answer = ask_kernel(task, Exported)
    if not isinstance(answer, Exported):
        raise MeshError(f"{name}: {answer}")
