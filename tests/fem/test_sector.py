"""The frontal solver against the oracle's sparse one, order by order."""

import numpy as np
import pytest
from numpy.testing import assert_allclose

from spokecheck.errors import ModelError
from spokecheck.fem.assembly import assemble_stiffness, cell_lame, stiffness_blocks
from spokecheck.fem.body import make_body, respond
from spokecheck.fem.cyclic import Cyclic, cyclic_from_faces
from spokecheck.fem.dissection import dissect
from spokecheck.fem.elasticity import Material
from spokecheck.fem.orders import Coupling, OrderLoad, Supports
from spokecheck.handbook.consistency import lobed_sector
from tests.oracle.reduction import reduce_stiffness
from tests.oracle.solve import solve_orders

ALUMINIUM = Material(70000.0, 0.33)
SAME = 1e-9
"""Two direct solvers in double precision; the condition number is about 1e6."""


@pytest.fixture(scope="module", params=[1, 5])
def body(request):
    """A lobed sector: one of five, or taken for a whole body."""
    mesh = lobed_sector(5, 2)
    of_five = cyclic_from_faces(mesh, 5, "low", "high")
    cyclic = of_five if request.param == 5 else Cyclic()
    return make_body(mesh, ALUMINIUM, cyclic)


def loads(mesh, orders):
    """Complex nodal forces on every point, another set for each order."""
    draw = np.random.default_rng(20261125)
    for m in orders:
        parts = draw.normal(size=(2, mesh.n_points, 3))
        force, moment = draw.normal(size=(2, 3))
        yield OrderLoad(
            m, parts[0] + 1j * parts[1], force + 1j * force[::-1], 40j * moment
        )


def supports(mesh, hub, rim):
    """Rim held along some directions, hub held or moving as one."""
    held = np.zeros((mesh.n_points, 3), dtype=bool)
    held[mesh.nodes("rim")] = rim
    if hub == "held":
        held[mesh.nodes("hub")] = True
        return Supports(held)
    return Supports(held, (Coupling(mesh.nodes("hub"), np.array([0.0, 0.0, 3.0])),))


@pytest.mark.parametrize("rim", [(True, True, True), (False, False, True)])
@pytest.mark.parametrize("hub", ["held", "coupled"])
def test_all_orders_are_those_of_the_sparse_solver(body, hub, rim):
    """Displacements agree to rounding for each residue and its mirror image."""
    if hub == "coupled" and not all(rim):
        pytest.skip("free to turn about the axis")
    mesh = body.mesh
    case, wanted = supports(mesh, hub, rim), list(loads(mesh, range(8)))
    ours = respond(body, case, wanted).displacements.u
    K = assemble_stiffness(mesh, ALUMINIUM)
    other = reduce_stiffness(K, mesh.points, case, body.cyclic)
    theirs = solve_orders(other, wanted).u
    assert_allclose(ours, theirs, rtol=0, atol=SAME * np.abs(theirs).max())


def test_reactions_are_what_the_full_matrix_says(body):
    """K u - f by pairs of points is that of the assembled matrix."""
    mesh = body.mesh
    case, wanted = supports(mesh, "held", True), list(loads(mesh, (0, 3)))
    found = respond(body, case, wanted)
    K = assemble_stiffness(mesh, ALUMINIUM)
    for u, load, reaction in zip(
        found.displacements.u, wanted, found.reactions, strict=True
    ):
        expected = (K @ u.ravel()).reshape(-1, 3) - load.nodal
        assert_allclose(reaction, expected, rtol=0, atol=1e-9 * np.abs(expected).max())


def test_a_body_that_is_free_to_move_is_refused(body):
    """Order 0 of a body that nothing holds has no solution."""
    mesh = body.mesh
    nothing = Supports(np.zeros((mesh.n_points, 3), dtype=bool))
    with pytest.raises(ModelError, match="free to move"):
        respond(body, nothing, list(loads(mesh, (0,))))


def test_every_point_is_eliminated_after_what_it_was_cut_from(body):
    """Fronts follow each other without a gap, and touch later points only."""
    mesh = body.mesh
    order = dissect(mesh.cells, mesh.n_points, np.arange(7))
    assert sorted(order.position) == list(range(mesh.n_points))
    assert sorted(order.position[:7]) == list(range(order.n_eliminated, mesh.n_points))
    edges = [0, *(front.last for front in order.fronts)]
    assert [front.first for front in order.fronts] == edges[:-1]
    assert edges[-1] == order.n_eliminated
    assert all((front.border >= front.last).all() for front in order.fronts)


def test_the_sum_over_pairs_times_columns_is_the_full_product():
    """Half of a symmetric matrix suffices."""
    mesh = lobed_sector(5, 1)
    pairs = stiffness_blocks(mesh, cell_lame(mesh, ALUMINIUM))
    columns = np.random.default_rng(7).normal(size=(3 * mesh.n_points, 4))
    expected = assemble_stiffness(mesh, ALUMINIUM) @ columns
    top = np.abs(expected).max()
    assert_allclose(pairs.times(columns), expected, rtol=0, atol=1e-12 * top)
