"""Rings under pressure that varies around them.

References
----------
Michell's stress function of the annulus: Timoshenko & Goodier, Theory of Elasticity,
3rd ed., art. 43 (from memory).
Roark's Formulas, 7th ed., table 9.2, case 1 (from memory; its factors via a secondary
copy).
"""

from dataclasses import dataclass
from math import cos, pi, radians, sin

import numpy as np

from spokecheck.fem.actions import Load, traction
from spokecheck.fem.elasticity import Material
from spokecheck.fem.solution import Solution
from spokecheck.fem.static import solve_static
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
from spokecheck.mesh.blocks import pieces
from spokecheck.mesh.parts import ring_sector
from spokecheck.mesh.record import Mesh
from spokecheck.units import FloatArray

FAMILY = "rings and rim loads"


GOODIER = "Timoshenko & Goodier, Theory of Elasticity, 3rd ed., art. 43"


THIN = "plane stress; the slice is thin along the axis, not infinitely so"


@dataclass(frozen=True)
class RingOrder:
    """Plane-stress solution of a ring under outward traction cos(n theta) outside.

    Attributes
    ----------
    radial, hoop, shift : ndarray (n_radii,)
        Radial and hoop stress, and radial displacement times E, at theta = 0.
    """

    radial: FloatArray
    hoop: FloatArray
    shift: FloatArray


def ring_order(a: float, b: float, n: int, nu: float, r: FloatArray) -> RingOrder:
    """Exact plane-stress field of one order of outward traction on a ring.

    Parameters
    ----------
    a, b : float
        Inner and outer radius [mm].
    n : int
        Order, zero or at least two.
    nu : float
        Poisson's ratio.
    r : ndarray (n_radii,)
        Where to evaluate [mm].

    Returns
    -------
    RingOrder
        For a traction of 1 MPa.

    Notes
    -----
    Stress function ``(sum_k c_k r^m_k) cos(n theta)`` with m = n, -n, n + 2, 2 - n;
    each power is scaled by the radius at which it is largest.
    """
    if n == 0:
        A = b**2 / (b**2 - a**2)
        B = -A * a**2
        radial, hoop = A + B / r**2, A - B / r**2
        return RingOrder(radial, hoop, r * (hoop - nu * radial))
    # each power with its own scale, so that the system is well conditioned
    powers = np.array([n, -n, n + 2, 2 - n], dtype=float)
    scale = np.where(powers >= 0.0, b, a)

    def terms(x: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray]:
        y = np.asarray(x, dtype=float)[:, None]
        base = (y / scale) ** powers / y**2
        radial = (powers - n**2) * base
        hoop = powers * (powers - 1.0) * base
        shear = n * (powers - 1.0) * base
        shift = (radial - nu * hoop) * y / (powers - 1.0)
        return radial, hoop, shear, shift

    # free of traction inside, cos(n theta) outward and no shear outside
    inner, outer = terms(np.array([a])), terms(np.array([b]))
    system = np.vstack([inner[0], inner[2], outer[0], outer[2]])
    size = np.abs(system).max(axis=0)
    c = np.linalg.solve(system / size, np.array([0.0, 0.0, 1.0, 0.0])) / size
    radial, hoop, _, shift = terms(r)
    return RingOrder(radial @ c, hoop @ c, shift @ c)


def quarter(p: Values, radial: int, around: FloatArray) -> Mesh:
    """Half of a slice, thin compared with its section so that plane stress holds."""
    height = min(p.t, 0.1 * (p.b - p.a)) / 2.0
    return ring_sector(p.a, p.b, height, (radial, around, 1))


def hold(mesh: Mesh, p: Values, loads: list[Load]) -> Solution:
    """Solve the quarter between its planes of symmetry."""
    supports = [fix("start", "y"), fix("end", "x"), fix("bottom", "z")]
    return solve_static(mesh, Material(E=p.E, nu=p.nu), supports, loads)


def ring_parameters(a: float, b: float, t: float) -> list[Parameter]:
    """Inner radius, outer radius and thickness."""
    return [
        Parameter("a", a, "mm", "inner radius"),
        Parameter("b", b, "mm", "outer radius"),
        Parameter("t", t, "mm", "thickness along the axis"),
    ]


def rising(p: Values) -> list[str]:
    """Complaint about an outer radius that does not exceed the inner."""
    return [] if p.b > p.a else [f"b = {p.b:g} mm: must exceed a = {p.a:g} mm"]


def hoop_at(s: Study, x: float, y: float, component: int) -> float:
    """Component of the stress [MPa] at a place of the quarter's lower face."""
    return float(s["solution"].stress_at((x, y, 0.0))[component])


def shift_at(s: Study, x: float, y: float, component: int) -> float:
    """Component of the displacement [mm] at a place of the quarter's lower face."""
    return float(s["solution"].displacement_at((x, y, 0.0))[component])


SPREAD = 2.0
"""Half angle over which each load of the pulled ring is spread [deg]."""


ORDERS = range(0, 602, 2)
"""Orders summed for the pulled ring; the next ones change the fifth digit."""


def _patch_pressure(p: Values) -> float:
    return p.W / (2.0 * p.b * p.t * sin(radians(SPREAD)))


def _solve_pulled(p: Values, n: int) -> Study:
    around = pieces([0.0, SPREAD / 90.0, 0.15, 1.0], [n, 2 * n, 7 * n])
    mesh = quarter(p, 2 * n, around)
    edge = radians(SPREAD)

    def outward(x: FloatArray) -> FloatArray:
        angle = np.arctan2(x[:, 1], x[:, 0])
        unit = x * np.array([1.0, 1.0, 0.0]) / np.hypot(x[:, 0], x[:, 1])[:, None]
        return np.where((angle < edge)[:, None], _patch_pressure(p) * unit, 0.0)

    return {"solution": hold(mesh, p, [traction("outer", outward)])}


def _pulled(p: Values, r: float, angle: float) -> tuple[float, float]:
    """Hoop stress [MPa] and radial displacement [mm] of the pulled ring at an angle."""
    d = radians(SPREAD)
    hoop = shift = 0.0
    for n in ORDERS:
        part = 2.0 * d / pi if n == 0 else 4.0 * sin(n * d) / (pi * n)
        order = ring_order(p.a, p.b, n, p.nu, np.array([r]))
        wave = _patch_pressure(p) * part * cos(n * angle)
        hoop += wave * float(order.hoop[0])
        shift += wave * float(order.shift[0]) / p.E
    return hoop, shift


P26 = Case(
    id="p26",
    slug="ring-pulled",
    family=FAMILY,
    title="Ring pulled by two opposite loads",
    statement=(
        "Quarter of a thin slice; each load W is spread as radial traction over 2 "
        "degrees either side; the target is the exact Fourier sum."
    ),
    source=f"{GOODIER}; thin ring: Roark 7th ed. table 9.2 case 1",
    basis="from memory",
    parameters=[
        *ring_parameters(95.0, 105.0, 20.0),
        Parameter("W", 500.0, "N", "load"),
        *aluminium(),
    ],
    solve=_solve_pulled,
    quantities=[
        Quantity(
            "change of outer diameter along the load",
            "mm",
            lambda p: 2.0 * _pulled(p, p.b, 0.0)[1],
            lambda s, p: 2.0 * shift_at(s, p.b, 0.0, 0),
            0.01,
            THIN,
            rate=DISPLACEMENT_RATE,
        ),
        Quantity(
            "change of outer diameter across the load",
            "mm",
            lambda p: 2.0 * _pulled(p, p.b, pi / 2.0)[1],
            lambda s, p: 2.0 * shift_at(s, 0.0, p.b, 1),
            0.01,
            THIN,
            rate=DISPLACEMENT_RATE,
        ),
        Quantity(
            "hoop stress inside, across the load",
            "MPa",
            lambda p: _pulled(p, p.a, pi / 2.0)[0],
            lambda s, p: hoop_at(s, 0.0, p.a, 0),
            0.01,
            THIN,
            rate=STRESS_RATE,
        ),
        Quantity(
            "hoop stress outside, across the load",
            "MPa",
            lambda p: _pulled(p, p.b, pi / 2.0)[0],
            lambda s, p: hoop_at(s, 0.0, p.b, 0),
            0.01,
            THIN,
            rate=STRESS_RATE,
        ),
        Quantity(
            "hoop stress inside, under the load",
            "MPa",
            lambda p: _pulled(p, p.a, 0.0)[0],
            lambda s, p: hoop_at(s, p.a, 0.0, 1),
            0.01,
            THIN,
            rate=STRESS_RATE,
        ),
    ],
    fineness=5,
    refinements=(3, 4, 6, 8),
    check=rising,
)


CASES = (P26,)
