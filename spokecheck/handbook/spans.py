"""Beams over a span with a centre load: on simple supports, and clamped.

References
----------
As in ``beams``.
"""

from math import ceil

import numpy as np

from spokecheck.fem.actions import Load, pressure, traction
from spokecheck.fem.solution import Solution
from spokecheck.fem.static import solve_static
from spokecheck.fem.supports import fix, near, symmetry
from spokecheck.handbook.beams import (
    AWAY,
    CLAMP,
    FAMILY,
    GERE,
    SHEAR,
    inertia,
    material_of,
    section_parameters,
    section_shear,
    shear_modulus,
    slender,
)
from spokecheck.handbook.case import (
    CLAMPED_RATE,
    DISPLACEMENT_RATE,
    STRESS_RATE,
    Case,
    Quantity,
    Study,
    Values,
)
from spokecheck.mesh.blocks import pieces
from spokecheck.mesh.parts import beam_block
from spokecheck.units import FloatArray


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
        loads.append(traction("tip", section_shear(p, p.F / 2.0)))
        corner = near((half, 0.0, p.h / 2.0))
        other = near((half, p.b, p.h / 2.0))
        supports = [middle, fix(corner, "yz"), fix(other, "z")]
    return {"solution": solve_static(mesh, material_of(p), supports, loads)}


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
    parameters=section_parameters(400.0, 20.0, 20.0, 1200.0, "centre load"),
    solve=lambda p, n: _solve_centre_load(p, n, clamped=False),
    quantities=[
        Quantity(
            "centre deflection",
            "mm",
            lambda p: (
                p.F * p.L**3 / (48.0 * p.E * inertia(p))
                + p.F * p.L / (4.0 * SHEAR * shear_modulus(p) * p.b * p.h)
            ),
            _sag,
            0.015,
            "the load is spread over 10 mm and dents the top",
            rate=DISPLACEMENT_RATE,
        ),
        Quantity(
            "bending stress at a quarter",
            "MPa",
            lambda p: 0.75 * p.F * p.L / (p.b * p.h**2),
            lambda s, p: _bottom_fibre(s, p, p.L / 4.0),
            0.015,
            AWAY,
            rate=STRESS_RATE,
        ),
    ],
    check=lambda p: slender(p, 8.0),
)


P13 = Case(
    id="p13",
    slug="clamped-beam-centre-load",
    family=FAMILY,
    title="Beam clamped at both ends with a centre load",
    statement="As p12, but the end face is fixed.",
    source=GERE,
    basis="from memory",
    parameters=section_parameters(400.0, 16.0, 20.0, 2000.0, "centre load"),
    solve=lambda p, n: _solve_centre_load(p, n, clamped=True),
    quantities=[
        Quantity(
            "centre deflection",
            "mm",
            lambda p: (
                p.F * p.L**3 / (192.0 * p.E * inertia(p))
                + p.F * p.L / (4.0 * SHEAR * shear_modulus(p) * p.b * p.h)
            ),
            _sag,
            0.02,
            CLAMP,
            rate=CLAMPED_RATE,
        ),
        Quantity(
            "bending stress at 3/8 of the length",
            "MPa",
            lambda p: 0.375 * p.F * p.L / (p.b * p.h**2),
            lambda s, p: _bottom_fibre(s, p, p.L / 8.0),
            0.02,
            AWAY,
            rate=STRESS_RATE,
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
    check=lambda p: slender(p, 8.0),
)


CASES = (P12, P13)
