"""Kernels of a screening one by one: ``pytest -m bench tests/bench``.

Nothing is asserted about time; each kernel's result is looked at, so that a fast wrong
one is not a success.
"""

import numpy as np
import pytest
from numpy.testing import assert_allclose

from spokecheck.fem.assembly import assemble_stiffness
from spokecheck.fem.factor import Factor
from spokecheck.fem.ordering import elimination_rank
from spokecheck.fem.recovery import patch_recovery
from spokecheck.fem.reduction import reduce_stiffness
from tests.bench.models import ALUMINIUM, cornering, sector

pytestmark = pytest.mark.bench


@pytest.fixture(scope="module")
def part():
    """One sector of the five-spoke example."""
    return sector(1.0)


@pytest.fixture(scope="module")
def stiffness(part):
    """Its stiffness."""
    return assemble_stiffness(part.mesh, ALUMINIUM)


@pytest.fixture(scope="module")
def reduction(part, stiffness):
    """Its reduced stiffness in the cornering case."""
    rank = elimination_rank(stiffness, part.cyclic)
    case = cornering(part)
    return reduce_stiffness(
        stiffness, part.mesh.points, case.supports, part.cyclic, rank
    )


def test_assembly(benchmark, part):
    """Element matrices and their sum; rigid shifts cost no energy."""
    K = benchmark(assemble_stiffness, part.mesh, ALUMINIUM)
    shift = np.tile([1.0, 0.0, 0.0], part.mesh.n_points)
    assert np.abs(K @ shift).max() < 1e-6 * abs(K).max()


def test_elimination_order(benchmark, part, stiffness):
    """Nested dissection; every point has a rank."""
    rank = benchmark(elimination_rank, stiffness, part.cyclic)
    assert len(rank) == part.mesh.n_points


@pytest.mark.parametrize("residue", [0, 1], ids=["real", "complex"])
def test_factor(benchmark, reduction, residue):
    """Factor and one solution, real and complex Hermitian; the residual is rounding."""
    lower = reduction.matrix(residue)
    rhs = np.ones((lower.shape[0], 1), dtype=complex)

    def work():
        return Factor(lower, reduction.order).solve(rhs)

    x = benchmark.pedantic(work, rounds=3)
    twice = lower.diagonal()[:, None] * x
    residual = lower @ x + lower.conj().T @ x - twice - rhs
    assert np.abs(residual).max() < 1e-6


def test_recovery(benchmark, part):
    """Weights of the patch recovery; an even axial stress comes back."""
    recovery = benchmark.pedantic(
        patch_recovery, (part.mesh.points, part.mesh.cells, part.cyclic), rounds=3
    )
    even = np.zeros((1, part.mesh.n_cells, 4, 6), dtype=complex)
    even[..., 2] = 1.0
    assert_allclose(recovery.nodal(even, np.zeros(1))[0], even[0, 0, :1], atol=1e-9)
