"""Kernels of a screening one by one: ``pytest -m bench tests/bench``.

Nothing is asserted about time; each kernel's result is looked at, so that a fast wrong
one is not a success.
"""

import numpy as np
import pytest
from numpy.testing import assert_allclose

from spokecheck.fem.assembly import cell_lame, stiffness_blocks
from spokecheck.fem.body import make_body
from spokecheck.fem.dissection import dissect
from spokecheck.fem.recovery import patch_recovery
from spokecheck.fem.sector import solve_sector
from tests.bench.models import ALUMINIUM, cornering, drum, sector

pytestmark = pytest.mark.bench


@pytest.fixture(scope="module")
def part():
    """One sector of the five-spoke example."""
    return sector(1.0)


@pytest.fixture(scope="module")
def body(part):
    """Its elastic body."""
    return make_body(part.mesh, ALUMINIUM, part.cyclic)


def test_assembly(benchmark, part):
    """Element matrices and their sum; an even shift costs no force."""
    pairs = benchmark(stiffness_blocks, part.mesh, cell_lame(part.mesh, ALUMINIUM))
    columns = np.random.default_rng(7).standard_normal((3 * part.mesh.n_points, 1))
    shift = np.tile([1.0, 0.0, 0.0], part.mesh.n_points)[:, None]
    assert np.abs(pairs.times(shift)).max() < 1e-9 * np.abs(pairs.times(columns)).max()


def test_elimination_order(benchmark, part):
    """Nested dissection; every point has a place of its own."""
    cells, cut = part.mesh.cells, np.unique(part.cyclic.pairs)
    order = benchmark(dissect, cells, part.mesh.n_points, cut)
    assert len(np.unique(order.position)) == part.mesh.n_points


@pytest.mark.parametrize("case", [cornering, drum], ids=["cornering", "radial"])
def test_factor_and_solution(benchmark, part, body, case):
    """All orders of a test; free points feel no more force than is applied."""
    loaded = case(part)
    args = (body.stiffness, part.mesh.points, part.cyclic)
    moved = benchmark.pedantic(
        solve_sector, (*args, loaded.supports, loaded.loads), rounds=3
    )
    forces = body.stiffness.times(moved.u)
    free = np.ones(part.mesh.n_points, dtype=bool)
    free[loaded.supports.held.any(axis=1)] = False
    free[part.cyclic.pairs] = False
    free[loaded.supports.coupled] = False
    applied = np.array([load.nodal for load in loaded.loads])
    top = np.abs(forces).max()
    assert_allclose(forces[:, free], applied[:, free], rtol=0, atol=1e-7 * top)


def test_recovery(benchmark, part):
    """Weights of the patch recovery; an even axial stress comes back."""
    recovery = benchmark.pedantic(
        patch_recovery, (part.mesh.points, part.mesh.cells, part.cyclic), rounds=3
    )
    even = np.zeros((1, part.mesh.n_cells, 4, 6), dtype=complex)
    even[..., 2] = 1.0
    nodal = recovery.nodal(even, np.zeros(1, dtype=int))[0]
    expected = np.broadcast_to(even[0, 0, 0], nodal.shape)
    assert_allclose(nodal, expected, rtol=0, atol=1e-9)
