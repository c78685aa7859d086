"""Natural frequencies of a cantilever and of a free ring.

References
----------
Timoshenko, Phil. Mag. 41 (1921) 744-746, for shear and rotary inertia; Blevins,
Formulas for Natural Frequency and Mode Shape, tables 8-1 and 9-1 (from memory).
"""

from math import pi, sqrt

import numpy as np
from scipy.linalg import eigh

from spokecheck.fem.elasticity import Material
from spokecheck.fem.modal import solve_modes
from spokecheck.fem.supports import fix
from spokecheck.handbook.case import (
    CLAMPED_RATE,
    ENERGY_RATE,
    Case,
    Parameter,
    Quantity,
    Study,
    Values,
    aluminium,
)
from spokecheck.mesh.parts import beam_block, ring_sector

FAMILY = "natural frequencies"
SHEAR = 5.0 / 6.0


def timoshenko_frequencies(p: Values, depth: float, width: float) -> list[float]:
    """First two frequencies [Hz] of a clamped beam that bends over ``depth`` [mm].

    Notes
    -----
    Ritz's method with powers of x/L up to the ninth for deflection and rotation of
    Timoshenko's beam; it has converged to six digits.
    """
    s, weight = np.polynomial.legendre.leggauss(24)
    s, weight = (s + 1.0) / 2.0, weight / 2.0 * p.L
    k = np.arange(1, 10)
    shape = s[:, None] ** k
    slope = k * s[:, None] ** (k - 1) / p.L
    zero = np.zeros_like(shape)
    w, dw = np.hstack([shape, zero]), np.hstack([slope, zero])
    turn, dturn = np.hstack([zero, shape]), np.hstack([zero, slope])
    area, inertia = width * depth, width * depth**3 / 12.0
    G = p.E / (2.0 * (1.0 + p.nu))

    def energy(f: np.ndarray, factor: float) -> np.ndarray:
        return np.asarray(factor * np.einsum("qa,qb,q->ab", f, f, weight))

    K = energy(dturn, p.E * inertia) + energy(dw - turn, SHEAR * G * area)
    M = energy(w, p.rho * area) + energy(turn, p.rho * inertia)
    squares = eigh(K, M, eigvals_only=True)
    return [sqrt(float(x)) / (2.0 * pi) for x in squares[:2]]


def _solve(p: Values, n: int) -> Study:
    material = Material(E=p.E, nu=p.nu, rho=p.rho)
    bar = beam_block(p.L, p.b, p.h, (10 * n, 2 * n, n))
    beam = solve_modes(bar, material, [fix("root")], 4)
    ring = ring_sector(p.R - p.t / 2.0, p.R + p.t / 2.0, p.t / 4.0, (n, 6 * n, 1))
    held = [fix("start", "y"), fix("end", "x"), fix("bottom", "z")]
    return {"beam": beam, "ring": solve_modes(ring, material, held, 2)}


def _beam_frequency(s: Study, axis: int, which: int) -> float:
    """Frequency of the mode that moves most along one axis, in order."""
    modes = s["beam"]
    motion = (modes.shapes**2).sum(axis=1)
    bending = np.flatnonzero(motion.argmax(axis=1) == axis)
    return float(modes.frequencies[bending[which]])


def _ring_frequency(p: Values) -> float:
    n = 2
    inertia, area = p.t**3 / 12.0, p.t
    wave = n * (n**2 - 1.0) / sqrt(n**2 + 1.0)
    stiffness = sqrt(p.E * inertia / (p.rho * area))
    return wave * stiffness / (2.0 * pi * p.R**2)


P38 = Case(
    id="p38",
    slug="natural-frequencies",
    family=FAMILY,
    title="Natural frequencies of a cantilever and of a free ring",
    statement=(
        "Cantilever L x b x h, root fixed; quarter of a free ring of mean radius R and "
        "depth t with symmetry on its cuts, so that the oval mode is the first."
    ),
    source=(
        "Timoshenko beam by Ritz's method; thin ring: Blevins, Formulas for Natural "
        "Frequency and Mode Shape"
    ),
    basis="from memory",
    parameters=[
        Parameter("L", 200.0, "mm", "length"),
        Parameter("b", 20.0, "mm", "width"),
        Parameter("h", 10.0, "mm", "depth"),
        Parameter("R", 100.0, "mm", "mean radius of the ring"),
        Parameter("t", 10.0, "mm", "radial depth of the ring"),
        Parameter("rho", 2.7e-9, "t/mm^3", "density"),
        *aluminium(),
    ],
    solve=_solve,
    quantities=[
        Quantity(
            "first bending frequency, thin way",
            "Hz",
            lambda p: timoshenko_frequencies(p, p.h, p.b)[0],
            lambda s, p: _beam_frequency(s, 2, 0),
            0.015,
            "the fixed face resists contraction",
            rate=CLAMPED_RATE,
        ),
        Quantity(
            "second bending frequency, thin way",
            "Hz",
            lambda p: timoshenko_frequencies(p, p.h, p.b)[1],
            lambda s, p: _beam_frequency(s, 2, 1),
            0.015,
            "the fixed face resists contraction",
            rate=CLAMPED_RATE,
        ),
        Quantity(
            "first bending frequency, wide way",
            "Hz",
            lambda p: timoshenko_frequencies(p, p.b, p.h)[0],
            lambda s, p: _beam_frequency(s, 1, 0),
            0.015,
            "the fixed face resists contraction",
            rate=CLAMPED_RATE,
        ),
        Quantity(
            "oval frequency of the ring",
            "Hz",
            _ring_frequency,
            lambda s, p: float(s["ring"].frequencies[0]),
            0.015,
            "the thin-ring formula leaves out shear and rotary inertia",
            rate=ENERGY_RATE,
            at_default="they count for some 1 %",
        ),
    ],
    refinements=(1, 2, 3),
    check=lambda p: (
        [f"L/b = {p.L / p.b:.3g}: must be at least 8; make the beam longer"]
        if p.L < 8.0 * max(p.b, p.h)
        else []
    ),
)

CASES = (P38,)
