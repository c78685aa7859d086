"""Have a wheel meshed by a process of its own, under a time limit.

A CAD kernel that crashes or never ends costs the mesh, not the run.
"""

import pickle
import subprocess
import sys
import tempfile
from collections.abc import Sequence
from pathlib import Path

from spokecheck.errors import MeshError
from spokecheck.wheel.kernel.task import MeshTask, RawMesh, Refinement
from spokecheck.wheel.shape import WheelShape
from spokecheck.wheel.sizing import Fineness, edge_lengths

CHILD = (sys.executable, "-m", "spokecheck.wheel.kernel")
TIME_LIMIT = 300.0
"""Seconds one mesh may take; default wheels need 1 to 10."""


def mesh_shape(
    shape: WheelShape,
    fineness: Fineness,
    refinements: Sequence[Refinement] = (),
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
        If the CAD kernel or the mesher fails, crashes or takes too long; the message
        names the design and the parameters that matter.
    """
    task = MeshTask(
        shape.drawing,
        edge_lengths(shape, fineness),
        fineness.largest,
        tuple(refinements),
    )
    result = _answer(task, child, time_limit)
    if isinstance(result, RawMesh):
        return result
    raise MeshError(f"{shape.design.name}: {result}; {_what_matters(shape)}")


def _answer(task: MeshTask, child: tuple[str, ...], limit: float) -> RawMesh | str:
    """The child's mesh, or why there is none."""
    with tempfile.TemporaryDirectory(prefix="spokecheck-") as name:
        asked, told = Path(name, "task"), Path(name, "result")
        asked.write_bytes(pickle.dumps(task, pickle.HIGHEST_PROTOCOL))
        try:
            done = subprocess.run(
                [*child, str(asked), str(told)],
                capture_output=True,
                timeout=limit,
                check=False,
            )
        except subprocess.TimeoutExpired:
            return f"the mesher took over {limit:g} s and was ended"
        if done.returncode or not told.exists():
            return _last_words(done.returncode, done.stderr)
        result = pickle.loads(told.read_bytes())
        return result if isinstance(result, RawMesh) else str(result)


def _last_words(code: int, errors: bytes) -> str:
    lines = errors.decode("utf-8", "replace").strip().splitlines()
    said = f" ({lines[-1]})" if lines else ""
    how = f"was ended by signal {-code}" if code < 0 else f"ended with code {code}"
    return f"the mesher's process {how}{said}"


def _what_matters(shape: WheelShape) -> str:
    d = shape.design
    inner, outer = shape.window_range
    return (
        f"{d.spokes.count} {d.spokes.pattern} spokes, windows {inner:.1f} to "
        f"{outer:.1f} mm, corner {d.spokes.window_corner_mm:g} mm, hub fillet "
        f"{d.hub.fillet_mm:g} mm, rim fillet {d.spokes.rim_fillet_mm:g} mm: "
        "vary one of these slightly"
    )
