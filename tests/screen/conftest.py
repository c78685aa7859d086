"""What the tests of this room share."""

from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest

from spokecheck.screen.hotspots import Peak
from spokecheck.screen.ranking import RankedSpot
from spokecheck.wheel.meshing.mesh_check import LocalMesh

FLAT = LocalMesh(None, None, None)


@pytest.fixture
def ranked_spot():
    """Maker of a hot spot as the loop carries it, with a margin and little else."""

    def make(margin, node=0, mesh=FLAT, **more):
        assessment = SimpleNamespace(
            margin=np.array([margin]),
            equivalent=np.array([100.0 / margin]),
            amplitude=np.array([80.0 / margin]),
            mean=np.array([20.0 / margin]),
        )
        spot = RankedSpot(
            test="radial",
            peak=Peak(node, 1),
            node=node,
            position=(200.0, 0.0, 0.0),
            surface="spoke face",
            edge=8.0,
            jump=0.02,
            mesh=mesh,
            assessment=assessment,
            number=0,
            margin_uncorrected=margin,
            support=None,
        )
        return replace(spot, **more)

    return make
