"""Own load cases by the frontal factor against the oracle's sparse one.

Two direct solvers in double precision; the condition numbers are about 1e6, and the
misses seen are below 1e-11 of the largest displacement.
"""

from math import pi

import numpy as np
import pytest
from numpy.testing import assert_allclose

from spokecheck.fem.actions import heat, on_rigid, pressure, traction
from spokecheck.fem.body import Body
from spokecheck.fem.elasticity import Material
from spokecheck.fem.static import solve_cases
from spokecheck.fem.supports import (
    Foundation,
    RigidPart,
    displace,
    fix,
    move_rigidly,
    near,
    slide,
    symmetry,
)
from spokecheck.mesh.blocks import join, moved, zoned
from spokecheck.mesh.parts import beam_block, ring_sector
from tests.oracle import static

SAME = 1e-9
METAL = Material(E=70000.0, nu=0.33, rho=2.7e-9, alpha=2.3e-5)
SOFT = Material(E=20000.0, nu=0.2, rho=1.0e-9, alpha=8.0e-5)
BAR = beam_block(40.0, 10.0, 6.0, (8, 3, 2))
SKEW = moved(BAR, lambda x: x @ np.linalg.qr(np.arange(9.0).reshape(3, 3) ** 2)[0].T)
RING = ring_sector(20.0, 40.0, 6.0, (3, 24, 2), 2.0 * pi)
TWO = join([BAR, zoned(moved(BAR, lambda x: x + np.array([40.0, 0.0, 0.0])), "soft")])


def radial(x):
    """Outward direction in the plane."""
    return x * [1.0, 1.0, 0.0]


PULL = [traction("tip", (1.0, 2.0, -3.0))]
CASES = {
    "held along the axes": (BAR, {}, [fix("root")], PULL),
    "oblique planes of symmetry": (
        SKEW,
        {},
        [symmetry(SKEW, name) for name in ("root", "front", "bottom")],
        [pressure("tip", -5.0)],
    ),
    "radial rollers": (
        RING,
        {},
        [slide("inner", radial), fix("bottom", "z"), fix(near((20, 0, 0)), "y")],
        [pressure("outer", lambda x: 1.0 + x[:, 0] / 40.0)],
    ),
    "oblique and prescribed": (
        BAR,
        {},
        [
            slide("root", (1.0, 2.0, 0.5)),
            displace(near((0, 0, 0)), (0.01, -0.01, 0.02)),
            move_rigidly("tip", (40.0, 5.0, 3.0), (0.02, 0, 0), (0, 0.001, -0.002)),
        ],
        [pressure("top", 2.0)],
    ),
    "foundation": (
        BAR,
        {},
        [Foundation("bottom", 30.0), Foundation("root", 8.0), fix("front", "y")],
        [pressure("top", lambda x: x[:, 0])],
    ),
    "foundation on a ring, rollers": (
        RING,
        {},
        [Foundation("inner", 30.0), fix("bottom", "z"), fix(near((20, 0, 0)), "y")],
        [traction("outer", (0.0, 3.0, 0.0))],
    ),
    "rigid part": (
        BAR,
        {},
        [fix("root"), RigidPart("tip", (42.0, 5.0, 3.0))],
        [on_rigid((5.0, -3.0, 2.0), (40.0, 50.0, -60.0)), pressure("top", 1.0)],
    ),
    "rigid part on a foundation, beside oblique rollers": (
        BAR,
        {},
        [
            slide("root", (2.0, 1.0, 1.0)),
            fix(lambda x: (x[:, 1] == 0.0) & (x[:, 0] < 39.0), "y"),
            Foundation("bottom", 4.0),
            RigidPart("tip", (42.0, 5.0, 3.0)),
        ],
        [on_rigid((5.0, -3.0, 2.0)), pressure("top", 1.0)],
    ),
    "two metals, heated": (
        TWO,
        {"soft": SOFT},
        [fix("root")],
        [heat(lambda x: x[:, 0]), traction("top", (0.0, 1.0, 0.0))],
    ),
}


@pytest.mark.parametrize("name", CASES)
def test_own_cases_are_those_of_the_oracle(name):
    """Displacements of both solvers agree to rounding, whatever the supports."""
    mesh, zones, supports, loads = CASES[name]
    body, cases = Body(mesh, METAL, zones), {"one": loads, "other": loads[:1]}
    ours = solve_cases(body, supports, cases)
    theirs = static.solve_cases(body, supports, cases)
    for case, expected in theirs.items():
        top = np.abs(expected).max()
        assert_allclose(ours[case].u, expected, rtol=0, atol=SAME * top)
