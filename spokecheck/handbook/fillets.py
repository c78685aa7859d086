"""Stress concentration at shoulder fillets and notches of flat bars.

Both faces are held along z, as in ``holes``.

References
----------
Roark's Formulas, 7th ed., table 17.1, via a secondary copy.
"""

from math import sqrt

import numpy as np

from spokecheck.fem.actions import traction
from spokecheck.fem.elasticity import Material
from spokecheck.fem.solution import Solution
from spokecheck.fem.static import solve_static
from spokecheck.fem.stress import stress_tensor
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
from spokecheck.handbook.holes import FAMILY, ROARK
from spokecheck.mesh.notches import Shoulder, shoulder_bar

Rows = tuple[tuple[float, float, float], ...]
"""Coefficients (constant, of sqrt(h/r), of h/r) of the four terms of a chart fit."""


STEP_LOW: Rows = (
    (1.007, 1.000, -0.031),
    (-0.114, -0.585, 0.314),
    (0.241, -0.992, -0.271),
    (-0.134, 0.577, -0.012),
)


STEP_HIGH: Rows = (
    (1.042, 0.982, -0.036),
    (-0.074, -0.156, -0.010),
    (-3.418, 1.220, -0.005),
    (3.450, -2.046, 0.051),
)
"""Stepped flat bar in tension, 0.1 <= h/r <= 2 and 2 <= h/r <= 20: Roark table 17.1."""


NOTCH_LOW: Rows = (
    (0.850, 2.628, -0.413),
    (-1.119, -4.826, 2.575),
    (3.563, -0.514, -2.402),
    (-2.294, 2.713, 0.240),
)


NOTCH_HIGH: Rows = (
    (0.833, 2.069, -0.009),
    (2.732, -4.157, 0.176),
    (-8.859, 5.327, -0.320),
    (6.294, -3.239, 0.154),
)
"""Two opposite U-notches in tension, 0.1 <= h/r <= 2 and 2 <= h/r <= 50: the same."""


def chart_fit(low: Rows, high: Rows, D: float, d: float, r: float) -> float:
    """Chart factor on the net section, ``sum_k C_k (2 h / D)^k``.

    Parameters
    ----------
    low, high : Rows
        Coefficients for h/r up to 2 and above.
    D, d, r : float
        Wide and narrow width or diameter and radius [mm].

    Returns
    -------
    float
        Stress concentration factor.
    """
    h = (D - d) / 2.0
    y, x = h / r, 2.0 * h / D
    rows = low if y <= 2.0 else high
    terms = (c0 + c1 * sqrt(y) + c2 * y for c0, c1, c2 in rows)
    return float(sum(c * x**k for k, c in enumerate(terms)))


def peak_principal(solution: Solution, surface: str) -> float:
    """Largest principal stress [MPa] on a surface."""
    stress = solution.stress[solution.mesh.nodes(surface)]
    return float(np.linalg.eigvalsh(stress_tensor(stress))[:, 2].max())


def _solve_step(p: Values, n: int, *, notch: bool) -> Study:
    section = Shoulder(
        narrow=p.d / 2.0,
        wide=p.D / 2.0,
        radius=p.r,
        shank=0.0 if notch else 2.0 * p.D,
        body=2.0 * p.D,
        eighth=2 * n,
        out=2 * n,
    )
    mesh = shoulder_bar(section, p.r)
    supports = [fix("axis", "y"), fix(["bottom", "top"], "z"), fix("start", "x")]
    load = [traction("end", (p.S * p.d / p.D, 0.0, 0.0))]
    material = Material(E=p.E, nu=p.nu)
    return {"solution": solve_static(mesh, material, supports, load)}


def _bar_parameters(D: float, d: float, r: float) -> list[Parameter]:
    return [
        Parameter("D", D, "mm", "wide width"),
        Parameter("d", d, "mm", "narrow width"),
        Parameter("r", r, "mm", "radius"),
        Parameter("S", 100.0, "MPa", "net pull"),
        *aluminium(),
    ]


def step_limits(p: Values) -> list[str]:
    """Complaints about a step that the chart or the mesh does not cover."""
    h = (p.D - p.d) / 2.0
    if h < p.r - 1e-9:
        return [f"step (D - d)/2 = {h:g} mm: must be at least r = {p.r:g} mm"]
    if not 0.1 <= h / p.r <= 20.0:
        return [f"h/r = {h / p.r:.3g}: the chart covers 0.1 to 20; change the radius"]
    return []


def _step(number: str, slug: str, D: float, d: float, r: float, above: str) -> Case:
    return Case(
        id=number,
        slug=slug,
        family=FAMILY,
        title=f"Stepped flat bar in tension, {D:g} to {d:g}, radius {r:g}",
        statement="Upper half of a bar with a shoulder fillet, pulled along x.",
        source=ROARK,
        basis="seen",
        parameters=_bar_parameters(D, d, r),
        solve=lambda p, n: _solve_step(p, n, notch=False),
        quantities=[
            Quantity(
                "stress concentration factor",
                "",
                lambda p: chart_fit(STEP_LOW, STEP_HIGH, p.D, p.d, p.r),
                lambda s, p: peak_principal(s["solution"], "fillet") / p.S,
                0.05,
                "the chart fit itself, which is low for steps",
                rate=STRESS_RATE,
                at_default=f"a converged solid lies {above} above it",
            )
        ],
        fineness=4,
        refinements=(3, 4, 6, 8),
        check=step_limits,
    )


P22A = _step("p22a", "stepped-bar-deep", 60.0, 40.0, 5.0, "2.4 %")


P22B = _step("p22b", "stepped-bar-shallow", 30.0, 20.0, 4.0, "1 %")


def _notched(number: str, slug: str, D: float, d: float, r: float) -> Case:
    return Case(
        id=number,
        slug=slug,
        family=FAMILY,
        title=f"Flat bar with two U-notches in tension, radius {r:g}",
        statement="Quarter of a bar with opposite U-notches, pulled along x.",
        source=ROARK,
        basis="seen",
        parameters=_bar_parameters(D, d, r),
        solve=lambda p, n: _solve_step(p, n, notch=True),
        quantities=[
            Quantity(
                "stress concentration factor",
                "",
                lambda p: chart_fit(NOTCH_LOW, NOTCH_HIGH, p.D, p.d, p.r),
                lambda s, p: (
                    float(s["solution"].stress_at((0.0, p.d / 2.0, p.r / 2.0))[0]) / p.S
                ),
                0.04,
                "the chart fit itself",
                rate=STRESS_RATE,
                at_default="a converged solid is within 0.5 % of it",
            )
        ],
        fineness=4,
        refinements=(3, 4, 6, 8),
        check=step_limits,
    )


P24A = _notched("p24a", "notched-bar-round", 60.0, 40.0, 10.0)


P24B = _notched("p24b", "notched-bar-deep", 60.0, 40.0, 5.0)


CASES = (P22A, P22B, P24A, P24B)
