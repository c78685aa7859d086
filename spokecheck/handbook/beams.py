"""Cantilevers: deflection with the shear term, bending stress away from the ends.

References
----------
Gere, Timoshenko, Mechanics of Materials, app. G; Roark's Formulas, 7th ed., table 8.1;
Cowper, J. Appl. Mech. 33 (1966) 335-340 for the shear coefficients (all from memory).
"""

from math import ceil

import numpy as np

from spokecheck.fem.actions import Load, pressure, traction
from spokecheck.fem.body import Body
from spokecheck.fem.elasticity import Material
from spokecheck.fem.loads import VectorField
from spokecheck.fem.solution import Solution
from spokecheck.fem.static import solve_cases
from spokecheck.fem.supports import fix, near
from spokecheck.handbook.case import (
    CLAMPED_RATE,
    DISPLACEMENT_RATE,
    STRESS_RATE,
    Case,
    Parameter,
    Quantity,
    Study,
    Values,
    aluminium,
)
from spokecheck.mesh.parts import beam_block
from spokecheck.mesh.record import Mesh
from spokecheck.units import FloatArray

FAMILY = "beams"


GERE = "Gere & Timoshenko, Mechanics of Materials, app. G; Roark 7th ed. table 8.1"


SHEAR = 5.0 / 6.0
"""Shear coefficient of the rectangle."""


FREE = "the root face stays plane, as in beam theory, but may contract"


CLAMP = "the clamped face resists lateral contraction, which the beam formula ignores"


AWAY = "read two depths or more from clamp and load, where beam theory is exact"


def material_of(p: Values) -> Material:
    """Material of a case's parameters."""
    return Material(E=p.E, nu=p.nu)


def shear_modulus(p: Values) -> float:
    """Shear modulus [MPa]."""
    return p.E / (2.0 * (1.0 + p.nu))


def inertia(p: Values) -> float:
    """Second moment of the rectangle [mm^4]."""
    return p.b * p.h**3 / 12.0


def _bar(p: Values, n: int, length: float) -> Mesh:
    """Bar with 2 n cells through the depth."""
    along = n * max(2, min(20, ceil(length / p.h)))
    across = n * max(1, min(4, round(p.b / p.h)))
    return beam_block(length, p.b, p.h, (along, across, 2 * n))


def section_parameters(
    L: float, b: float, h: float, F: float, what: str
) -> list[Parameter]:
    """Parameters of a rectangular beam with one load, which ``what`` names."""
    return [
        Parameter("L", L, "mm", "length"),
        Parameter("b", b, "mm", "width"),
        Parameter("h", h, "mm", "depth"),
        Parameter("F", F, "N", what),
        *aluminium(),
    ]


def slender(p: Values, least: float) -> list[str]:
    """Complaint about a beam shorter than ``least`` depths."""
    if p.L / p.h < least:
        return [
            f"L/h = {p.L / p.h:.3g}: must be at least {least:g} for beam theory; "
            "make the beam longer or thinner"
        ]
    return []


def section_shear(p: Values, force: float) -> VectorField:
    """Vertical traction [MPa] of a shear force, parabolic over the depth."""

    def parabola(x: FloatArray) -> FloatArray:
        tau = np.zeros_like(x)
        s = 2.0 * x[:, 2] / p.h - 1.0
        tau[:, 2] = 1.5 * force / (p.b * p.h) * (1.0 - s**2)
        return tau

    return parabola


def _solve_held(p: Values, n: int, load: Load, force: float) -> Study:
    """Cantilever under a load of resultant ``force`` down, held in two ways.

    In ``solution`` the root face stays plane but may contract, and the shear force
    enters as a parabola; in ``fixed`` the whole root face is fixed.
    """
    body = Body(_bar(p, n, p.L), material_of(p))
    held = [
        fix("root", "x"),
        fix(near((0.0, 0.0, p.h / 2.0)), "yz"),
        fix(near((0.0, p.b, p.h / 2.0)), "z"),
    ]
    carried = traction("root", section_shear(p, force))
    plane = solve_cases(body, held, {"solution": [load, carried]})
    return {**plane, **solve_cases(body, [fix("root")], {"fixed": [load]})}


def _solve_cantilever(p: Values, n: int) -> Study:
    load = traction("tip", (0.0, 0.0, -p.F / (p.b * p.h)))
    return _solve_held(p, n, load, p.F)


def _tip(study: Study, name: str = "solution") -> float:
    solution: Solution = study[name]
    return -float(solution.mean_displacement("tip")[2])


def _cantilever_tip(p: Values) -> float:
    bending = p.F * p.L**3 / (3.0 * p.E * inertia(p))
    return bending + p.F * p.L / (SHEAR * shear_modulus(p) * p.b * p.h)


def _top_fibre(study: Study, p: Values, x: float) -> float:
    solution: Solution = study["solution"]
    return float(solution.stress_at((x, p.b / 2.0, p.h))[0])


P10 = Case(
    id="p10",
    slug="cantilever-end-load",
    family=FAMILY,
    title="Cantilever with an end load",
    statement="Bar along x, root face kept plane, load F down as shear on the tip.",
    source=GERE,
    basis="from memory",
    parameters=section_parameters(200.0, 20.0, 10.0, 100.0, "end load"),
    solve=_solve_cantilever,
    quantities=[
        Quantity(
            "tip deflection",
            "mm",
            _cantilever_tip,
            lambda s, p: _tip(s),
            0.003,
            FREE,
            rate=DISPLACEMENT_RATE,
        ),
        Quantity(
            "tip deflection, root wholly fixed",
            "mm",
            _cantilever_tip,
            lambda s, p: _tip(s, "fixed"),
            0.01,
            CLAMP,
            rate=CLAMPED_RATE,
            at_default="a converged solid is just under 1 % stiffer",
        ),
        Quantity(
            "bending stress at mid-length",
            "MPa",
            lambda p: 3.0 * p.F * p.L / (p.b * p.h**2),
            lambda s, p: _top_fibre(s, p, p.L / 2.0),
            0.01,
            AWAY,
            rate=STRESS_RATE,
        ),
        Quantity(
            "bending stress at a quarter from the root",
            "MPa",
            lambda p: 4.5 * p.F * p.L / (p.b * p.h**2),
            lambda s, p: _top_fibre(s, p, p.L / 4.0),
            0.01,
            AWAY,
            rate=STRESS_RATE,
        ),
    ],
    check=lambda p: slender(p, 8.0),
)


P11 = Case(
    id="p11",
    slug="deep-cantilever",
    family=FAMILY,
    title="Deep cantilever, length over depth = 4",
    statement="As p10, but so short that shear counts.",
    source=GERE,
    basis="from memory",
    parameters=section_parameters(100.0, 20.0, 25.0, 1000.0, "end load"),
    solve=_solve_cantilever,
    quantities=[
        Quantity(
            "tip deflection",
            "mm",
            _cantilever_tip,
            lambda s, p: _tip(s),
            0.01,
            FREE,
            rate=DISPLACEMENT_RATE,
        ),
        Quantity(
            "tip deflection, root wholly fixed",
            "mm",
            _cantilever_tip,
            lambda s, p: _tip(s, "fixed"),
            None,
            CLAMP,
            at_default="a converged solid is some 2 % stiffer",
        ),
    ],
    check=lambda p: slender(p, 3.0),
)


def _solve_uniform(p: Values, n: int) -> Study:
    return _solve_held(p, n, pressure("top", p.w / p.b), p.w * p.L)


def _uniform_tip(p: Values) -> float:
    bending = p.w * p.L**4 / (8.0 * p.E * inertia(p))
    return bending + p.w * p.L**2 / (2.0 * SHEAR * shear_modulus(p) * p.b * p.h)


P14 = Case(
    id="p14",
    slug="cantilever-uniform-load",
    family=FAMILY,
    title="Cantilever with a uniform load",
    statement="Bar along x, root face kept plane, pressure w/b on the top face.",
    source=GERE,
    basis="from memory",
    parameters=[
        Parameter("L", 300.0, "mm", "length"),
        Parameter("b", 25.0, "mm", "width"),
        Parameter("h", 15.0, "mm", "depth"),
        Parameter("w", 2.0, "N/mm", "load per length"),
        *aluminium(),
    ],
    solve=_solve_uniform,
    quantities=[
        Quantity(
            "tip deflection",
            "mm",
            lambda p: (
                p.w * p.L**4 / (8.0 * p.E * inertia(p))
                + p.w * p.L**2 / (2.0 * SHEAR * shear_modulus(p) * p.b * p.h)
            ),
            lambda s, p: _tip(s),
            0.003,
            FREE,
            rate=DISPLACEMENT_RATE,
        ),
        Quantity(
            "tip deflection, root wholly fixed",
            "mm",
            _uniform_tip,
            lambda s, p: _tip(s, "fixed"),
            None,
            CLAMP,
            rate=DISPLACEMENT_RATE,
            at_default="a converged solid is just under 1 % stiffer",
        ),
        Quantity(
            "bending stress at mid-length",
            "MPa",
            lambda p: 0.75 * p.w * p.L**2 / (p.b * p.h**2),
            lambda s, p: _top_fibre(s, p, p.L / 2.0),
            0.01,
            AWAY,
            rate=STRESS_RATE,
        ),
    ],
    check=lambda p: slender(p, 8.0),
)


CASES = (P10, P11, P14)
