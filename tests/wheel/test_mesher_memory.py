"""A mesh that outgrows the memory it may take costs its design alone."""

import re
import sys
from pathlib import Path

import pytest

from spokecheck.errors import MemoryLimitError
from spokecheck.run.batch import run_batch
from spokecheck.wheel.meshing import kernel_process
from spokecheck.wheel.meshing.kernel.size_bound import check_cells
from spokecheck.wheel.meshing.kernel.task import MeshTask, RawMesh
from spokecheck.wheel.meshing.kernel_process import ask_kernel, memory_limit
from spokecheck.wheel.meshing.mesher import mesh_shape
from spokecheck.wheel.meshing.sizing import Fineness, edge_lengths
from spokecheck.wheel.reading.read import read_design
from spokecheck.wheel.shape.wheel_shape import draw_wheel
from spokecheck.worker_pool import count_sharers

FIVE = Path("meshes/designs/aspen-cast-5.toml")
BLIND = """
import sys
from spokecheck.wheel.meshing.kernel import size_bound
size_bound.GIGABYTES = size_bound.GIGABYTES_PER_CELL = 0.0
from spokecheck.wheel.meshing.kernel.__main__ import main
main(*sys.argv[1:])
"""
"""A kernel whose estimate of memory is nothing."""


def _mesh(path, progress):
    """Mesh a design in 0.4 GB, four times as fine where its name asks for it."""
    kernel_process.SHARE, kernel_process.LEAST = 0.0, 0.4
    fineness = Fineness(4.0 if "fine" in path.name else 1.0)
    return mesh_shape(draw_wheel(read_design(path)), fineness).mesh.n_cells, (
        count_sharers()
    )


def test_cells_that_memory_cannot_hold_are_refused():
    """With need, limit and remedy; what fits passes."""
    said = (
        r"about 3\.0e\+05 cells .* about 0\.54 GB of memory, limit 0\.4 GB; mesh less"
    )
    with pytest.raises(MemoryLimitError, match=said):
        check_cells(3.0e5, "Aspen 5", "mesh less fine", 0.4)
    check_cells(3.0e5, "Aspen 5", "mesh less fine", 0.6)


@pytest.mark.slow  # 6 s: two workers and two meshers
def test_a_mesh_that_memory_cannot_hold_costs_its_design_alone(tmp_path):
    """It is refused by its estimate, before it is made, with need, limit and remedy;
    the design beside it is meshed.
    """
    paths = [tmp_path / "fine.toml", tmp_path / "plain.toml"]
    for path in paths:
        path.write_bytes(FIVE.read_bytes())
    outcomes = {o.path: o for o in run_batch(paths, _mesh, 2)}
    error = outcomes[paths[0]].error
    assert isinstance(error, MemoryLimitError)
    said = (
        r"Aspen 5: the mesh would have about 3\.0e\+05 cells and the mesher need about "
        r"0\.54 GB of memory, limit 0\.4 GB; mesh less fine.*\(--workers\)"
    )
    assert re.match(said, str(error))
    cells, sharers = outcomes[paths[1]].value
    assert cells > 10_000
    assert sharers == 2


def test_a_mesher_that_outgrows_its_limit_is_ended():
    """Where the estimate was wrong: the message has it, the limit and a remedy."""
    shape, fineness = draw_wheel(read_design(FIVE)), Fineness(1.5)
    task = MeshTask(shape.drawing, edge_lengths(shape, fineness), fineness.largest)
    with pytest.raises(
        MemoryLimitError,
        # the estimate stands there if the child came so far
        match=r"the mesher took over 0\.13 GB of memory and was ended( \(about "
        r"3\.\de\+04 cells by estimate\))?; mesh less fine.*\(--workers\)",
    ):
        ask_kernel(task, RawMesh, (sys.executable, "-c", BLIND), gigabytes=0.13)


def test_workers_share_the_memory_of_the_machine(monkeypatch):
    """Four fifths of it together, never less than what a default wheel needs."""
    monkeypatch.setattr(kernel_process, "machine_gigabytes", lambda: 16.0)
    monkeypatch.setattr(kernel_process, "count_sharers", lambda: 4)
    assert memory_limit() == pytest.approx(3.2)  # 0.8 of 16 GB, by four
    monkeypatch.setattr(kernel_process, "machine_gigabytes", lambda: 1.0)
    assert memory_limit() == kernel_process.LEAST
