"""Natural modes: rigid ones, a rod with a known answer, and refusals."""

import numpy as np
import pytest
from numpy.testing import assert_allclose

from spokecheck.errors import ModelError
from spokecheck.fem.assembly import assemble_stiffness, mass_blocks
from spokecheck.fem.elasticity import Material
from spokecheck.fem.modal import solve_modes
from spokecheck.fem.supports import fix, symmetry
from spokecheck.mesh.parts import beam_block, ring_sector

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


def test_refusals():
    """Modes need a density and a sensible number."""
    bar = beam_block(10.0, 1.0, 1.0, (1, 1, 1))
    with pytest.raises(ModelError, match="modes need a positive density"):
        solve_modes(bar, Material(E=1.0, nu=0.3), [fix("root")])
    with pytest.raises(ModelError, match="count = 0: must be 1 to"):
        solve_modes(bar, ALUMINIUM, [fix("root")], 0)
