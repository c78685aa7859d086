"""Stress concentration at holes, shoulder fillets and notches of flat bars.

In-plane stress of a body loaded by tractions alone does not depend on Poisson's ratio,
so both faces are held along z and the solid meets the plane solution exactly.

References
----------
Timoshenko, Goodier, Theory of Elasticity, 3rd ed., art. 35 (from memory).
Roark's Formulas, 7th ed., table 17.1, via a secondary copy.
Peterson's Stress Concentration Factors (Pilkey), charts 3.1 and 3.10, from memory.
"""

from math import sqrt

import numpy as np

from spokecheck.fem.actions import traction
from spokecheck.fem.elasticity import Material
from spokecheck.fem.static import Solution, solve_static
from spokecheck.fem.stress import stress_tensor
from spokecheck.fem.supports import fix
from spokecheck.handbook.record import (
    Case,
    Parameter,
    Quantity,
    Study,
    Values,
    aluminium,
)
from spokecheck.mesh.notches import Shoulder, plate_with_hole, shoulder_bar
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
        rate=2.0,
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
            rate=2.0,
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
                rate=2.0,
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


def _step(number: str, slug: str, D: float, d: float, r: float) -> Case:
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
                "the chart fit itself: a converged solid lies 3.5 % above it for the "
                "deep step and 1 % above for the shallow one, so the chart is low",
                rate=2.0,
            )
        ],
        fineness=4,
        refinements=(3, 4, 6, 8),
        check=step_limits,
    )


P22A = _step("p22a", "stepped-bar-deep", 60.0, 40.0, 5.0)
P22B = _step("p22b", "stepped-bar-shallow", 30.0, 20.0, 4.0)


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
                "the chart fit itself; a converged solid is within 0.5 % of it",
                rate=2.0,
            )
        ],
        fineness=4,
        refinements=(3, 4, 6, 8),
        check=step_limits,
    )


P24A = _notched("p24a", "notched-bar-round", 60.0, 40.0, 10.0)
P24B = _notched("p24b", "notched-bar-deep", 60.0, 40.0, 5.0)

CASES = (P20, P21A, P21B, P22A, P22B, P24A, P24B)
