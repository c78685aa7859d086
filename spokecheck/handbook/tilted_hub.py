"""A disc whose hub is tilted by a bending moment.

References
----------
Mindlin, J. Appl. Mech. 18 (1951) 31-38, for transverse shear; Roark's Formulas,
7th ed., table 11.2, trunnion cases, for the thin limit (from memory).
"""

from dataclasses import dataclass
from math import pi

import numpy as np

from spokecheck.fem.body import Body, Response, respond
from spokecheck.fem.cyclic import rigid_field
from spokecheck.fem.elasticity import Material
from spokecheck.fem.orders import OrderLoad, Supports, whole_body_resultant
from spokecheck.fem.solution import Solution
from spokecheck.fem.static import solve_cases, solve_static
from spokecheck.fem.supports import Support, fix, move_rigidly
from spokecheck.handbook.both_ways import (
    WHOLE_FINENESS,
    agreement,
    both_ways,
    response_gap,
)
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
from spokecheck.handbook.plates import FAMILY, SHEAR, plate_stiffness, thin_plate
from spokecheck.mesh.blocks import geometric
from spokecheck.mesh.parts import ring_sector
from spokecheck.mesh.record import Mesh
from spokecheck.units import FloatArray


@dataclass(frozen=True)
class TiltedHub:
    """Shear-flexible plate with its hub tilted: moment and surface stress.

    Attributes
    ----------
    moment : float
        Moment on the hub [N mm].
    r : ndarray (n,)
        Radii [mm].
    radial, hoop : ndarray (n,)
        Surface stress on the moment diameter [MPa].
    """

    moment: float
    r: FloatArray
    radial: FloatArray
    hoop: FloatArray

    def at(self, r: float) -> tuple[float, float]:
        """Radial and hoop stress at one radius, by the interpolating polynomial."""
        low, high = self.r.min(), self.r.max()
        s, nodes = (2 * r - low - high) / (high - low), _points(len(self.r))
        values = np.polynomial.chebyshev.chebfit(
            nodes, np.column_stack([self.radial, self.hoop]), len(nodes) - 1
        )
        radial, hoop = np.polynomial.chebyshev.chebval(s, values)
        return float(radial), float(hoop)


def _points(n: int) -> FloatArray:
    """Chebyshev points from -1 to 1."""
    return np.asarray(-np.cos(pi * np.arange(n) / (n - 1)))


def tilted_hub(p: Values, n: int = 30) -> TiltedHub:
    """Mindlin plate, first Fourier order, by collocation at Chebyshev points.

    Parameters
    ----------
    p : Values
        Outer radius a (clamped), hub radius b, thickness t, tilt phi, E, nu.
    n : int
        Number of points.

    Returns
    -------
    TiltedHub

    Notes
    -----
    w = W cos, psi_r = P cos, psi_theta = T sin, and
    ``Q_r = kGt (W' + P)``, ``Q_t = kGt (T - W/r)``,
    ``M_r = D (P' + nu (P + T)/r)``, ``M_t = D ((P + T)/r + nu P')``,
    ``M_rt = D (1 - nu)/2 (T' - (P + T)/r)``, in balance
    ``M_r' + (M_r - M_t + M_rt)/r = Q_r``, ``M_rt' + (2 M_rt - M_t)/r = Q_t``,
    ``Q_r' + (Q_r + Q_t)/r = 0``.
    """
    # Chebyshev points, and the matrix d that differentiates values there
    s = _points(n)
    r = p.b + (p.a - p.b) * (s + 1.0) / 2.0
    basis = np.polynomial.chebyshev.chebvander(s, n - 1)
    slope = np.column_stack(
        [
            np.polynomial.chebyshev.chebval(s, np.polynomial.chebyshev.chebder(e))
            for e in np.eye(n)
        ]
    )
    d = slope @ np.linalg.inv(basis) * 2.0 / (p.a - p.b)
    # rows that pick W, P, T out of the 3 n unknowns
    one, zero, over = np.eye(n), np.zeros((n, n)), np.diag(1.0 / r)
    W, P, T = (
        np.hstack(row)
        for row in ((one, zero, zero), (zero, one, zero), (zero, zero, one))
    )
    # shear forces and moments
    D = plate_stiffness(p)
    shear = SHEAR * p.E / (2.0 * (1.0 + p.nu)) * p.t
    Qr, Qt = shear * (d @ W + P), shear * (T - over @ W)
    Mr = D * (d @ P + p.nu * over @ (P + T))
    Mt = D * (over @ (P + T) + p.nu * d @ P)
    Mrt = D * (1.0 - p.nu) / 2.0 * (d @ T - over @ (P + T))
    # the three balances
    system = np.vstack(
        [
            d @ Qr + over @ (Qr + Qt),
            d @ Mr + over @ (Mr - Mt + Mrt) - Qr,
            d @ Mrt + over @ (2.0 * Mrt - Mt) - Qt,
        ]
    )
    # boundary: at the hub the tilt, w = -phi r, slopes phi and -phi; the rim clamped
    rhs = np.zeros(3 * n)
    for k, hub in enumerate((-p.phi * p.b, p.phi, -p.phi)):
        for row, value in ((k * n, hub), (k * n + n - 1, 0.0)):
            system[row] = np.eye(3 * n)[row]
            rhs[row] = value
    x = np.linalg.solve(system, rhs)
    # moment on the hub, the same at every radius up to rounding
    moment = pi * r * ((Mr - Mrt) @ x - r * (Qr @ x))
    face = 6.0 / p.t**2
    return TiltedHub(float(abs(np.median(moment))), r, face * (Mr @ x), face * (Mt @ x))


def _quarter_disc(p: Values, n: int) -> Mesh:
    radial = geometric(4 * n, p.a / p.b)
    return ring_sector(p.b, p.a, p.t, (radial, 4 * n, 2))


def _solve_hub(p: Values, n: int) -> Study:
    mesh, material = _quarter_disc(p, n), Material(E=p.E, nu=p.nu)
    held = [fix("outer"), _tilt(p)]
    planes = [fix("start", "y"), fix("end", "yz")]
    coarse = both_ways(_quarter_disc(p, WHOLE_FINENESS), 4, material)
    whole = solve_cases(coarse.whole, held, {"": []})[""]
    return {
        "solution": solve_static(mesh, material, [*planes, *held], []),
        "sector": _tilt_sector(p, both_ways(mesh, 4, material).sector),
        "gap": response_gap(coarse, whole, _tilt_sector(p, coarse.sector)),
    }


def _tilt(p: Values) -> Support:
    """The hub face tilted by phi about y."""
    return move_rigidly("inner", _centre(p), rotation=(0.0, p.phi, 0.0))


def _centre(p: Values) -> FloatArray:
    return np.array([0.0, 0.0, p.t / 2.0])


def _tilt_sector(p: Values, sector: Body) -> Response:
    """One of four sectors in order one: the hub's tilt turns about the axis.

    The vector ``phi (-i, 1, 0)`` is of order one, and at turn angle zero a tilt by phi
    about y.
    """
    points, inner = sector.mesh.points, sector.mesh.nodes("inner")
    held = np.zeros(points.shape, dtype=bool)
    held[sector.mesh.nodes("outer")] = held[inner] = True
    turning = np.zeros((2, 3), dtype=complex)
    turning[1] = -1j * p.phi, p.phi, 0.0
    moved = np.zeros(points.shape, dtype=complex)
    moved[inner] = rigid_field(points[inner], turning, _centre(p))
    none = np.zeros(3, dtype=complex)
    load = OrderLoad(1, np.zeros_like(moved), none, none, prescribed=moved)
    return respond(sector, Supports(held), [load])


def _sector_moment(s: Study, p: Values, n_sectors: int = 4) -> float:
    """Moment on the hub of the whole disc, from the forces on one sector's hub face."""
    response, mesh = s["sector"], s["solution"].mesh
    inner, forces = mesh.nodes("inner"), np.zeros_like(response.reactions[0])
    forces[inner] = response.reactions[0, inner]
    _, moment = whole_body_resultant(mesh.points, forces, 1, n_sectors, _centre(p))
    return float(moment[1].real)


def _hub_moment(s: Study, p: Values) -> float:
    solution: Solution = s["solution"]
    return 4.0 * float(solution.reaction_moment("inner", (0.0, 0.0, p.t / 2.0))[1])


def _face(s: Study, p: Values, share: float, component: int) -> float:
    """Stress of the top face on the moment diameter, at a share of the annulus."""
    r = p.b + share * (p.a - p.b)
    return float(s["solution"].stress_at((r, 0.0, p.t))[component])


def _tilted(number: str, slug: str, t: float) -> Case:
    quantities = [
        Quantity(
            "moment on the hub",
            "N mm",
            lambda p: tilted_hub(p).moment,
            _hub_moment,
            0.03,
            "plate theory with shear; the hub edge is singular and stiffer",
            rate=CLAMPED_RATE,
        ),
        Quantity(
            "moment on the hub, by one sector",
            "N mm",
            lambda p: tilted_hub(p).moment,
            _sector_moment,
            0.03,
            "plate theory with shear; the hub edge is singular and stiffer",
            rate=CLAMPED_RATE,
        ),
    ]
    for share, which, name, tolerance in (
        (0.5, 0, "radial stress halfway", 0.05),
        (0.5, 1, "hoop stress halfway", 0.05),
        (6.0 / 7.0, 0, "radial stress near the rim", 0.05),
    ):
        quantities.append(_hub_stress(share, which, name, tolerance))
    quantities.append(agreement())
    return Case(
        id=number,
        slug=slug,
        family=FAMILY,
        title=f"Disc clamped outside, its hub tilted, thickness {t:g}",
        statement=(
            "Quarter of a disc, rim fixed; the hub face is tilted rigidly by phi about "
            "y, as by a bending moment: between planes of symmetry, as one of four "
            "sectors in order one, and whole."
        ),
        source=(
            "Mindlin plate theory, first Fourier order, solved by collocation; thin "
            "limit: Roark 7th ed. table 11.2, trunnion cases (from memory)"
        ),
        basis="computed",
        parameters=[
            Parameter("a", 100.0, "mm", "outer radius"),
            Parameter("b", 30.0, "mm", "hub radius"),
            Parameter("t", t, "mm", "thickness"),
            Parameter("phi", 1.0e-3, "rad", "tilt of the hub"),
            *aluminium(),
        ],
        solve=_solve_hub,
        quantities=quantities,
        fineness=3,
        refinements=(2, 3, 4, 6),
        check=lambda p: (
            thin_plate(p)
            + ([] if p.a > p.b else [f"a = {p.a:g} mm: must exceed b = {p.b:g} mm"])
        ),
    )


def _hub_stress(share: float, which: int, name: str, tolerance: float) -> Quantity:
    return Quantity(
        name,
        "MPa",
        lambda p: tilted_hub(p).at(p.b + share * (p.a - p.b))[which],
        lambda s, p: _face(s, p, share, which),
        tolerance,
        "plate theory with shear, away from the edges",
        rate=STRESS_RATE,
    )


P30A = _tilted("p30a", "tilted-hub-thin", 5.0)


P30B = _tilted("p30b", "tilted-hub-thick", 10.0)


CASES = (P30A, P30B)
