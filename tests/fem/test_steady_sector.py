"""Steady and turning loads on one sector, with supports that the cuts must bear."""

from math import pi

import numpy as np
import pytest
from numpy.testing import assert_allclose

from spokecheck.errors import ModelError
from spokecheck.fem.actions import body_force, on_rigid, pressure, spin
from spokecheck.fem.body import Body
from spokecheck.fem.elasticity import Material
from spokecheck.fem.static import solve_cases
from spokecheck.fem.supports import Foundation, RigidPart, displace, fix, slide
from spokecheck.handbook.both_ways import both_ways
from spokecheck.mesh.parts import ring_sector

METAL = Material(E=70000.0, nu=0.33, rho=2.7e-9)
COUNT = 5


@pytest.fixture(scope="module")
def bodies():
    """A fifth of a ring, and the ring of five."""
    fifth = ring_sector(20.0, 40.0, 6.0, (2, 4, 1), 2.0 * pi / COUNT)
    return both_ways(fifth, COUNT, METAL)


def oblique(x):
    """A direction that turns with the point, askew to the radius."""
    out = x * [1.0, 1.0, 0.0] / np.hypot(x[:, 0], x[:, 1])[:, None]
    return out + 0.4 * np.cross([0.0, 0.0, 1.0], out) + [0.0, 0.0, 0.3]


def outward(x):
    """Radial displacement [mm]."""
    return 1e-3 * x * [1.0, 1.0, 0.0]


SUPPORTS = {
    "held inside": [fix("inner")],
    "oblique rollers inside": [slide("inner", oblique), fix("bottom", "z")],
    "pushed outward": [displace("inner", outward)],
    "on springs": [Foundation("bottom", 40.0), slide("inner", oblique)],
    "rigid hub": [fix("outer"), RigidPart("inner", (0.0, 0.0, 3.0))],
}


@pytest.mark.parametrize("name", SUPPORTS)
def test_sector_and_whole_agree_under_steady_loads(bodies, name):
    """Displacement of one sector is that of the ring, points of the cuts included.

    1e-10: rounding, at condition numbers of about 1e5.
    """
    loads = [pressure("outer", 3.0), spin((0.0, 0.0, 900.0)), body_force((0, 0, 0.1))]
    if name == "rigid hub":
        loads.append(on_rigid(force=(0.0, 0.0, 50.0), moment=(0.0, 0.0, 700.0)))
    whole = solve_cases(bodies.whole, SUPPORTS[name], {"": loads})[""]
    sector = solve_cases(bodies.sector, SUPPORTS[name], {"": loads})[""]
    top = np.abs(whole.u).max()
    assert_allclose(sector.u, whole.u[bodies.copy], rtol=0, atol=1e-10 * top)
    assert_allclose(
        sector.stress,
        whole.stress[bodies.copy],
        rtol=0,
        atol=1e-9 * np.abs(whole.stress).max(),
    )


def test_free_motions_are_those_of_the_whole(bodies):
    """Rollers on one sector hold the whole against shifts in their plane."""
    supports = [fix("bottom", "z"), slide("inner", lambda x: x * [1.0, 1.0, 0.0])]
    with pytest.raises(ModelError, match="1 of 6 rigid motions free: rotation about z"):
        solve_cases(bodies.sector, supports, {"": []})


def test_a_load_across_the_axis_is_refused_on_a_sector(bodies):
    """A bending moment on the hub is no steady load of equal sectors."""
    supports = [fix("outer"), RigidPart("inner", (0.0, 0.0, 3.0))]
    with pytest.raises(ModelError, match="across the axis on one of 5 sectors"):
        solve_cases(bodies.sector, supports, {"": [on_rigid(moment=(1.0, 0.0, 0.0))]})


def test_a_body_is_made_ready_when_asked(bodies):
    """A body keeps what it has made: the same stiffness, the same recovery."""
    body = Body(bodies.whole.mesh, METAL)
    assert body.stiffness is body.stiffness
    assert body.recovery is body.recovery
