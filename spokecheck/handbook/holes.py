"""Stress concentration at circular holes.

In-plane stress of a body loaded by tractions alone does not depend on Poisson's ratio,
so both faces are held along z and the solid meets the plane solution exactly.

References
----------
Timoshenko, Goodier, Theory of Elasticity, 3rd ed., art. 35 (from memory).
Roark's Formulas, 7th ed., table 17.1, via a secondary copy.
"""

import numpy as np

from spokecheck.fem.actions import traction
from spokecheck.fem.elasticity import Material
from spokecheck.fem.solution import Solution
from spokecheck.fem.static import solve_static
from spokecheck.fem.supports import fix
from spokecheck.handbook.case import (
    STRESS_RATE,
    Case,
    Parameter,
    Quantity,
    Study,
    Values,
    aluminium,
)
from spokecheck.mesh.notches import plate_with_hole
from spokecheck.units import FloatArray

FAMILY = "stress concentration"


ROARK = "Roark's Formulas, 7th ed., table 17.1, via a secondary copy"


def kirsch(p: Values, x: FloatArray) -> FloatArray:
    """Plane stress (n, 3) xx, yy, xy around a hole in a plate pulled along x."""
    r2 = x[:, 0] ** 2 + x[:, 1] ** 2
    t = np.arctan2(x[:, 1], x[:, 0])
    q = p.a**2 / r2
    c2, s2 = np.cos(2 * t), np.sin(2 * t)
    radial = (1 - q) + (1 - 4 * q + 3 * q**2) * c2
    hoop = (1 + q) - (1 + 3 * q**2) * c2
    shear = -(1 + 2 * q - 3 * q**2) * s2
    half_sum, half_gap = (radial + hoop) / 2, (radial - hoop) / 2
    turned = half_gap * c2 - shear * s2
    cross = half_gap * s2 + shear * c2
    return p.S / 2 * np.column_stack([half_sum + turned, half_sum - turned, cross])


def _solve_kirsch(p: Values, n: int) -> Study:
    side = 4.0 * p.a
    mesh = plate_with_hole(p.a, side, side, p.a / 2.0, (3 * n, 4 * n, 1))

    def pull(x: FloatArray) -> FloatArray:
        s = kirsch(p, x)
        right = x[:, 0] > side * (1.0 - 1e-9)
        out = np.zeros_like(x)
        out[:, 0] = np.where(right, s[:, 0], s[:, 2])
        out[:, 1] = np.where(right, s[:, 2], s[:, 1])
        return out

    supports = [fix("x0", "x"), fix("y0", "y"), fix(["bottom", "top"], "z")]
    material = Material(E=p.E, nu=p.nu)
    load = [traction("frame", pull)]
    return {"solution": solve_static(mesh, material, supports, load)}


def _at(s: Study, p: Values, x: float, y: float, component: int) -> float:
    solution: Solution = s["solution"]
    return float(solution.stress_at((x * p.a, y * p.a, p.a / 4.0))[component])


def _along_edge(share: float, tolerance: float) -> Quantity:
    def target(p: Values) -> float:
        return float(kirsch(p, np.array([[0.0, share * p.a, 0.0]]))[0, 0])

    return Quantity(
        f"hoop stress across the pull, at {share:g} radii",
        "MPa",
        target,
        lambda s, p: _at(s, p, 0.0, share, 0),
        tolerance,
        "the plane solution is exact for this body",
        rate=STRESS_RATE,
    )


P20 = Case(
    id="p20",
    slug="hole-exact",
    family=FAMILY,
    title="Circular hole with the exact tractions around it",
    statement=(
        "Quarter of a square of half width 4 a around a hole of radius a; the "
        "tractions of the infinite plate under pull S along x on its outer sides."
    ),
    source="Kirsch; Timoshenko & Goodier, Theory of Elasticity, 3rd ed., art. 35",
    basis="from memory",
    parameters=[
        Parameter("a", 10.0, "mm", "hole radius"),
        Parameter("S", 100.0, "MPa", "remote pull"),
        *aluminium(),
    ],
    solve=_solve_kirsch,
    quantities=[
        _along_edge(1.0, 0.015),
        Quantity(
            "hoop stress along the pull, at the edge",
            "MPa",
            lambda p: -p.S,
            lambda s, p: _at(s, p, 1.0, 0.0, 1),
            0.015,
            "the plane solution is exact for this body",
            rate=STRESS_RATE,
        ),
        _along_edge(1.5, 0.01),
        _along_edge(2.0, 0.01),
        _along_edge(3.0, 0.01),
    ],
    fineness=3,
    refinements=(2, 3, 4, 6),
)


def _solve_strip(p: Values, n: int) -> Study:
    mesh = plate_with_hole(
        p.d / 2.0, p.W / 2.0, 1.5 * p.W, p.d / 4.0, (3 * n, 4 * n, 1)
    )
    supports = [fix("x0", "x"), fix("y0", "y"), fix(["bottom", "top"], "z")]
    material = Material(E=p.E, nu=p.nu)
    load = [traction("right", (p.S, 0.0, 0.0))]
    return {"solution": solve_static(mesh, material, supports, load)}


def _howland(p: Values) -> float:
    q = 1.0 - p.d / p.W
    return (2.0 + 0.284 * q - 0.6 * q**2 + 1.32 * q**3) / q


def _roark_hole(p: Values) -> float:
    x = p.d / p.W
    return (3.0 - 3.13 * x + 3.66 * x**2 - 1.53 * x**3) / (1.0 - x)


def _hole_factor(s: Study, p: Values) -> float:
    spot = (0.0, p.d / 2.0, p.d / 8.0)
    return float(s["solution"].stress_at(spot)[0]) / p.S


def _strip(number: str, slug: str, W: float) -> Case:
    return Case(
        id=number,
        slug=slug,
        family=FAMILY,
        title=f"Hole in a strip, diameter over width {20.0 / W:g}",
        statement="Quarter of a strip three widths long with a central hole, pulled.",
        source=f"Howland's solution as fitted by Peterson (public code); {ROARK}",
        basis="seen",
        parameters=[
            Parameter("d", 20.0, "mm", "hole diameter"),
            Parameter("W", W, "mm", "strip width"),
            Parameter("S", 100.0, "MPa", "gross pull"),
            *aluminium(),
        ],
        solve=_solve_strip,
        quantities=[
            Quantity(
                "gross stress concentration factor",
                "",
                _howland,
                _hole_factor,
                0.02,
                "the fit to Howland's solution holds to about one per cent",
                rate=STRESS_RATE,
            ),
            Quantity(
                "the same against the handbook cubic",
                "",
                _roark_hole,
                _hole_factor,
                0.02,
                "the cubic holds to about one per cent",
            ),
        ],
        fineness=4,
        refinements=(2, 3, 4, 6),
        check=lambda p: (
            []
            if 0.05 <= p.d / p.W <= 0.7
            else [f"d/W = {p.d / p.W:.3g}: must be 0.05 to 0.7; change the width"]
        ),
    )


P21A = _strip("p21a", "hole-in-strip-wide", 100.0)


P21B = _strip("p21b", "hole-in-strip-narrow", 50.0)


CASES = (P20, P21A, P21B)
