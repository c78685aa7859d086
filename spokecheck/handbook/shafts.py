"""Stepped round shaft in bending.

References
----------
Roark's Formulas, 7th ed., table 17.1, via a secondary copy.
Peterson's Stress Concentration Factors (Pilkey), chart 3.10: magnitudes via a secondary
copy, signs from memory.
Tipton, Sorem, Rolovic, J. Mech. Des. 118 (1996), found such charts off by some per cent
with later finite element models (from memory).
"""

from math import pi

import numpy as np

from spokecheck.fem.actions import traction
from spokecheck.fem.elasticity import Material
from spokecheck.fem.static import solve_static
from spokecheck.fem.supports import fix, near
from spokecheck.handbook.case import (
    STRESS_RATE,
    Case,
    Parameter,
    Quantity,
    Study,
    Values,
    aluminium,
)
from spokecheck.handbook.fillets import Rows, chart_fit, peak_principal, step_limits
from spokecheck.handbook.holes import FAMILY
from spokecheck.mesh.notches import Shoulder, shoulder_shaft
from spokecheck.units import FloatArray

ROARK_LOW: Rows = (
    (0.927, 1.149, -0.086),
    (0.015, -3.281, 0.837),
    (0.847, 1.716, -0.506),
    (-0.790, 0.417, -0.246),
)
ROARK_HIGH: Rows = (
    (1.225, 0.831, -0.010),
    (-3.790, 0.958, -0.257),
    (7.374, -4.834, 0.862),
    (-3.809, 3.046, -0.595),
)
PILKEY_LOW: Rows = (
    (0.947, 1.206, -0.131),
    (0.022, -3.405, 0.915),
    (0.869, 1.777, -0.555),
    (-0.810, 0.422, -0.260),
)
PILKEY_HIGH: Rows = (
    (1.232, 0.832, -0.008),
    (-3.813, 0.968, -0.260),
    (7.423, -4.868, 0.869),
    (-3.839, 3.070, -0.600),
)


def _solve(p: Values, n: int) -> Study:
    section = Shoulder(
        narrow=p.d / 2.0,
        wide=p.D / 2.0,
        radius=p.r,
        shank=1.5 * p.D,
        body=1.5 * p.D,
        eighth=2 * n,
        out=2 * n,
    )
    mesh = shoulder_shaft(section, 2 * n)
    nominal = 32.0 * p.M / (pi * p.d**3)

    def bend(x: FloatArray) -> FloatArray:
        out = np.zeros_like(x)
        out[:, 2] = -nominal * x[:, 1] / (p.d / 2.0)
        return out

    supports = [
        fix("x0", "x"),
        fix("y0", "xz"),
        fix("end", "z"),
        fix(near((0.0, 0.0, section.body)), "y"),
    ]
    material = Material(E=p.E, nu=p.nu)
    load = [traction("start", bend)]
    return {"solution": solve_static(mesh, material, supports, load)}


def _factor(s: Study, p: Values) -> float:
    return peak_principal(s["solution"], "fillet") / (32.0 * p.M / (pi * p.d**3))


def _shaft(number: str, slug: str, D: float, above: tuple[str, str]) -> Case:
    return Case(
        id=number,
        slug=slug,
        family=FAMILY,
        title=f"Stepped round shaft in bending, {D:g} to 30, radius 3",
        statement=(
            "Quarter of a shaft with a shoulder fillet: one plane of symmetry, one of "
            "antisymmetry; the moment M as linear traction on the narrow end."
        ),
        source="Roark's Formulas, 7th ed., table 17.1, via a secondary copy; Pilkey",
        basis="seen",
        parameters=[
            Parameter("D", D, "mm", "wide diameter"),
            Parameter("d", 30.0, "mm", "narrow diameter"),
            Parameter("r", 3.0, "mm", "fillet radius"),
            Parameter("M", 100000.0, "N mm", "bending moment"),
            *aluminium(),
        ],
        solve=_solve,
        quantities=[
            Quantity(
                "stress concentration factor against Roark",
                "",
                lambda p: chart_fit(ROARK_LOW, ROARK_HIGH, p.D, p.d, p.r),
                _factor,
                0.06,
                CHARTS,
                rate=STRESS_RATE,
                at_default=f"a converged solid lies {above[0]} above the fit",
            ),
            Quantity(
                "the same against Pilkey",
                "",
                lambda p: chart_fit(PILKEY_LOW, PILKEY_HIGH, p.D, p.d, p.r),
                _factor,
                0.05,
                CHARTS,
                at_default=f"a converged solid lies {above[1]} above the fit",
            ),
        ],
        fineness=3,
        refinements=(2, 3, 4),
        check=step_limits,
    )


CHARTS = "the charts themselves: shoulder charts are low, as later studies found"
SHALLOW = ("4.0 %", "2.3 %")
DEEP = ("3.8 %", "3.2 %")

P23A = _shaft("p23a", "stepped-shaft-shallow", 36.0, SHALLOW)
P23B = _shaft("p23b", "stepped-shaft-deep", 45.0, DEEP)

CASES = (P23A, P23B)
