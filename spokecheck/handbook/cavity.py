"""Spherical cavity in a pulled block.

References
----------
Goodier, J. Appl. Mech. 1 (1933) 39-44; Timoshenko, Goodier, Theory of Elasticity,
3rd ed., art. 137 (from memory); range of the factor seen in a textbook extract.
"""

import numpy as np

from spokecheck.fem.actions import traction
from spokecheck.fem.elasticity import Material
from spokecheck.fem.static import solve_static
from spokecheck.fem.supports import fix
from spokecheck.handbook.case import (
    STRESS_RATE,
    Case,
    Parameter,
    Quantity,
    Study,
    Values,
)
from spokecheck.handbook.holes import FAMILY
from spokecheck.mesh.blocks import geometric, join, moved
from spokecheck.mesh.parts import cavity_octant
from spokecheck.units import BoolArray, FloatArray

WIDTH = 8.0
"""Half width of the block over the radius of the cavity."""


def _on_middle(x: FloatArray) -> BoolArray:
    """Points of the inner symmetry plane x = 0."""
    return np.asarray(np.abs(x[:, 0]) < 1e-9 * np.abs(x).max())


def _solve(p: Values, n: int) -> Study:
    out = geometric(5 * n // 2, 60.0)
    eighth = cavity_octant(p.a, WIDTH * p.a, (n, out), cube=True)
    mirror = np.array([-1.0, 1.0, 1.0])
    mesh = join([eighth, moved(eighth, lambda x: x * mirror)])
    supports = [fix(_on_middle, "x"), fix("y0", "y"), fix("z0", "z")]
    load = [traction("z1", (0.0, 0.0, p.S))]
    return {"solution": solve_static(mesh, Material(E=p.E, nu=p.nu), supports, load)}


P35 = Case(
    id="p35",
    slug="spherical-cavity",
    family=FAMILY,
    title="Spherical cavity in a pulled block",
    statement="Quarter of a block of half width 8 a around a cavity of radius a.",
    source="Goodier 1933; Timoshenko & Goodier, Theory of Elasticity, art. 137",
    basis="from memory",
    parameters=[
        Parameter("a", 1.0, "mm", "radius of the cavity"),
        Parameter("S", 100.0, "MPa", "remote pull along z"),
        Parameter("E", 70000.0, "MPa", "Young's modulus"),
        Parameter("nu", 0.3, "", "Poisson's ratio", -0.99, 0.49),
    ],
    solve=_solve,
    quantities=[
        Quantity(
            "stress concentration factor at the equator",
            "",
            lambda p: (27.0 - 15.0 * p.nu) / (2.0 * (7.0 - 5.0 * p.nu)),
            lambda s, p: float(s["solution"].stress_at((0.0, p.a, 0.0))[2]) / p.S,
            0.02,
            "exact for an infinite body; the block is 8 radii wide",
            rate=STRESS_RATE,
        ),
        Quantity(
            "stress factor at the pole",
            "",
            lambda p: -(3.0 + 15.0 * p.nu) / (2.0 * (7.0 - 5.0 * p.nu)),
            lambda s, p: float(s["solution"].stress_at((0.0, 0.0, p.a))[0]) / p.S,
            0.02,
            "exact for an infinite body; the block is 8 radii wide",
            rate=STRESS_RATE,
        ),
    ],
    fineness=4,
    least=3,
    refinements=(3, 4, 5, 6),
)

CASES = (P35,)
