"""Thick cylinder and sphere under internal pressure.

References
----------
Timoshenko, Goodier, Theory of Elasticity, 3rd ed., arts. 28 and 136; Roark's Formulas,
7th ed., table 13.5 (from memory).
"""

from math import sqrt

import numpy as np

from spokecheck.fem.actions import pressure
from spokecheck.fem.elasticity import Material
from spokecheck.fem.static import solve_static
from spokecheck.fem.stress import stress_along, von_mises
from spokecheck.fem.supports import fix
from spokecheck.handbook.case import (
    DISPLACEMENT_RATE,
    STRESS_RATE,
    Case,
    Parameter,
    Quantity,
    Study,
    Values,
    aluminium,
)
from spokecheck.mesh.blocks import geometric
from spokecheck.mesh.parts import cavity_octant, ring_sector

FAMILY = "pressure vessels and discs"


EXACT = "the formula is exact for this body"


GOODIER = "Timoshenko & Goodier, Theory of Elasticity, 3rd ed."


def rising_radii(p: Values) -> list[str]:
    """Complaint about an outer radius that does not exceed the inner."""
    return [] if p.b > p.a else [f"b = {p.b:g} mm: must exceed a = {p.a:g} mm"]


def _lame(p: Values) -> tuple[float, float]:
    """Constants A, B of the thick cylinder, stresses A -+ B/r^2."""
    A = p.p * p.a**2 / (p.b**2 - p.a**2)
    return A, A * p.b**2


def _cylinder_shift(p: Values, r: float) -> float:
    """Radial displacement of plane strain."""
    A, B = _lame(p)
    return r * (1.0 + p.nu) / p.E * ((1.0 - 2.0 * p.nu) * A + B / r**2)


def _solve_cylinder(p: Values, n: int) -> Study:
    radial = geometric(4 * n, p.b / p.a)
    mesh = ring_sector(p.a, p.b, (p.b - p.a) / 4.0, (radial, 6 * n, 1))
    supports = [fix("start", "y"), fix("end", "x"), fix(["bottom", "top"], "z")]
    material = Material(E=p.E, nu=p.nu)
    return {
        "solution": solve_static(mesh, material, supports, [pressure("inner", p.p)])
    }


def _cylinder_stress(s: Study, p: Values, r: float, component: int) -> float:
    return float(s["solution"].stress_at((r, 0.0, (p.b - p.a) / 8.0))[component])


P17 = Case(
    id="p17",
    slug="thick-cylinder",
    family=FAMILY,
    title="Thick cylinder under internal pressure",
    statement="Quarter ring, both faces held along the axis, pressure p inside.",
    source=f"Lamé; {GOODIER}, art. 28; Roark 7th ed. table 13.5",
    basis="from memory",
    parameters=[
        Parameter("a", 50.0, "mm", "inner radius"),
        Parameter("b", 100.0, "mm", "outer radius"),
        Parameter("p", 60.0, "MPa", "pressure"),
        *aluminium(),
    ],
    solve=_solve_cylinder,
    quantities=[
        Quantity(
            "hoop stress inside",
            "MPa",
            lambda p: _lame(p)[0] + _lame(p)[1] / p.a**2,
            lambda s, p: _cylinder_stress(s, p, p.a, 1),
            0.01,
            EXACT,
            rate=STRESS_RATE,
        ),
        Quantity(
            "radial stress inside",
            "MPa",
            lambda p: -p.p,
            lambda s, p: _cylinder_stress(s, p, p.a, 0),
            0.01,
            EXACT,
            rate=STRESS_RATE,
        ),
        Quantity(
            "hoop stress outside",
            "MPa",
            lambda p: 2.0 * _lame(p)[0],
            lambda s, p: _cylinder_stress(s, p, p.b, 1),
            0.01,
            EXACT,
            rate=STRESS_RATE,
        ),
        Quantity(
            "axial stress",
            "MPa",
            lambda p: 2.0 * p.nu * _lame(p)[0],
            lambda s, p: _cylinder_stress(s, p, (p.a + p.b) / 2.0, 2),
            0.01,
            EXACT,
            rate=STRESS_RATE,
        ),
        Quantity(
            "radial displacement inside",
            "mm",
            lambda p: _cylinder_shift(p, p.a),
            lambda s, p: float(s["solution"].displacement_at((p.a, 0.0, 0.0))[0]),
            0.003,
            EXACT,
            rate=DISPLACEMENT_RATE,
        ),
        Quantity(
            "radial displacement outside",
            "mm",
            lambda p: _cylinder_shift(p, p.b),
            lambda s, p: float(s["solution"].displacement_at((p.b, 0.0, 0.0))[0]),
            0.003,
            EXACT,
            rate=DISPLACEMENT_RATE,
        ),
        Quantity(
            "von Mises stress inside",
            "MPa",
            lambda p: _cylinder_mises(p),
            lambda s, p: float(
                von_mises(s["solution"].stress_at((p.a, 0.0, (p.b - p.a) / 8.0)))
            ),
            0.01,
            EXACT,
            rate=STRESS_RATE,
        ),
    ],
    fineness=3,
    check=rising_radii,
)


def _cylinder_mises(p: Values) -> float:
    A, B = _lame(p)
    normal = (1.0 - 2.0 * p.nu) ** 2 * A**2
    return sqrt(normal + 3.0 * (B / p.a**2) ** 2)


def _solve_sphere(p: Values, n: int) -> Study:
    mesh = cavity_octant(p.a, p.b, (3 * n, geometric(3 * n, p.b / p.a)))
    supports = [fix("x0", "x"), fix("y0", "y"), fix("z0", "z")]
    material = Material(E=p.E, nu=p.nu)
    return {
        "solution": solve_static(mesh, material, supports, [pressure("cavity", p.p)])
    }


def _sphere(p: Values, r: float) -> tuple[float, float]:
    """Radial and hoop stress of the thick sphere."""
    A = p.p * p.a**3 / (p.b**3 - p.a**3)
    return A * (1.0 - p.b**3 / r**3), A * (1.0 + p.b**3 / (2.0 * r**3))


def _sphere_shift(p: Values, r: float) -> float:
    radial, hoop = _sphere(p, r)
    return r * ((1.0 - p.nu) * hoop - p.nu * radial) / p.E


def _diagonal(r: float) -> tuple[float, float, float]:
    """Point of radius r in the middle of the octant's curved face, away from cuts."""
    return (r / sqrt(3.0), r / sqrt(3.0), r / sqrt(3.0))


def _sphere_hoop(s: Study, r: float) -> float:
    stress = s["solution"].stress_at(_diagonal(r))
    return float(stress_along(stress, np.array([1.0, -1.0, 0.0])))


def _sphere_radial(s: Study, r: float) -> float:
    stress = s["solution"].stress_at(_diagonal(r))
    return float(stress_along(stress, np.array([1.0, 1.0, 1.0])))


def _sphere_moved(s: Study, r: float) -> float:
    return float(s["solution"].displacement_at(_diagonal(r)) @ np.full(3, sqrt(1 / 3)))


P18 = Case(
    id="p18",
    slug="thick-sphere",
    family=FAMILY,
    title="Thick sphere under internal pressure",
    statement="One eighth of a hollow sphere, symmetry on its cuts, pressure p inside.",
    source=f"Lamé; {GOODIER}, art. 136",
    basis="from memory",
    parameters=[
        Parameter("a", 50.0, "mm", "inner radius"),
        Parameter("b", 100.0, "mm", "outer radius"),
        Parameter("p", 100.0, "MPa", "pressure"),
        *aluminium(),
    ],
    solve=_solve_sphere,
    quantities=[
        Quantity(
            "hoop stress inside",
            "MPa",
            lambda p: _sphere(p, p.a)[1],
            lambda s, p: _sphere_hoop(s, p.a),
            0.01,
            EXACT,
            rate=STRESS_RATE,
        ),
        Quantity(
            "hoop stress outside",
            "MPa",
            lambda p: _sphere(p, p.b)[1],
            lambda s, p: _sphere_hoop(s, p.b),
            0.01,
            EXACT,
            rate=STRESS_RATE,
        ),
        Quantity(
            "radial stress halfway",
            "MPa",
            lambda p: _sphere(p, (p.a + p.b) / 2.0)[0],
            lambda s, p: _sphere_radial(s, (p.a + p.b) / 2.0),
            0.01,
            EXACT,
            rate=STRESS_RATE,
        ),
        Quantity(
            "radial displacement inside",
            "mm",
            lambda p: _sphere_shift(p, p.a),
            lambda s, p: _sphere_moved(s, p.a),
            0.01,
            EXACT,
            rate=DISPLACEMENT_RATE,
        ),
        Quantity(
            "radial displacement outside",
            "mm",
            lambda p: _sphere_shift(p, p.b),
            lambda s, p: _sphere_moved(s, p.b),
            0.01,
            EXACT,
            rate=DISPLACEMENT_RATE,
        ),
    ],
    fineness=3,
    refinements=(1, 2, 3),
    check=rising_radii,
)


CASES = (P17, P18)
