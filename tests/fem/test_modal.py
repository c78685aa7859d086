"""Natural modes: rigid ones, a rod with a known answer, and refusals."""

import numpy as np
import pytest
from numpy.testing import assert_allclose
from scipy.linalg import eigh
from scipy.optimize import brentq

from spokecheck.errors import ModelError
from spokecheck.fem.assembly import assemble_stiffness, mass_blocks
from spokecheck.fem.constraints import gather_constraints, rigid_motions
from spokecheck.fem.elasticity import Material
from spokecheck.fem.modal import solve_modes
from spokecheck.fem.supports import (
    Foundation,
    RigidPart,
    fix,
    near,
    slide,
    symmetry,
)
from spokecheck.mesh.blocks import join, moved, zoned
from spokecheck.mesh.parts import beam_block, ring_sector
from tests.oracle import static

CORK = Material(E=70000.0, nu=0.0, rho=2.7e-9)
ALUMINIUM = Material(E=70000.0, nu=0.33, rho=2.7e-9)


def test_free_body_has_six_modes_of_frequency_zero():
    """A free bar has six rigid modes, far below its first elastic one."""
    bar = beam_block(100.0, 10.0, 10.0, (6, 1, 1))
    f = solve_modes(bar, ALUMINIUM, [], 8).frequencies
    assert (f[:6] < 1e-3 * f[6]).all()
    assert f[6] > 1000.0


def test_rod_in_tension_modes():
    """A rod that moves along its axis only: f = (2 k - 1) c / 4 L.

    Rayleigh, Theory of Sound, art. 150 (from memory); Poisson's ratio zero and all
    cross motion held make the bar that rod.
    The error of second-order cells falls with the fourth power, below 1e-5 here.
    """
    bar = beam_block(100.0, 5.0, 5.0, (16, 1, 1))
    held = [fix("root"), fix(lambda x: x[:, 0] >= 0.0, "yz")]
    f = solve_modes(bar, CORK, held, 2).frequencies
    c = np.sqrt(70000.0 / 2.7e-9)
    assert_allclose(f, np.array([1.0, 3.0]) * c / 400.0, rtol=2e-4)


def test_modes_solve_the_eigenproblem():
    """Each pair satisfies K x = omega^2 M x at free points, with unit modal mass."""
    bar = beam_block(40.0, 10.0, 5.0, (4, 2, 1))
    modes = solve_modes(bar, ALUMINIUM, [fix("root")], 3)
    K = assemble_stiffness(bar, ALUMINIUM)
    M = mass_blocks(bar, np.full(bar.n_cells, ALUMINIUM.rho)).full()
    free = np.ones(bar.points.shape, dtype=bool)
    free[bar.nodes("root")] = False
    for f, shape in zip(modes.frequencies, modes.shapes, strict=True):
        x = shape.ravel()
        Mx = M @ x
        residual = (K @ x - (2.0 * np.pi * f) ** 2 * Mx)[free.ravel()]
        assert_allclose(residual, 0.0, atol=1e-6 * np.abs(K @ x).max())
        assert_allclose(x @ Mx, 1.0, rtol=1e-9)


def test_skew_symmetry_planes():
    """A sixth of a ring between skew planes has modes of the ring itself.

    Order three of the whole ring is symmetric about both planes of a sixth.
    """
    angle = np.pi / 3.0
    sixth = ring_sector(95.0, 105.0, 2.0, (1, 8, 1), angle)
    held = [symmetry(sixth, "start"), symmetry(sixth, "end"), fix("bottom", "z")]
    third = ring_sector(95.0, 105.0, 2.0, (1, 16, 1), 2.0 * angle)
    twice = [symmetry(third, "start"), symmetry(third, "end"), fix("bottom", "z")]
    f, g = (
        solve_modes(m, ALUMINIUM, h, 2).frequencies
        for m, h in ((sixth, held), (third, twice))
    )
    assert np.abs(g / f[0] - 1.0).min() < 1e-6


def test_a_block_on_springs_bounces_and_rocks():
    """A mass on springs: bounce sqrt(k A / m), rocking sqrt(k I / J), both over 2 pi.

    The block's skin is one rigid part, so it moves as a rigid mass; rocking about its
    centre of mass, J = m (L^2 + h^2) / 12.
    The springs push along z alone: two shifts and the turn about z cost nothing.
    1e-6: the elastic inside moves a little; its own frequency is near 100 kHz.
    """
    L, b, h, k = 30.0, 20.0, 10.0, 0.05
    block = beam_block(L, b, h, (3, 3, 2))
    skin = RigidPart(sorted(block.surfaces), (L / 2, b / 2, h / 2))
    f = solve_modes(block, CORK, [skin, Foundation("bottom", k)], 6).frequencies
    m = CORK.rho * L * b * h
    inertia = [m * (side**2 + h**2) / 12.0 for side in (L, b)]
    bounce = k * L * b / m
    rocking = [k * b * L**3 / 12.0 / inertia[0], k * L * b**3 / 12.0 / inertia[1]]
    assert (f[:3] < 1e-3 * f[3]).all()
    expected = np.sort(np.sqrt([bounce, *rocking])) / (2.0 * np.pi)
    assert_allclose(f[3:], expected, rtol=1e-6)


def test_bending_modes_on_an_elastic_foundation():
    """A bar with free ends on springs: omega^2 = (EI beta^4 + k b) / (rho A).

    Hetényi, Beams on Elastic Foundation (1946), with beta L = 0 and 4.7300 for the
    first shape of a bar with free ends (Blevins, table 8-1; both from memory).
    0.5 %: Euler's bar has neither shear nor rotary inertia, and is L/h = 40 long.
    """
    L, b, h, k = 200.0, 10.0, 5.0, 0.02
    bar = beam_block(L, b, h, (20, 2, 1))
    middle = near((L / 2.0, 0.0, h / 2.0))
    plane = [fix(lambda x: x[:, 0] >= 0.0, "y"), fix(middle, "x")]
    f = solve_modes(bar, CORK, [*plane, Foundation("bottom", k)], 3).frequencies
    mass, EI = CORK.rho * b * h, CORK.E * b * h**3 / 12.0
    squares = [k * b / mass, (EI * (4.7300 / L) ** 4 + k * b) / mass]
    expected = np.sqrt(squares) / (2.0 * np.pi)
    assert_allclose(f[0], expected[0], rtol=5e-3)
    assert_allclose(f[2], expected[1], rtol=5e-3)


def test_modes_with_a_rigid_part_are_those_of_the_constrained_matrices():
    """Skew rollers, springs and two rigid parts against dense matrices and LAPACK.

    1e-7: the dense solver squares nothing, but rounds at the highest frequency.
    """
    bar = beam_block(40.0, 10.0, 5.0, (4, 2, 1))
    rigid = RigidPart("tip", (41.0, 5.0, 2.0))
    springs = Foundation("bottom", 3.0)
    held = [slide("root", (1.0, 1.0, 0.0)), springs]
    held.append(fix(lambda x: (x[:, 1] == 0.0) & (x[:, 0] < 19.0), "y"))
    belt = np.flatnonzero(abs(bar.points[:, 0] - 20.0) < 1e-9)
    middle = RigidPart(belt, (20.0, 5.0, 2.0), "middle")
    found = solve_modes(bar, ALUMINIUM, [*held, rigid, middle], 4)
    constraints = gather_constraints(bar, held)
    n, tip = bar.n_points, bar.nodes("tip")
    own = np.zeros((3 * n, 3 * n))
    for point, frame in enumerate(constraints.frames):
        own[3 * point : 3 * point + 3, 3 * point : 3 * point + 3] = frame
    free = ~constraints.held
    free[tip] = free[belt] = False
    motions = np.zeros((n, 3, 12))
    for rows, k, part in ((tip, 0, rigid), (belt, 6, middle)):
        arms = bar.points[rows] - np.array(part.centre)
        motions[rows, :, k : k + 6] = rigid_motions(arms)
    T = np.hstack([own[:, free.ravel()], motions.reshape(3 * n, 12)])
    K = assemble_stiffness(bar, ALUMINIUM) + static.foundations(bar, [springs])
    K = K.todense()
    M = mass_blocks(bar, np.full(bar.n_cells, ALUMINIUM.rho)).full().todense()
    squares = eigh(T.T @ K @ T, T.T @ M @ T, eigvals_only=True, subset_by_index=[0, 3])
    assert_allclose(found.frequencies, np.sqrt(squares) / (2.0 * np.pi), rtol=1e-7)
    moved = found.shapes[:, tip].reshape(4, -1)
    _, residual, *_ = np.linalg.lstsq(
        motions[tip, :, :6].reshape(-1, 6), moved.T, rcond=None
    )
    assert (residual < 1e-16 * (moved**2).sum(axis=1)).all()


def test_modes_of_two_densities():
    """A rod with a heavy half, in tension modes: tan(a) tan(a c1/c2) = Z1/Z2.

    Rayleigh, Theory of Sound, art. 150 (from memory): continuity of motion and force at
    the joint of two halves of length l, a = omega l / c1, Z = sqrt(E rho), the root
    held and the tip free.
    """
    light, heavy = CORK, Material(E=70000.0, nu=0.0, rho=4.0 * CORK.rho)
    root = beam_block(50.0, 5.0, 5.0, (8, 1, 1))
    tip = zoned(moved(root, lambda x: x + np.array([50.0, 0.0, 0.0])), "heavy")
    rod = join([root, tip])
    held = [fix(near((0.0, 0.0, 0.0))), fix(lambda x: x[:, 0] < 1e-9, "x")]
    held.append(fix(lambda x: x[:, 0] >= 0.0, "yz"))
    f = solve_modes(rod, light, held, 1, {"heavy": heavy}).frequencies[0]
    a = brentq(lambda a: np.tan(a) * np.tan(2.0 * a) - 0.5, 1e-3, 0.7)
    assert_allclose(
        f, a * np.sqrt(70000.0 / CORK.rho) / 50.0 / (2.0 * np.pi), rtol=1e-4
    )


def test_refusals():
    """Modes need a density and a sensible number."""
    bar = beam_block(10.0, 1.0, 1.0, (1, 1, 1))
    with pytest.raises(ModelError, match="modes need a positive density"):
        solve_modes(bar, Material(E=1.0, nu=0.3), [fix("root")])
    with pytest.raises(ModelError, match="count = 0: must be 1 to"):
        solve_modes(bar, ALUMINIUM, [fix("root")], 0)
