"""A spinning disc, and a heated vessel: loads from inside the body.

References
----------
Timoshenko, Goodier, Theory of Elasticity, 3rd ed., art. 32 (from memory).
NAFEMS, TNSB Rev. 3, 1990, test LE11, via an open finite element library.
"""

from math import sqrt

import numpy as np

from spokecheck.fem.actions import heat, spin
from spokecheck.fem.body import Body
from spokecheck.fem.elasticity import Material
from spokecheck.fem.solution import Solution
from spokecheck.fem.static import solve_cases, solve_static
from spokecheck.fem.supports import fix, near, symmetry
from spokecheck.handbook.both_ways import (
    WHOLE_FINENESS,
    agreement,
    both_ways,
    stress_gap,
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
from spokecheck.handbook.vessels import FAMILY, GOODIER, rising_radii
from spokecheck.mesh.blocks import geometric, moved
from spokecheck.mesh.parts import named, ring_sector
from spokecheck.mesh.record import Mesh
from spokecheck.mesh.ruled_blocks import arc, chain, line, revolve, ruled_block


def _quarter_disc(p: Values, n: int) -> Mesh:
    radial = geometric(4 * n, p.b / p.a)
    return ring_sector(p.a, p.b, p.t / 2.0, (radial, 6 * n, 1))


def _solve_disc(p: Values, n: int) -> Study:
    mesh = _quarter_disc(p, n)
    supports = [fix("start", "y"), fix("end", "x"), fix("bottom", "z")]
    material = Material(E=p.E, nu=p.nu, rho=p.rho)
    load = [spin((0.0, 0.0, p.omega))]
    coarse = both_ways(_quarter_disc(p, WHOLE_FINENESS), 4, material)
    whole, sector = _spin(p, coarse.whole), _spin(p, coarse.sector)
    return {
        "solution": solve_static(mesh, material, supports, load),
        "sector": _spin(p, both_ways(mesh, 4, material).sector),
        "gap": stress_gap(coarse, whole.stress, sector.stress),
    }


def _spin(p: Values, body: Body) -> Solution:
    """The ring, or one of its four sectors, held against turning at four points."""
    spots = ((p.a, 0.0), (0.0, p.a), (-p.a, 0.0), (0.0, -p.a))
    pins = [fix(near((x, y, 0.0)), "y" if x else "x") for x, y in spots]
    if body.cyclic.count > 1:
        pins = pins[:1]  # the same point of each sector
    supports = [fix("bottom", "z"), *pins]
    return solve_cases(body, supports, {"": [spin((0.0, 0.0, p.omega))]})[""]


def _disc(p: Values, r: float) -> tuple[float, float]:
    """Radial and hoop stress of the thin spinning ring."""
    k = (3.0 + p.nu) / 8.0 * p.rho * p.omega**2
    a2, b2 = p.a**2, p.b**2
    radial = k * (a2 + b2 - a2 * b2 / r**2 - r**2)
    share = (1.0 + 3.0 * p.nu) / (3.0 + p.nu)
    return radial, k * (a2 + b2 + a2 * b2 / r**2 - share * r**2)


def _disc_stress(s: Study, r: float, component: int, name: str = "solution") -> float:
    return float(s[name].stress_at((r, 0.0, 0.0))[component])


P19 = Case(
    id="p19",
    slug="spinning-disc",
    family=FAMILY,
    title="Thin spinning disc with a hole",
    statement=(
        "Quarter ring, half its thickness, spinning about its axis: between planes of "
        "symmetry, as one of four sectors, and whole."
    ),
    source=f"{GOODIER}, art. 32",
    basis="from memory",
    parameters=[
        Parameter("a", 50.0, "mm", "inner radius"),
        Parameter("b", 200.0, "mm", "outer radius"),
        Parameter("t", 10.0, "mm", "thickness"),
        Parameter("omega", 1000.0, "rad/s", "angular velocity"),
        Parameter("rho", 2.7e-9, "t/mm^3", "density"),
        *aluminium(),
    ],
    solve=_solve_disc,
    quantities=[
        Quantity(
            "hoop stress inside",
            "MPa",
            lambda p: _disc(p, p.a)[1],
            lambda s, p: _disc_stress(s, p.a, 1),
            0.015,
            "plane stress; the disc is thin, not infinitely so",
            rate=STRESS_RATE,
        ),
        Quantity(
            "largest radial stress",
            "MPa",
            lambda p: _disc(p, sqrt(p.a * p.b))[0],
            lambda s, p: _disc_stress(s, sqrt(p.a * p.b), 0),
            0.015,
            "plane stress; the disc is thin, not infinitely so",
            rate=STRESS_RATE,
        ),
        Quantity(
            "hoop stress outside",
            "MPa",
            lambda p: _disc(p, p.b)[1],
            lambda s, p: _disc_stress(s, p.b, 1),
            0.015,
            "plane stress; the disc is thin, not infinitely so",
            rate=STRESS_RATE,
        ),
        Quantity(
            "radial displacement outside",
            "mm",
            lambda p: p.b * _disc(p, p.b)[1] / p.E,
            lambda s, p: float(s["solution"].displacement_at((p.b, 0.0, 0.0))[0]),
            0.015,
            "plane stress; the disc is thin, not infinitely so",
            rate=DISPLACEMENT_RATE,
        ),
        Quantity(
            "hoop stress inside, by one sector",
            "MPa",
            lambda p: _disc(p, p.a)[1],
            lambda s, p: _disc_stress(s, p.a, 1, "sector"),
            0.015,
            "plane stress; the disc is thin, not infinitely so",
            rate=STRESS_RATE,
        ),
        agreement(),
    ],
    fineness=3,
    check=rising_radii,
)


def _solve_heated(p: Values, n: int) -> Study:
    inside = chain(
        [
            arc((0.0, 0.0), 1000.0, 0.0, 22.5),
            arc((0.0, 0.0), 1000.0, 22.5, 45.0),
            line((707.1, 707.1), (707.1, 1390.0)),
            line((707.1, 1390.0), (707.1, 1790.0)),
        ]
    )
    outside = chain(
        [
            arc((0.0, 0.0), 1400.0, 0.0, 30.0),
            line((1212.4, 700.0), (1106.2, 1045.0)),
            line((1106.2, 1045.0), (1000.0, 1390.0)),
            line((1000.0, 1390.0), (1000.0, 1790.0)),
        ]
    )
    names = named("inner", "outer", "floor", "roof", "start", "end")
    wedge = np.radians(15.0)
    section = ruled_block(inside, outside, wedge, (2 * n, 8 * n, max(1, n // 2)), names)
    mesh = moved(section, revolve)
    supports = [
        symmetry(mesh, "start"),
        symmetry(mesh, "end"),
        fix(["floor", "roof"], "z"),
    ]
    load = heat(lambda x: p.rise * (np.hypot(x[:, 0], x[:, 1]) + x[:, 2]) / 1000.0)
    material = Material(E=p.E, nu=0.3, alpha=p.alpha)
    return {"solution": solve_static(mesh, material, supports, [load])}


P03 = Case(
    id="p03",
    slug="heated-vessel",
    family=FAMILY,
    title="Cylinder, taper and sphere under a temperature gradient (LE11)",
    statement=(
        "A 15 degree wedge of an axisymmetric vessel, both ends held along the axis, "
        "temperature r + z (in metres, times the rise)."
    ),
    source="NAFEMS, TNSB Rev. 3, 1990, test LE11, via an open finite element library",
    basis="seen",
    parameters=[
        Parameter("rise", 1.0, "K/m", "temperature gradient"),
        Parameter("E", 210000.0, "MPa", "Young's modulus"),
        Parameter("alpha", 2.3e-4, "1/K", "thermal expansion"),
    ],
    solve=_solve_heated,
    quantities=[
        Quantity(
            "sigma_zz on the inner circle of the floor",
            "MPa",
            lambda p: -105.0 * p.rise * p.E / 210000.0 * p.alpha / 2.3e-4,
            lambda s, p: float(s["solution"].stress_at((1000.0, 0.0, 0.0))[2]),
            0.05,
            "published to three digits; coarse meshes read some per cent low",
            rate=STRESS_RATE,
        )
    ],
    fineness=3,
    refinements=(2, 3, 4, 6),
)


CASES = (P03, P19)
