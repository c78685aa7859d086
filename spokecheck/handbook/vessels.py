"""Pressure vessels and spinning discs, and a heated one.

References
----------
Timoshenko, Goodier, Theory of Elasticity, 3rd ed., arts. 28, 32, 136; Roark's Formulas,
7th ed., table 13.5 (from memory).
NAFEMS, TNSB Rev. 3, 1990, test LE11, via an open finite element library.
"""

from math import sqrt

import numpy as np

from spokecheck.fem.actions import heat, pressure, spin
from spokecheck.fem.elasticity import Material
from spokecheck.fem.static import solve_static
from spokecheck.fem.stress import stress_along, von_mises
from spokecheck.fem.supports import fix, symmetry
from spokecheck.handbook.record import (
    Case,
    Parameter,
    Quantity,
    Study,
    Values,
    aluminium,
)
from spokecheck.mesh.blocks import geometric, moved
from spokecheck.mesh.outlines import arc, chain, line, revolve, ruled_block
from spokecheck.mesh.parts import cavity_octant, named, ring_sector

FAMILY = "pressure vessels and discs"
EXACT = "the formula is exact for this body"
GOODIER = "Timoshenko & Goodier, Theory of Elasticity, 3rd ed."


def _radii(p: Values) -> list[str]:
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
            rate=2.0,
        ),
        Quantity(
            "radial stress inside",
            "MPa",
            lambda p: -p.p,
            lambda s, p: _cylinder_stress(s, p, p.a, 0),
            0.01,
            EXACT,
            rate=2.0,
        ),
        Quantity(
            "hoop stress outside",
            "MPa",
            lambda p: 2.0 * _lame(p)[0],
            lambda s, p: _cylinder_stress(s, p, p.b, 1),
            0.01,
            EXACT,
            rate=2.0,
        ),
        Quantity(
            "axial stress",
            "MPa",
            lambda p: 2.0 * p.nu * _lame(p)[0],
            lambda s, p: _cylinder_stress(s, p, (p.a + p.b) / 2.0, 2),
            0.01,
            EXACT,
            rate=2.0,
        ),
        Quantity(
            "radial displacement inside",
            "mm",
            lambda p: _cylinder_shift(p, p.a),
            lambda s, p: float(s["solution"].displacement_at((p.a, 0.0, 0.0))[0]),
            0.003,
            EXACT,
            rate=3.0,
        ),
        Quantity(
            "radial displacement outside",
            "mm",
            lambda p: _cylinder_shift(p, p.b),
            lambda s, p: float(s["solution"].displacement_at((p.b, 0.0, 0.0))[0]),
            0.003,
            EXACT,
            rate=3.0,
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
            rate=2.0,
        ),
    ],
    fineness=3,
    check=_radii,
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
            rate=2.0,
        ),
        Quantity(
            "hoop stress outside",
            "MPa",
            lambda p: _sphere(p, p.b)[1],
            lambda s, p: _sphere_hoop(s, p.b),
            0.01,
            EXACT,
            rate=2.0,
        ),
        Quantity(
            "radial stress halfway",
            "MPa",
            lambda p: _sphere(p, (p.a + p.b) / 2.0)[0],
            lambda s, p: _sphere_radial(s, (p.a + p.b) / 2.0),
            0.01,
            EXACT,
            rate=2.0,
        ),
        Quantity(
            "radial displacement inside",
            "mm",
            lambda p: _sphere_shift(p, p.a),
            lambda s, p: _sphere_moved(s, p.a),
            0.01,
            EXACT,
            rate=3.0,
        ),
        Quantity(
            "radial displacement outside",
            "mm",
            lambda p: _sphere_shift(p, p.b),
            lambda s, p: _sphere_moved(s, p.b),
            0.01,
            EXACT,
            rate=3.0,
        ),
    ],
    fineness=3,
    refinements=(1, 2, 3),
    check=_radii,
)


def _solve_disc(p: Values, n: int) -> Study:
    radial = geometric(4 * n, p.b / p.a)
    mesh = ring_sector(p.a, p.b, p.t / 2.0, (radial, 6 * n, 1))
    supports = [fix("start", "y"), fix("end", "x"), fix("bottom", "z")]
    material = Material(E=p.E, nu=p.nu, rho=p.rho)
    load = spin((0.0, 0.0, p.omega))
    return {"solution": solve_static(mesh, material, supports, [load])}


def _disc(p: Values, r: float) -> tuple[float, float]:
    """Radial and hoop stress of the thin spinning ring."""
    k = (3.0 + p.nu) / 8.0 * p.rho * p.omega**2
    a2, b2 = p.a**2, p.b**2
    radial = k * (a2 + b2 - a2 * b2 / r**2 - r**2)
    share = (1.0 + 3.0 * p.nu) / (3.0 + p.nu)
    return radial, k * (a2 + b2 + a2 * b2 / r**2 - share * r**2)


def _disc_stress(s: Study, r: float, component: int) -> float:
    return float(s["solution"].stress_at((r, 0.0, 0.0))[component])


P19 = Case(
    id="p19",
    slug="spinning-disc",
    family=FAMILY,
    title="Thin spinning disc with a hole",
    statement="Quarter ring, half its thickness, spinning about its axis.",
    source=f"{GOODIER}, art. 32",
    basis="from memory",
    parameters=[
        Parameter("a", 50.0, "mm", "inner radius"),
        Parameter("b", 200.0, "mm", "outer radius"),
        Parameter("t", 10.0, "mm", "thickness"),
        Parameter("omega", 1000.0, "rad/s", "angular velocity"),
        Parameter("rho", 2.7e-9, "t/mm^3", "density"),
        *aluminium(),
    ],
    solve=_solve_disc,
    quantities=[
        Quantity(
            "hoop stress inside",
            "MPa",
            lambda p: _disc(p, p.a)[1],
            lambda s, p: _disc_stress(s, p.a, 1),
            0.015,
            "plane stress; the disc is thin, not infinitely so",
            rate=2.0,
        ),
        Quantity(
            "largest radial stress",
            "MPa",
            lambda p: _disc(p, sqrt(p.a * p.b))[0],
            lambda s, p: _disc_stress(s, sqrt(p.a * p.b), 0),
            0.015,
            "plane stress; the disc is thin, not infinitely so",
            rate=2.0,
        ),
        Quantity(
            "hoop stress outside",
            "MPa",
            lambda p: _disc(p, p.b)[1],
            lambda s, p: _disc_stress(s, p.b, 1),
            0.015,
            "plane stress; the disc is thin, not infinitely so",
            rate=2.0,
        ),
        Quantity(
            "radial displacement outside",
            "mm",
            lambda p: p.b * _disc(p, p.b)[1] / p.E,
            lambda s, p: float(s["solution"].displacement_at((p.b, 0.0, 0.0))[0]),
            0.015,
            "plane stress; the disc is thin, not infinitely so",
            rate=3.0,
        ),
    ],
    fineness=3,
    check=_radii,
)


def _solve_heated(p: Values, n: int) -> Study:
    inside = chain(
        [
            arc((0.0, 0.0), 1000.0, 0.0, 22.5),
            arc((0.0, 0.0), 1000.0, 22.5, 45.0),
            line((707.1, 707.1), (707.1, 1390.0)),
            line((707.1, 1390.0), (707.1, 1790.0)),
        ]
    )
    outside = chain(
        [
            arc((0.0, 0.0), 1400.0, 0.0, 30.0),
            line((1212.4, 700.0), (1106.2, 1045.0)),
            line((1106.2, 1045.0), (1000.0, 1390.0)),
            line((1000.0, 1390.0), (1000.0, 1790.0)),
        ]
    )
    names = named("inner", "outer", "floor", "roof", "start", "end")
    wedge = np.radians(15.0)
    section = ruled_block(inside, outside, wedge, (2 * n, 8 * n, max(1, n // 2)), names)
    mesh = moved(section, revolve)
    supports = [
        symmetry(mesh, "start"),
        symmetry(mesh, "end"),
        fix(["floor", "roof"], "z"),
    ]
    load = heat(lambda x: p.rise * (np.hypot(x[:, 0], x[:, 1]) + x[:, 2]) / 1000.0)
    material = Material(E=p.E, nu=0.3, alpha=p.alpha)
    return {"solution": solve_static(mesh, material, supports, [load])}


P03 = Case(
    id="p03",
    slug="heated-vessel",
    family=FAMILY,
    title="Cylinder, taper and sphere under a temperature gradient (LE11)",
    statement=(
        "A 15 degree wedge of an axisymmetric vessel, both ends held along the axis, "
        "temperature r + z (in metres, times the rise)."
    ),
    source="NAFEMS, TNSB Rev. 3, 1990, test LE11, via an open finite element library",
    basis="seen",
    parameters=[
        Parameter("rise", 1.0, "K/m", "temperature gradient"),
        Parameter("E", 210000.0, "MPa", "Young's modulus"),
        Parameter("alpha", 2.3e-4, "1/K", "thermal expansion"),
    ],
    solve=_solve_heated,
    quantities=[
        Quantity(
            "sigma_zz on the inner circle of the floor",
            "MPa",
            lambda p: -105.0 * p.rise * p.E / 210000.0 * p.alpha / 2.3e-4,
            lambda s, p: float(s["solution"].stress_at((1000.0, 0.0, 0.0))[2]),
            0.05,
            "published to three digits; coarse meshes read some per cent low",
            rate=2.0,
        )
    ],
    fineness=3,
    refinements=(2, 3, 4, 6),
)

CASES = (P03, P17, P18, P19)
