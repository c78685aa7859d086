"""Have a drawn wheel meshed by the kernel's process."""

from collections.abc import Sequence

from spokecheck.errors import MeshError
from spokecheck.wheel.meshing.kernel.task import MeshTask, RawMesh, Refinement
from spokecheck.wheel.meshing.kernel_process import CHILD, TIME_LIMIT, ask_kernel
from spokecheck.wheel.meshing.sizing import Fineness, edge_lengths
from spokecheck.wheel.shape.drawing import Drawing
from spokecheck.wheel.shape.wheel_shape import WheelShape


def mesh_shape(
    shape: WheelShape,
    fineness: Fineness,
    refinements: Sequence[Refinement] = (),
    drawing: Drawing | None = None,
    trial: int = 0,
    child: tuple[str, ...] = CHILD,
    time_limit: float = TIME_LIMIT,
) -> RawMesh:
    """Mesh one sector of a wheel, or the whole wheel where N is 1.

    Parameters
    ----------
    shape : WheelShape
        Drawn wheel.
    fineness : Fineness
        How fine to mesh.
    refinements : sequence of Refinement
        Where to mesh finer still.
    drawing : Drawing, optional
        A sector of one part of the wheel; of the wheel itself if not given.
    trial : int
        Number of the first way of building and meshing to be tried.
    child : tuple of str
        Command; the files of task and result are added to it.
    time_limit : float
        Seconds before the child is ended.

    Returns
    -------
    RawMesh

    Raises
    ------
    MeshError
        If the CAD kernel or the mesher fails or crashes; the message names the design
        and the parameters that matter.
    TimeLimitError, MemoryLimitError
        If it takes too long, or too much memory.
    """
    task = MeshTask(
        drawing or shape.drawing,
        edge_lengths(shape, fineness),
        fineness.largest,
        tuple(refinements),
        trial,
    )
    result = ask_kernel(task, RawMesh, child, time_limit)
    if isinstance(result, RawMesh):
        return result
    raise MeshError(f"{shape.design.name}: {result}; {_what_matters(shape)}")


def _what_matters(shape: WheelShape) -> str:
    d = shape.design
    inner, outer = shape.window_range
    return (
        f"{d.spokes.count} {d.spokes.pattern} spokes, windows {inner:.1f} to "
        f"{outer:.1f} mm, corner {d.spokes.window_corner_mm:g} mm, hub fillet "
        f"{d.hub.fillet_mm:g} mm, rim fillet {d.spokes.rim_fillet_mm:g} mm: "
        "vary one of these slightly"
    )
