"""Two sectors joined on a ring against the body of their copies, solved otherwise."""

import numpy as np
import pytest
from numpy.testing import assert_allclose

from spokecheck.errors import MeshError, ModelError
from spokecheck.fem.assembly import assemble_stiffness
from spokecheck.fem.body import make_body, respond
from spokecheck.fem.cyclic import rotation
from spokecheck.fem.elasticity import Material
from spokecheck.fem.joined import join
from spokecheck.fem.orders import Coupling, OrderLoad, Supports
from spokecheck.fem.whole import copied_round
from spokecheck.mesh.quality import bulk
from tests.fem.two_symmetries import disc
from tests.oracle.reduction import reduce_stiffness
from tests.oracle.solve import solve_orders

ALUMINIUM = Material(70000.0, 0.33)
SAME = 1e-9
"""Two direct solvers in double precision; the condition number is about 1e6."""


def supports(mesh, hub):
    """Rim held and hub rigid, or the other way round, as the tests have it."""
    held = np.zeros((mesh.n_points, 3), dtype=bool)
    if hub == "held":
        held[mesh.nodes("hub")] = True
        return Supports(held)
    held[mesh.nodes("rim")] = True
    return Supports(held, (Coupling(mesh.nodes("hub"), np.array([0.0, 0.0, 5.0])),))


def loads(mesh, where, orders):
    """Complex forces on all points of a surface, another set for each order."""
    draw, nodes = np.random.default_rng(20261130), mesh.nodes(where)
    for m in orders:
        nodal = np.zeros((mesh.n_points, 3), dtype=complex)
        nodal[nodes] = draw.normal(size=(len(nodes), 3, 2)) @ [1.0, 1.0j]
        force, moment = draw.normal(size=(2, 3))
        yield OrderLoad(m, nodal, force + 1j * force[::-1], 40j * moment)


@pytest.mark.parametrize(
    ("windows", "holes", "first", "hub", "where"),
    [
        (7, 5, 3, "held", "rim"),
        (7, 5, 3, "rigid", "free"),
        (9, 5, 0, "rigid", "free"),
        (8, 5, 11, "held", "free"),
        (10, 4, 0, "held", "rim"),
        (10, 4, 3, "rigid", "free"),
        (6, 4, 5, "held", "free"),
    ],
)
def test_a_joined_disc_moves_as_the_sparse_solver_says(
    windows, holes, first, hub, where
):
    """Whatever the two numbers, the load and the hub: equal to rounding.

    Loads stand on the rim, or on the sides of windows and holes.
    """
    joined = disc(windows, holes, first)
    mesh, cyclic = joined.mesh, joined.cyclic
    case = supports(mesh, hub)
    wanted = list(loads(mesh, where, range(3)))
    body = make_body(mesh, ALUMINIUM, cyclic, joined=joined)
    ours = respond(body, case, wanted)
    K = assemble_stiffness(mesh, ALUMINIUM)
    reduction = reduce_stiffness(K, mesh.points, case, cyclic)
    theirs = solve_orders(reduction, wanted).u
    gap = np.abs(ours.displacements.u - theirs).max()
    assert gap < SAME * np.abs(theirs).max()
    expected = (K @ theirs[1].ravel()).reshape(-1, 3) - wanted[1].nodal
    top = np.abs(expected).max()
    assert_allclose(ours.reactions[1], expected, rtol=0, atol=SAME * top)


@pytest.mark.parametrize("first", [0, 3])
def test_half_a_disc_is_half_of_the_whole(first):
    """Ten windows on four holes: one of two equal halves against the whole body.

    Where the parts' cuts differ the half has a step along the ring.
    """
    joined = disc(10, 4, first)
    half, cyclic = joined.mesh, joined.cyclic
    whole = copied_round(half, cyclic)
    assert_allclose(bulk(whole.mesh, 1.0).volume, 2.0 * bulk(half, 1.0).volume)
    nodal = next(loads(half, "rim", (3,))).nodal
    order, zero = 3, np.zeros(3, dtype=complex)
    everywhere = np.zeros((whole.mesh.n_points, 3), dtype=complex)
    for k, number in enumerate(whole.number):
        turned = np.exp(1j * order * k * np.pi) * nodal @ rotation(k * np.pi).T
        np.add.at(everywhere, number, turned)
    load = OrderLoad(order, nodal, zero, zero)
    body = make_body(half, ALUMINIUM, cyclic, joined=joined)
    ours = respond(body, supports(half, "held"), [load]).displacements.u[0]
    load = OrderLoad(order, everywhere, zero, zero)
    body = make_body(whole.mesh, ALUMINIUM)
    theirs = respond(body, supports(whole.mesh, "held"), [load]).displacements.u[0]
    top = np.abs(theirs).max()
    assert_allclose(ours, theirs[whole.number[0]], rtol=0, atol=SAME * top)


def test_a_ring_whose_points_are_held_drops_out():
    """A ring that reaches into the held pad leaves the rest of it to be solved."""
    joined = disc(7, 5, 2)
    mesh = joined.mesh
    held = np.zeros((mesh.n_points, 3), dtype=bool)
    radius = np.hypot(*mesh.points[:, :2].T)
    held[(radius < 75.0 + 1e-6) & (mesh.points[:, 2] < -1.0)] = True
    assert held[joined.parts[0].number[0][joined.parts[0].sector.ring]].any()
    wanted, case = list(loads(mesh, "rim", (0, 1))), Supports(held)
    body = make_body(mesh, ALUMINIUM, joined=joined)
    ours = respond(body, case, wanted).displacements.u
    theirs = respond(make_body(mesh, ALUMINIUM), case, wanted).displacements.u
    assert_allclose(ours, theirs, rtol=0, atol=SAME * np.abs(theirs).max())


def test_two_metals_meet_on_the_ring():
    """Each part may be of its own metal."""
    joined = disc(7, 5, 1)
    mesh, radius = joined.mesh, np.hypot(*joined.mesh.points[:, :2].T)
    outer = radius[joined.mesh.cells[:, :4]].mean(axis=1) > 75.0
    mesh = type(mesh)(
        mesh.points, mesh.cells, mesh.surfaces, {"rim": np.flatnonzero(outer)}
    )
    zones, case = {"rim": Material(45000.0, 0.29)}, supports(mesh, "held")
    wanted = list(loads(mesh, "rim", (1,)))
    ours = respond(
        make_body(mesh, ALUMINIUM, zones=zones, joined=joined), case, wanted
    ).displacements.u
    other = make_body(mesh, ALUMINIUM, zones=zones)
    theirs = respond(other, case, wanted).displacements.u
    assert_allclose(ours, theirs, rtol=0, atol=SAME * np.abs(theirs).max())


def test_parts_that_do_not_conform_are_refused():
    """An inner part that lies one strip off has other points on the ring."""
    joined = disc(7, 5, 2)
    outer, inner = (part.sector for part in joined.parts)
    with pytest.raises(MeshError, match="differ by"):
        join(outer, inner, 3)


def test_supports_that_know_no_sectors_are_refused():
    """One held window of seven has no sector to stand for it."""
    joined = disc(7, 5)
    held = np.zeros((joined.mesh.n_points, 3), dtype=bool)
    held[joined.parts[0].number[2]] = True
    body = make_body(joined.mesh, ALUMINIUM, joined=joined)
    with pytest.raises(ModelError, match="differ from copy to copy"):
        respond(body, Supports(held), list(loads(joined.mesh, "rim", (0,))))


def test_a_joined_body_that_nothing_holds_is_refused():
    """The ring's own system is singular then."""
    joined = disc(7, 5)
    held = np.zeros((joined.mesh.n_points, 3), dtype=bool)
    body = make_body(joined.mesh, ALUMINIUM, joined=joined)
    with pytest.raises(ModelError, match="on the ring"):
        respond(body, Supports(held), list(loads(joined.mesh, "rim", (0,))))
