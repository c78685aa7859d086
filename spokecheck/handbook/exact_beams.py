"""A round cantilever, and the exact plane one.

References
----------
Timoshenko, Goodier, Theory of Elasticity, 3rd ed., art. 21; Cowper, J. Appl. Mech. 33
(1966) 335-340; signs as in Augarde, Deeks, Finite Elem. Anal. Des. 44 (2008) 595-601
(all from memory).
"""

from math import ceil, pi

import numpy as np

from spokecheck.fem.actions import traction
from spokecheck.fem.static import solve_static
from spokecheck.fem.supports import displace, fix, near
from spokecheck.handbook.beams import (
    AWAY,
    FAMILY,
    FREE,
    GERE,
    material_of,
    shear_modulus,
)
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
from spokecheck.mesh.parts import beam_block, round_bar
from spokecheck.mesh.record import Mesh
from spokecheck.units import FloatArray


def _solve_round(p: Values, n: int) -> Study:
    mesh = round_bar(p.d / 2.0, p.L, (2 * n, n, n * max(4, min(20, ceil(p.L / p.d)))))
    area = pi * p.d**2 / 4.0
    load = traction("tip", (0.0, -p.F / area, 0.0))

    def shear(x: FloatArray) -> FloatArray:
        tau = np.zeros_like(x)
        tau[:, 1] = 4.0 / 3.0 * p.F / area * (1.0 - (2.0 * x[:, 1] / p.d) ** 2)
        return tau

    held = [
        fix("root", "z"),
        fix(near((0.0, 0.0, 0.0)), "xy"),
        fix(near((p.d / 2.0, 0.0, 0.0)), "y"),
    ]
    loads = [load, traction("root", shear)]
    return {"solution": solve_static(mesh, material_of(p), held, loads)}


def _round_tip(p: Values) -> float:
    inertia, area = pi * p.d**4 / 64.0, pi * p.d**2 / 4.0
    G = shear_modulus(p)
    k = 6.0 * (1.0 + p.nu) / (7.0 + 6.0 * p.nu)
    return p.F * p.L**3 / (3.0 * p.E * inertia) + p.F * p.L / (k * G * area)


P15 = Case(
    id="p15",
    slug="round-cantilever",
    family=FAMILY,
    title="Round cantilever, the rotating-bending specimen at rest",
    statement="Round bar along z, root face kept plane, load F along -y on the tip.",
    source=f"{GERE}; Cowper 1966 for the shear coefficient",
    basis="from memory",
    parameters=[
        Parameter("L", 150.0, "mm", "length"),
        Parameter("d", 20.0, "mm", "diameter"),
        Parameter("F", 500.0, "N", "end load"),
        *aluminium(),
    ],
    solve=_solve_round,
    quantities=[
        Quantity(
            "tip deflection",
            "mm",
            _round_tip,
            lambda s, p: -float(s["solution"].mean_displacement("tip")[1]),
            0.015,
            FREE,
            rate=DISPLACEMENT_RATE,
        ),
        Quantity(
            "bending stress at two thirds from the tip",
            "MPa",
            lambda p: 32.0 * p.F * (2.0 * p.L / 3.0) / (pi * p.d**3),
            lambda s, p: float(s["solution"].stress_at((0.0, p.d / 2.0, p.L / 3.0))[2]),
            0.015,
            AWAY,
            rate=STRESS_RATE,
        ),
    ],
    check=lambda p: (
        [f"L/d = {p.L / p.d:.3g}: must be at least 6; make the bar longer"]
        if p.L / p.d < 6.0
        else []
    ),
)


def _plane_cantilever(p: Values, x: FloatArray) -> FloatArray:
    """Displacement field of the end-loaded cantilever of plane stress."""
    k = 2.0 * p.P / (p.E * p.D**3)
    X, Y = x[:, 0], x[:, 1]
    u = np.zeros_like(x)
    u[:, 0] = k * Y * ((6.0 * p.L - 3.0 * X) * X + (2.0 + p.nu) * (Y**2 - p.D**2 / 4.0))
    u[:, 1] = -k * (
        3.0 * p.nu * Y**2 * (p.L - X)
        + (4.0 + 5.0 * p.nu) * p.D**2 * X / 4.0
        + (3.0 * p.L - X) * X**2
    )
    return u


def _solve_plane(p: Values, n: int) -> Study:
    thick = p.D / 12.0
    low = beam_block(p.L, p.D, thick, (8 * n, 4 * n, max(1, n // 2)))
    mesh = Mesh(low.points - [0.0, p.D / 2.0, 0.0], low.cells, low.surfaces)

    def shear(x: FloatArray) -> FloatArray:
        tau = np.zeros_like(x)
        tau[:, 1] = -6.0 * p.P / p.D**3 * (p.D**2 / 4.0 - x[:, 1] ** 2)
        return tau

    supports = [
        displace("root", lambda x: _plane_cantilever(p, x), "xy"),
        fix(near((0.0, 0.0, 0.0)), "z"),
    ]
    load = [traction("tip", shear)]
    return {"solution": solve_static(mesh, material_of(p), supports, load)}


P16 = Case(
    id="p16",
    slug="plane-cantilever-exact",
    family=FAMILY,
    title="End-loaded cantilever of plane stress, exact solution imposed",
    statement=(
        "Thin strip of depth D; the exact displacements on the root, the parabolic "
        "shear on the tip; stresses are those of unit thickness."
    ),
    source="Timoshenko & Goodier, Theory of Elasticity, 3rd ed., art. 21",
    basis="from memory",
    parameters=[
        Parameter("L", 48.0, "mm", "length"),
        Parameter("D", 12.0, "mm", "depth"),
        Parameter("P", 1000.0, "N/mm", "end load per thickness"),
        Parameter("E", 3.0e7, "MPa", "Young's modulus"),
        Parameter("nu", 0.3, "", "Poisson's ratio", -0.99, 0.49),
    ],
    solve=_solve_plane,
    quantities=[
        Quantity(
            "tip deflection",
            "mm",
            lambda p: -float(_plane_cantilever(p, np.array([[p.L, 0.0, 0.0]]))[0, 1]),
            lambda s, p: -float(s["solution"].displacement_at((p.L, 0.0, 0.0))[1]),
            0.005,
            "the solution is exact; the strip is thin, not infinitely so",
            rate=DISPLACEMENT_RATE,
        ),
        Quantity(
            "bending stress at mid-length",
            "MPa",
            lambda p: p.P * p.L / 2.0 * (p.D / 2.0) / (p.D**3 / 12.0),
            lambda s, p: float(
                s["solution"].stress_at((p.L / 2.0, p.D / 2.0, p.D / 24.0))[0]
            ),
            0.01,
            "the solution is exact",
            rate=STRESS_RATE,
        ),
        Quantity(
            "shear stress on the axis",
            "MPa",
            lambda p: -1.5 * p.P / p.D,
            lambda s, p: float(
                s["solution"].stress_at((p.L / 2.0, 0.0, p.D / 24.0))[3]
            ),
            0.01,
            "the solution is exact",
            rate=STRESS_RATE,
        ),
    ],
)


CASES = (P15, P16)
