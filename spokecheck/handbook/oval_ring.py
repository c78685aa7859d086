"""A ring under pressure that goes with the cosine of twice the angle.

References
----------
Michell's stress function of the annulus: Timoshenko & Goodier, Theory of Elasticity,
3rd ed., art. 43 (from memory).
"""

import numpy as np

from spokecheck.fem.actions import Pressure, pressure
from spokecheck.fem.body import Body, Response, respond
from spokecheck.fem.elasticity import Material
from spokecheck.fem.orders import OrderLoad, Supports
from spokecheck.fem.solution import Solution
from spokecheck.fem.static import solve_cases
from spokecheck.fem.supports import fix, near
from spokecheck.handbook.both_ways import (
    WHOLE_FINENESS,
    agreement,
    both_ways,
    response_gap,
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
from spokecheck.handbook.rings import (
    FAMILY,
    GOODIER,
    THIN,
    RingOrder,
    hold,
    hoop_at,
    quarter,
    ring_order,
    ring_parameters,
    rising,
    shift_at,
)
from spokecheck.mesh.record import Mesh


def _quarter_ring(p: Values, n: int) -> Mesh:
    return quarter(p, 2 * n, np.linspace(0.0, 1.0, 8 * n + 1))


def _solve_oval(p: Values, n: int) -> Study:
    mesh, material = _quarter_ring(p, n), Material(E=p.E, nu=p.nu)
    coarse = both_ways(_quarter_ring(p, WHOLE_FINENESS), 4, material)
    whole = _whole_oval(p, coarse.whole)
    return {
        "solution": hold(mesh, p, [_wave(p, 0.0)]),
        "sector": _sector_oval(p, both_ways(mesh, 4, material).sector),
        "gap": response_gap(coarse, whole, _sector_oval(p, coarse.sector)),
    }


def _wave(p: Values, delay: float) -> Pressure:
    """Outward traction p cos(2 theta - delay)."""
    return pressure(
        "outer", lambda x: -p.p * np.cos(2.0 * np.arctan2(x[:, 1], x[:, 0]) - delay)
    )


def _whole_oval(p: Values, ring: Body) -> Solution:
    """The whole ring; the load is balanced, so two points may hold it in its plane."""
    pins = [fix(near((p.a, 0.0, 0.0)), "xy"), fix(near((-p.a, 0.0, 0.0)), "y")]
    return solve_cases(ring, [fix("bottom", "z"), *pins], {"": [_wave(p, 0.0)]})[""]


def _sector_oval(p: Values, sector: Body) -> Response:
    """One of four sectors in order two, in which no sector moves as a rigid body."""
    mesh, none = sector.mesh, np.zeros(3, dtype=complex)
    held = np.zeros(mesh.points.shape, dtype=bool)
    held[mesh.nodes("bottom"), 2] = True
    # p exp(2 i theta), whose real part is the wave at turn angle zero
    nodal = _wave(p, 0.0).nodal(mesh) + 1j * _wave(p, np.pi / 2.0).nodal(mesh)
    return respond(sector, Supports(held), [OrderLoad(2, nodal, none, none)])


def _sector_shift(s: Study, p: Values) -> float:
    """Radial displacement inside at the outward crest, at turn angle zero."""
    response: Response = s["sector"]
    crest = np.linalg.norm(s["solution"].mesh.points - [p.a, 0.0, 0.0], axis=1)
    return float(response.displacements.u[0, crest.argmin(), 0].real)


def _oval(p: Values, r: float) -> RingOrder:
    return ring_order(p.a, p.b, 2, p.nu, np.array([r]))


P25 = Case(
    id="p25",
    slug="ring-oval-pressure",
    family=FAMILY,
    title="Ring under pressure that goes with the cosine of twice the angle",
    statement=(
        "Quarter ring, faces free, outward traction p cos 2 theta outside: between "
        "planes of symmetry, as one of four sectors in order two, and whole."
    ),
    source=GOODIER,
    basis="from memory",
    parameters=[
        *ring_parameters(90.0, 110.0, 2.0),
        Parameter("p", 1.0, "MPa", "traction amplitude"),
        *aluminium(),
    ],
    solve=_solve_oval,
    quantities=[
        Quantity(
            "hoop stress inside, at the outward crest",
            "MPa",
            lambda p: p.p * float(_oval(p, p.a).hoop[0]),
            lambda s, p: hoop_at(s, p.a, 0.0, 1),
            0.01,
            THIN,
            rate=STRESS_RATE,
        ),
        Quantity(
            "hoop stress outside, at the outward crest",
            "MPa",
            lambda p: p.p * float(_oval(p, p.b).hoop[0]),
            lambda s, p: hoop_at(s, p.b, 0.0, 1),
            0.01,
            THIN,
            rate=STRESS_RATE,
        ),
        Quantity(
            "radial displacement inside",
            "mm",
            lambda p: p.p * float(_oval(p, p.a).shift[0]) / p.E,
            lambda s, p: shift_at(s, p.a, 0.0, 0),
            0.01,
            THIN,
            rate=DISPLACEMENT_RATE,
        ),
        Quantity(
            "radial displacement at mean radius",
            "mm",
            lambda p: p.p * float(_oval(p, (p.a + p.b) / 2.0).shift[0]) / p.E,
            lambda s, p: shift_at(s, (p.a + p.b) / 2.0, 0.0, 0),
            0.01,
            THIN,
            rate=DISPLACEMENT_RATE,
        ),
        Quantity(
            "radial displacement inside, by one sector",
            "mm",
            lambda p: p.p * float(_oval(p, p.a).shift[0]) / p.E,
            _sector_shift,
            0.01,
            THIN,
            rate=DISPLACEMENT_RATE,
        ),
        agreement(),
    ],
    fineness=4,
    refinements=(3, 4, 6, 8),
    check=rising,
)

CASES = (P25,)
