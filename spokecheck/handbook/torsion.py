"""Torsion of solid bars whose ends may warp.

References
----------
Timoshenko, Goodier, Theory of Elasticity, 3rd ed., arts. 107-109; Roark's Formulas,
7th ed., table 10.1 (from memory).
"""

from math import cosh, pi, tanh

import numpy as np

from spokecheck.fem.elasticity import Material
from spokecheck.fem.solution import Solution
from spokecheck.fem.static import solve_static
from spokecheck.fem.supports import displace, fix, near
from spokecheck.handbook.case import (
    ENERGY_RATE,
    STRESS_RATE,
    Case,
    Parameter,
    Quantity,
    Study,
    Values,
    aluminium,
)
from spokecheck.mesh.blocks import moved
from spokecheck.mesh.parts import beam_block, round_bar
from spokecheck.mesh.record import Mesh
from spokecheck.units import FloatArray

FAMILY = "torsion"
EXACT = "the series solution is exact for ends that turn rigidly and warp freely"
SOURCE = "Saint-Venant; Timoshenko & Goodier, Theory of Elasticity, 3rd ed., arts. "
TERMS = range(1, 80, 2)
"""Orders of the series that fall exponentially or with the fifth power."""

MANY_TERMS = range(1, 20001, 2)
"""Orders of the alternating series that falls with the square only; the first term left
out is below 1e-8."""


def _solve(mesh: Mesh, p: Values, along: int) -> Study:
    """Turn one end of a slice about the bar's axis, and scale to T and to L.

    The field is the same along the whole bar, so a slice as long as its cells are
    wide will do; curved cells must not be much longer than wide.
    """
    axis = np.eye(3)[along]
    plane = "xyz".replace("xyz"[along], "")
    twist = 1.0e-3
    supports = [
        fix("root", plane),
        displace("tip", lambda x: twist * np.cross(axis, x), plane),
        fix(near((0.0, 0.0, 0.0)), "xyz"[along]),
    ]
    solution = solve_static(mesh, Material(E=p.E, nu=p.nu), supports, [])
    scale = p.T / float(solution.reaction_moment("tip")[along])
    length = float(np.ptp(mesh.points[:, along]))
    return {"solution": solution, "scale": scale, "twist": twist * scale * p.L / length}


def _centred(mesh: Mesh, shift: FloatArray) -> Mesh:
    return moved(mesh, lambda x: x - shift)


def _solve_rectangle(p: Values, n: int) -> Study:
    bar = beam_block(p.b / 2.0, p.a, p.b, (2, 4 * n, 2 * n))
    return _solve(_centred(bar, np.array([0.0, p.a / 2.0, p.b / 2.0])), p, 0)


def rectangle_constant(a: float, b: float) -> float:
    """Torsion constant [mm^4] of a rectangle with sides a >= b [mm].

    Examples
    --------
    >>> round(rectangle_constant(20.0, 10.0), 2)
    4573.63
    """
    series = sum(tanh(k * pi * a / (2.0 * b)) / k**5 for k in TERMS)
    return a * b**3 / 3.0 * (1.0 - 192.0 * b / (pi**5 * a) * series)


def _long_side(p: Values) -> float:
    """Shear stress in the middle of the long side."""
    rate = p.T / rectangle_constant(p.a, p.b)
    series = sum(1.0 / (k**2 * cosh(k * pi * p.a / (2.0 * p.b))) for k in TERMS)
    return rate * p.b * (1.0 - 8.0 / pi**2 * series)


def _short_side(p: Values) -> float:
    """Shear stress in the middle of the short side."""
    rate = p.T / rectangle_constant(p.a, p.b)
    series = sum(
        (-1.0) ** ((k - 1) // 2) * tanh(k * pi * p.a / (2.0 * p.b)) / k**2
        for k in MANY_TERMS
    )
    return rate * p.b * 8.0 / pi**2 * series


def _shear(s: Study, position: tuple[float, float, float], component: int) -> float:
    solution: Solution = s["solution"]
    return abs(float(s["scale"]) * float(solution.stress_at(position)[component]))


def _per_length(p: Values, constant: float) -> float:
    return p.T * p.L * 2.0 * (1.0 + p.nu) / (p.E * constant)


P33 = Case(
    id="p33",
    slug="torsion-rectangle",
    family=FAMILY,
    title="Torsion of a rectangular bar",
    statement="Slice of a bar along x; both ends turn rigidly and warp freely.",
    source=f"{SOURCE}107-109; Roark 7th ed. table 10.1",
    basis="from memory",
    parameters=[
        Parameter("a", 20.0, "mm", "long side"),
        Parameter("b", 10.0, "mm", "short side"),
        Parameter("L", 100.0, "mm", "length"),
        Parameter("T", 50000.0, "N mm", "torque"),
        *aluminium(),
    ],
    solve=_solve_rectangle,
    quantities=[
        Quantity(
            "twist",
            "rad",
            lambda p: _per_length(p, rectangle_constant(p.a, p.b)),
            lambda s, p: float(s["twist"]),
            0.01,
            EXACT,
            rate=ENERGY_RATE,
        ),
        Quantity(
            "shear stress, middle of the long side",
            "MPa",
            _long_side,
            lambda s, p: _shear(s, (p.b / 4.0, 0.0, p.b / 2.0), 3),
            0.02,
            EXACT,
            rate=STRESS_RATE,
        ),
        Quantity(
            "shear stress, middle of the short side",
            "MPa",
            _short_side,
            lambda s, p: _shear(s, (p.b / 4.0, p.a / 2.0, 0.0), 5),
            0.02,
            EXACT,
            rate=STRESS_RATE,
        ),
    ],
    check=lambda p: (
        [] if p.a >= p.b else [f"a = {p.a:g} mm: must not be below b = {p.b:g} mm"]
    ),
    fineness=3,
    refinements=(2, 3, 4, 6),
)


def _solve_ellipse(p: Values, n: int) -> Study:
    bar = round_bar(1.0, p.b / 2.0, (n, n, 2))
    return _solve(moved(bar, lambda x: x * np.array([p.a, p.b, 1.0])), p, 2)


P34 = Case(
    id="p34",
    slug="torsion-ellipse",
    family=FAMILY,
    title="Torsion of an elliptic bar",
    statement="Slice of a bar along z; both ends turn rigidly and warp freely.",
    source=f"{SOURCE}107; Roark 7th ed. table 10.1",
    basis="from memory",
    parameters=[
        Parameter("a", 15.0, "mm", "major semi-axis"),
        Parameter("b", 10.0, "mm", "minor semi-axis"),
        Parameter("L", 100.0, "mm", "length"),
        Parameter("T", 100000.0, "N mm", "torque"),
        *aluminium(),
    ],
    solve=_solve_ellipse,
    quantities=[
        Quantity(
            "twist",
            "rad",
            lambda p: _per_length(p, pi * p.a**3 * p.b**3 / (p.a**2 + p.b**2)),
            lambda s, p: float(s["twist"]),
            0.01,
            EXACT,
            rate=ENERGY_RATE,
        ),
        Quantity(
            "shear stress, end of the minor axis",
            "MPa",
            lambda p: 2.0 * p.T / (pi * p.a * p.b**2),
            lambda s, p: _shear(s, (0.0, p.b, p.b / 4.0), 5),
            0.02,
            EXACT,
            rate=STRESS_RATE,
        ),
        Quantity(
            "shear stress, end of the major axis",
            "MPa",
            lambda p: 2.0 * p.T / (pi * p.a**2 * p.b),
            lambda s, p: _shear(s, (p.a, 0.0, p.b / 4.0), 4),
            0.02,
            EXACT,
            rate=STRESS_RATE,
        ),
    ],
    refinements=(2, 3, 4, 6),
)

CASES = (P33, P34)
