"""The mesher's process: whatever becomes of it, the run gets a mesh or a message."""

import sys
from pathlib import Path

import pytest

from spokecheck.errors import MeshError, TimeLimitError
from spokecheck.wheel.meshing.mesher import mesh_shape
from spokecheck.wheel.meshing.sizing import Fineness
from spokecheck.wheel.reading.read import read_design
from spokecheck.wheel.shape.wheel_shape import draw_wheel

FIVE = Path("meshes/designs/aspen-cast-5.toml")


def _child(code):
    return (sys.executable, "-c", code)


@pytest.mark.parametrize(
    ("child", "said"),
    [
        (_child("import os; os.abort()"), "was ended by SIGABRT"),
        (_child("raise ValueError('no kernel')"), "ended with code 1.*no kernel"),
        (_child("pass"), "gave no answer"),
    ],
    ids=["crashes", "raises", "says nothing"],
)
def test_a_child_that_fails_becomes_a_message(child, said):
    """A mesher that crashes, raises or stays silent is a MeshError that names the
    design and the parameters that matter.
    """
    shape = draw_wheel(read_design(FIVE))
    with pytest.raises(MeshError, match=f"Aspen 5: .*{said}.*rim fillet 9 mm"):
        mesh_shape(shape, Fineness(), child=child)


def test_a_child_that_hangs_ends_the_run():
    """It is no MeshError, after which another drawing or size would be tried."""
    shape, child = draw_wheel(read_design(FIVE)), _child("import time; time.sleep(60)")
    with pytest.raises(TimeLimitError, match=r"took over 0.5 s and was ended"):
        mesh_shape(shape, Fineness(), child=child, time_limit=0.5)
