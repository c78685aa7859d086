"""Round plates under pressure, clamped and simply supported.

References
----------
Timoshenko, Woinowsky-Krieger, Theory of Plates and Shells, ch. 3; Roark's Formulas,
7th ed., table 11.2 (from memory).
"""

import numpy as np

from spokecheck.fem.actions import pressure
from spokecheck.fem.elasticity import Material
from spokecheck.fem.static import solve_static
from spokecheck.fem.supports import AnySupport, fix
from spokecheck.handbook.case import (
    CLAMPED_RATE,
    STRESS_RATE,
    Case,
    Parameter,
    Quantity,
    Study,
    Values,
    aluminium,
)
from spokecheck.mesh.parts import round_quarter
from spokecheck.units import BoolArray, FloatArray

FAMILY = "plates"


WOINOWSKY = "Timoshenko & Woinowsky-Krieger, Theory of Plates and Shells, ch. 3"


SHEAR = 5.0 / 6.0
"""Shear coefficient of the plate."""


def _solve_round(p: Values, n: int, *, clamped: bool) -> Study:
    mesh = round_quarter(p.a, p.t, (2 * n, 3 * n, 2))
    supports: list[AnySupport] = [fix("x0", "x"), fix("y0", "y")]
    if clamped:
        supports.append(fix("skin"))
    else:

        def circle(x: FloatArray) -> BoolArray:
            r = np.hypot(x[:, 0], x[:, 1])
            middle = np.abs(x[:, 2] - p.t / 2.0) < 1e-6 * p.t
            return np.asarray(middle & (r > p.a * (1.0 - 1e-3)))

        supports.append(fix(circle, "z"))
    load = [pressure("tip", p.q)]
    return {"solution": solve_static(mesh, Material(E=p.E, nu=p.nu), supports, load)}


def plate_stiffness(p: Values) -> float:
    """Bending stiffness of a plate [N mm]."""
    return p.E * p.t**3 / (12.0 * (1.0 - p.nu**2))


def _shear_sag(p: Values) -> float:
    G = p.E / (2.0 * (1.0 + p.nu))
    return p.q * p.a**2 / (4.0 * SHEAR * G * p.t)


def _sag(s: Study, p: Values) -> float:
    return -float(s["solution"].displacement_at((0.0, 0.0, p.t / 2.0))[2])


def _centre_stress(s: Study, p: Values) -> float:
    return float(s["solution"].stress_at((0.0, 0.0, 0.0))[0])


def _round_parameters() -> list[Parameter]:
    return [
        Parameter("a", 100.0, "mm", "radius"),
        Parameter("t", 5.0, "mm", "thickness"),
        Parameter("q", 0.5, "MPa", "pressure"),
        *aluminium(),
    ]


def thin_plate(p: Values) -> list[str]:
    """Complaint about a plate too thick for plate theory."""
    if p.t / p.a > 0.2:
        return [f"t/a = {p.t / p.a:.3g}: must be below 0.2 for plate theory; thin it"]
    return []


P28 = Case(
    id="p28",
    slug="clamped-plate",
    family=FAMILY,
    title="Clamped round plate under pressure",
    statement="Quarter of a round plate, skin fixed, pressure q on top.",
    source=f"{WOINOWSKY}; Roark table 11.2; shear term added",
    basis="from memory",
    parameters=_round_parameters(),
    solve=lambda p, n: _solve_round(p, n, clamped=True),
    quantities=[
        Quantity(
            "centre deflection",
            "mm",
            lambda p: p.q * p.a**4 / (64.0 * plate_stiffness(p)) + _shear_sag(p),
            _sag,
            0.015,
            "thin-plate theory with a shear term; the edge is singular",
            rate=CLAMPED_RATE,
        ),
        Quantity(
            "centre stress, lower face",
            "MPa",
            lambda p: 6.0 / p.t**2 * p.q * p.a**2 * (1.0 + p.nu) / 16.0,
            _centre_stress,
            0.015,
            "thin-plate theory",
            rate=STRESS_RATE,
        ),
    ],
    fineness=3,
    refinements=(2, 3, 4, 6),
    check=thin_plate,
)


P29 = Case(
    id="p29",
    slug="supported-plate",
    family=FAMILY,
    title="Simply supported round plate under pressure",
    statement="As p28, the middle circle of the skin held along z only.",
    source=f"{WOINOWSKY}; Roark table 11.2; shear term added",
    basis="from memory",
    parameters=_round_parameters(),
    solve=lambda p, n: _solve_round(p, n, clamped=False),
    quantities=[
        Quantity(
            "centre deflection",
            "mm",
            lambda p: (
                (5.0 + p.nu) / (1.0 + p.nu) * p.q * p.a**4 / (64.0 * plate_stiffness(p))
                + _shear_sag(p)
            ),
            _sag,
            0.02,
            "thin-plate theory with a shear term; the line support dents locally",
        ),
        Quantity(
            "centre stress, lower face",
            "MPa",
            lambda p: 6.0 / p.t**2 * p.q * p.a**2 * (3.0 + p.nu) / 16.0,
            _centre_stress,
            0.02,
            "thin-plate theory",
            rate=STRESS_RATE,
        ),
    ],
    fineness=3,
    refinements=(2, 3, 4, 6),
    check=thin_plate,
)


CASES = (P28, P29)
