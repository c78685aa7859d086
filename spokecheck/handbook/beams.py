"""Straight beams: deflection with the shear term, bending stress away from the ends.

References
----------
Gere, Timoshenko, Mechanics of Materials, app. G; Roark's Formulas, 7th ed., table 8.1;
Cowper, J. Appl. Mech. 33 (1966) 335-340 for the shear coefficients (all from memory).
"""

from math import ceil, pi

import numpy as np

from spokecheck.fem.actions import Load, pressure, traction
from spokecheck.fem.elasticity import Material
from spokecheck.fem.loads import VectorField
from spokecheck.fem.static import Part, Solution, solve_cases, solve_static
from spokecheck.fem.supports import displace, fix, near, symmetry
from spokecheck.handbook.record import (
    Case,
    Parameter,
    Quantity,
    Study,
    Values,
    aluminium,
)
from spokecheck.mesh.blocks import pieces
from spokecheck.mesh.parts import beam_block, round_bar
from spokecheck.mesh.record import Mesh
from spokecheck.units import FloatArray

FAMILY = "beams"
GERE = "Gere & Timoshenko, Mechanics of Materials, app. G; Roark 7th ed. table 8.1"
SHEAR = 5.0 / 6.0
"""Shear coefficient of the rectangle."""

FREE = "the root face stays plane, as in beam theory, but may contract"
CLAMP = "the clamped face resists lateral contraction, which the beam formula ignores"
AWAY = "read two depths or more from clamp and load, where beam theory is exact"


def _material(p: Values) -> Material:
    return Material(E=p.E, nu=p.nu)


def _shear_modulus(p: Values) -> float:
    return p.E / (2.0 * (1.0 + p.nu))


def _inertia(p: Values) -> float:
    return p.b * p.h**3 / 12.0


def _bar(p: Values, n: int, length: float) -> Mesh:
    """Bar with 2 n cells through the depth."""
    along = n * max(2, min(20, ceil(length / p.h)))
    across = n * max(1, min(4, round(p.b / p.h)))
    return beam_block(length, p.b, p.h, (along, across, 2 * n))


def _section(L: float, b: float, h: float, F: float, what: str) -> list[Parameter]:
    return [
        Parameter("L", L, "mm", "length"),
        Parameter("b", b, "mm", "width"),
        Parameter("h", h, "mm", "depth"),
        Parameter("F", F, "N", what),
        *aluminium(),
    ]


def _slender(p: Values, least: float) -> list[str]:
    if p.L / p.h < least:
        return [
            f"L/h = {p.L / p.h:.3g}: must be at least {least:g} for beam theory; "
            "make the beam longer or thinner"
        ]
    return []


def _section_shear(p: Values, force: float) -> VectorField:
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
    part = Part(_bar(p, n, p.L), _material(p))
    held = [
        fix("root", "x"),
        fix(near((0.0, 0.0, p.h / 2.0)), "yz"),
        fix(near((0.0, p.b, p.h / 2.0)), "z"),
    ]
    carried = traction("root", _section_shear(p, force))
    plane = solve_cases(part, held, {"solution": [load, carried]})
    return {**plane, **solve_cases(part, [fix("root")], {"fixed": [load]})}


def _solve_cantilever(p: Values, n: int) -> Study:
    load = traction("tip", (0.0, 0.0, -p.F / (p.b * p.h)))
    return _solve_held(p, n, load, p.F)


def _tip(study: Study, name: str = "solution") -> float:
    solution: Solution = study[name]
    return -float(solution.mean_displacement("tip")[2])


def _cantilever_tip(p: Values) -> float:
    bending = p.F * p.L**3 / (3.0 * p.E * _inertia(p))
    return bending + p.F * p.L / (SHEAR * _shear_modulus(p) * p.b * p.h)


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
    parameters=_section(200.0, 20.0, 10.0, 100.0, "end load"),
    solve=_solve_cantilever,
    quantities=[
        Quantity(
            "tip deflection",
            "mm",
            _cantilever_tip,
            lambda s, p: _tip(s),
            0.003,
            FREE,
            rate=3.0,
        ),
        Quantity(
            "tip deflection, root wholly fixed",
            "mm",
            _cantilever_tip,
            lambda s, p: _tip(s, "fixed"),
            0.01,
            "a converged solid is just under 1 % stiffer: " + CLAMP,
            rate=3.0,
        ),
        Quantity(
            "bending stress at mid-length",
            "MPa",
            lambda p: 3.0 * p.F * p.L / (p.b * p.h**2),
            lambda s, p: _top_fibre(s, p, p.L / 2.0),
            0.01,
            AWAY,
            rate=2.0,
        ),
        Quantity(
            "bending stress at a quarter from the root",
            "MPa",
            lambda p: 4.5 * p.F * p.L / (p.b * p.h**2),
            lambda s, p: _top_fibre(s, p, p.L / 4.0),
            0.01,
            AWAY,
            rate=2.0,
        ),
    ],
    check=lambda p: _slender(p, 8.0),
)

P11 = Case(
    id="p11",
    slug="deep-cantilever",
    family=FAMILY,
    title="Deep cantilever, length over depth = 4",
    statement="As p10, but so short that shear is 5 % of the deflection.",
    source=GERE,
    basis="from memory",
    parameters=_section(100.0, 20.0, 25.0, 1000.0, "end load"),
    solve=_solve_cantilever,
    quantities=[
        Quantity(
            "tip deflection",
            "mm",
            _cantilever_tip,
            lambda s, p: _tip(s),
            0.01,
            FREE,
            rate=3.0,
        ),
        Quantity(
            "tip deflection, root wholly fixed",
            "mm",
            _cantilever_tip,
            lambda s, p: _tip(s, "fixed"),
            None,
            "a converged solid is some 2 % stiffer: " + CLAMP,
        ),
    ],
    check=lambda p: _slender(p, 3.0),
)


def _solve_centre_load(p: Values, n: int, clamped: bool) -> Study:
    """Right half of a beam, its middle at x = 0, loaded over 10 mm or L/40."""
    half, patch = p.L / 2.0, min(5.0, p.L / 80.0)
    along = pieces([0.0, patch / half, 1.0], [1, n * min(20, ceil(half / p.h))])
    across = n * max(1, min(4, round(p.b / p.h)))
    mesh = beam_block(half, p.b, p.h, (along, across, 2 * n))
    density = p.F / 2.0 / (patch * p.b)

    def on_patch(x: FloatArray) -> FloatArray:
        return np.where(x[:, 0] < patch, density, 0.0)

    loads: list[Load] = [pressure("top", on_patch)]
    middle = symmetry(mesh, "root")
    if clamped:
        supports = [middle, fix("tip")]
    else:
        loads.append(traction("tip", _section_shear(p, p.F / 2.0)))
        corner = near((half, 0.0, p.h / 2.0))
        other = near((half, p.b, p.h / 2.0))
        supports = [middle, fix(corner, "yz"), fix(other, "z")]
    return {"solution": solve_static(mesh, _material(p), supports, loads)}


def _sag(study: Study, p: Values) -> float:
    """Fall of the middle below the end, both on the neutral axis."""
    solution: Solution = study["solution"]
    ends = [(x, p.b / 2.0, p.h / 2.0) for x in (0.0, p.L / 2.0)]
    middle, end = (float(solution.displacement_at(x)[2]) for x in ends)
    return end - middle


def _bottom_fibre(study: Study, p: Values, x: float) -> float:
    solution: Solution = study["solution"]
    return float(solution.stress_at((x, p.b / 2.0, 0.0))[0])


P12 = Case(
    id="p12",
    slug="simple-beam-centre-load",
    family=FAMILY,
    title="Simply supported beam with a centre load",
    statement=(
        "Half the beam, symmetry at the middle, the load as pressure on 10 mm of the "
        "top, the support force as parabolic shear on the end face."
    ),
    source=GERE,
    basis="from memory",
    parameters=_section(400.0, 20.0, 20.0, 1200.0, "centre load"),
    solve=lambda p, n: _solve_centre_load(p, n, clamped=False),
    quantities=[
        Quantity(
            "centre deflection",
            "mm",
            lambda p: (
                p.F * p.L**3 / (48.0 * p.E * _inertia(p))
                + p.F * p.L / (4.0 * SHEAR * _shear_modulus(p) * p.b * p.h)
            ),
            _sag,
            0.015,
            "the load is spread over 10 mm and dents the top",
            rate=3.0,
        ),
        Quantity(
            "bending stress at a quarter",
            "MPa",
            lambda p: 0.75 * p.F * p.L / (p.b * p.h**2),
            lambda s, p: _bottom_fibre(s, p, p.L / 4.0),
            0.015,
            AWAY,
            rate=2.0,
        ),
    ],
    check=lambda p: _slender(p, 8.0),
)

P13 = Case(
    id="p13",
    slug="clamped-beam-centre-load",
    family=FAMILY,
    title="Beam clamped at both ends with a centre load",
    statement="As p12, but the end face is fixed.",
    source=GERE,
    basis="from memory",
    parameters=_section(400.0, 16.0, 20.0, 2000.0, "centre load"),
    solve=lambda p, n: _solve_centre_load(p, n, clamped=True),
    quantities=[
        Quantity(
            "centre deflection",
            "mm",
            lambda p: (
                p.F * p.L**3 / (192.0 * p.E * _inertia(p))
                + p.F * p.L / (4.0 * SHEAR * _shear_modulus(p) * p.b * p.h)
            ),
            _sag,
            0.02,
            CLAMP,
            rate=3.0,
        ),
        Quantity(
            "bending stress at 3/8 of the length",
            "MPa",
            lambda p: 0.375 * p.F * p.L / (p.b * p.h**2),
            lambda s, p: _bottom_fibre(s, p, p.L / 8.0),
            0.02,
            AWAY,
            rate=2.0,
        ),
        Quantity(
            "bending stress at a quarter over that at 3/8",
            "",
            lambda p: 0.0,
            lambda s, p: (
                _bottom_fibre(s, p, p.L / 4.0) / _bottom_fibre(s, p, p.L / 8.0)
            ),
            0.02,
            "the bending moment changes sign there",
        ),
    ],
    check=lambda p: _slender(p, 8.0),
)


def _solve_uniform(p: Values, n: int) -> Study:
    return _solve_held(p, n, pressure("top", p.w / p.b), p.w * p.L)


def _uniform_tip(p: Values) -> float:
    bending = p.w * p.L**4 / (8.0 * p.E * _inertia(p))
    return bending + p.w * p.L**2 / (2.0 * SHEAR * _shear_modulus(p) * p.b * p.h)


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
                p.w * p.L**4 / (8.0 * p.E * _inertia(p))
                + p.w * p.L**2 / (2.0 * SHEAR * _shear_modulus(p) * p.b * p.h)
            ),
            lambda s, p: _tip(s),
            0.003,
            FREE,
            rate=3.0,
        ),
        Quantity(
            "tip deflection, root wholly fixed",
            "mm",
            _uniform_tip,
            lambda s, p: _tip(s, "fixed"),
            None,
            "a converged solid is just under 1 % stiffer: " + CLAMP,
            rate=3.0,
        ),
        Quantity(
            "bending stress at mid-length",
            "MPa",
            lambda p: 0.75 * p.w * p.L**2 / (p.b * p.h**2),
            lambda s, p: _top_fibre(s, p, p.L / 2.0),
            0.01,
            AWAY,
            rate=2.0,
        ),
    ],
    check=lambda p: _slender(p, 8.0),
)


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
    return {"solution": solve_static(mesh, _material(p), held, loads)}


def _round_tip(p: Values) -> float:
    inertia, area = pi * p.d**4 / 64.0, pi * p.d**2 / 4.0
    G = _shear_modulus(p)
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
            rate=3.0,
        ),
        Quantity(
            "bending stress at two thirds from the tip",
            "MPa",
            lambda p: 32.0 * p.F * (2.0 * p.L / 3.0) / (pi * p.d**3),
            lambda s, p: float(s["solution"].stress_at((0.0, p.d / 2.0, p.L / 3.0))[2]),
            0.015,
            AWAY,
            rate=2.0,
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
    return {"solution": solve_static(mesh, _material(p), supports, load)}


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
            rate=3.0,
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
            rate=2.0,
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
            rate=2.0,
        ),
    ],
)

CASES = (P10, P11, P12, P13, P14, P15, P16)
