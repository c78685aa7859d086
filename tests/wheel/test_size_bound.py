"""Meshes that nothing can solve are refused by their estimate, before they are made."""

from pathlib import Path
from time import perf_counter

import gmsh
import pytest

from spokecheck.errors import InputError
from spokecheck.wheel.meshing.kernel import session
from spokecheck.wheel.meshing.kernel.task import MeshTask, RawMesh, SolidTask
from spokecheck.wheel.meshing.kernel_process import ask_kernel
from spokecheck.wheel.meshing.mesher import mesh_shape
from spokecheck.wheel.meshing.sizing import Fineness, edge_lengths
from spokecheck.wheel.reading.read import read_design
from spokecheck.wheel.shape.wheel_shape import draw_wheel

SHAPE = draw_wheel(read_design(Path("meshes/designs/dogwood-weak-5.toml")))


def test_the_estimate_is_near_what_there_is(monkeypatch):
    """Within the 0.8 to 1.4 stated, on a sector at the default fineness."""
    told = []
    monkeypatch.setattr(session, "check_cells", lambda cells, *_: told.append(cells))
    fineness = Fineness()
    task = MeshTask(SHAPE.drawing, edge_lengths(SHAPE, fineness), fineness.largest)
    with session.quiet_session():
        session._first_order(task, session.TRIALS[0])
        assert 0.8 < told[0] / len(gmsh.model.mesh.getElementsByType(4)[0]) < 1.4


def test_a_design_that_asks_for_a_billion_cells_is_refused():
    """The message has estimate and limit, and comes before anything is meshed."""
    since = perf_counter()
    with pytest.raises(InputError, match=r"about \d\.\de\+\d+ cells, limit 5e\+06"):
        mesh_shape(SHAPE, Fineness(60.0), time_limit=60.0)
    assert perf_counter() - since < 60.0


def test_a_solid_in_a_wrong_unit_is_refused(tmp_path):
    """A box of a kilometre; the message names the key that states the unit."""
    path = tmp_path / "box.step"
    with session.quiet_session():
        gmsh.model.occ.addBox(0.0, 0.0, 0.0, 100.0, 100.0, 100.0)
        gmsh.model.occ.synchronize()
        gmsh.write(str(path))
    zero = (0.0, 0.0, 0.0)
    task = SolidTask(path, zero, zero, 1.0e4, 1, 11.0, 2.0, 8.0)
    with pytest.raises(InputError, match=r"mesh\.unit_mm"):
        ask_kernel(task, RawMesh, time_limit=60.0)
