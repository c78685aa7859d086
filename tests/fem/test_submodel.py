"""A part of a body solved again: in balance with the rest, which stays as it was."""

from dataclasses import replace

import numpy as np
import pytest
from numpy.testing import assert_allclose

from spokecheck.errors import ModelError
from spokecheck.fem.body import Elastic, make_body, respond
from spokecheck.fem.cyclic import Cyclic
from spokecheck.fem.elasticity import Material
from spokecheck.fem.orders import Supports
from spokecheck.fem.submodel import make_submodel, recovered_at, solve_submodel
from spokecheck.mesh.subdivide import subdivide
from tests.fem.test_sector_known_answers import (
    clamped,
    lobed,
    pressed,
    ring,
    turning_moment,
)

ALUMINIUM = Material(70000.0, 0.33)


def solved(mesh, cyclic, supports, loads):
    """Body and response."""
    body = make_body(mesh, ALUMINIUM, cyclic)
    return body, respond(body, supports, loads)


def around(mesh, centre, radius):
    """Points within a radius [mm] of a place."""
    return np.linalg.norm(mesh.points - centre, axis=1) < radius


@pytest.mark.parametrize("place", [(60.0, 40.0, 5.0), (75.0, 0.0, 0.0)])
def test_a_neighbourhood_of_a_balanced_body_stays_as_it_is(place):
    """Solved again on the same mesh, inside or across a cut, all stays to rounding."""
    mesh, cyclic = lobed(2)
    supports, loads = clamped(mesh), [turning_moment(mesh)]
    body, before = solved(mesh, cyclic, supports, loads)
    free = around(mesh, np.array(place), 25.0)
    near = make_submodel(mesh, cyclic, body.elastic, free)
    again = solve_submodel(near, supports, loads, before.displacements.u)
    u = before.displacements.u
    assert near.free.sum() >= free.sum() > 20
    assert_allclose(again, u, atol=1e-10 * np.abs(u).max())


@pytest.mark.parametrize("place", [(60.0, 40.0, 5.0), (75.0, 0.0, 0.0)])
def test_stress_at_a_few_points_is_that_of_the_whole_body(place):
    """Recovered from the cells about them alone, across a cut too, to rounding."""
    mesh, cyclic = lobed(2)
    supports, loads = clamped(mesh), [turning_moment(mesh)]
    body, found = solved(mesh, cyclic, supports, loads)
    points = np.flatnonzero(around(mesh, np.array(place), 15.0))
    u = found.displacements.u
    some = recovered_at(mesh, cyclic, body.elastic, u, found.orders, points)
    top = np.abs(found.stress).max()
    assert 5 < len(points) < mesh.n_points / 2
    assert_allclose(some, found.stress[:, points], atol=1e-9 * top)


def held_inside(mesh):
    """Inner circle held."""
    held = np.zeros((mesh.n_points, 3), dtype=bool)
    held[mesh.nodes("inner")] = True
    return Supports(held)


@pytest.mark.parametrize("order", [1, 3])
def test_loads_that_changed_in_the_neighbourhood_are_answered_there(order):
    """With the whole ring free to move again, new loads give the new solution."""
    mesh, cyclic = ring(8.0, (3, 4, 1))
    supports, load = held_inside(mesh), pressed(mesh, "outer", order)
    body, expected = solved(mesh, cyclic, supports, [load])
    every = np.ones(mesh.n_points, dtype=bool)
    near = make_submodel(mesh, cyclic, body.elastic, every)
    nothing = np.zeros((1, mesh.n_points, 3), dtype=complex)
    found = solve_submodel(near, supports, [load], nothing)
    u = expected.displacements.u
    assert_allclose(found, u, atol=1e-10 * np.abs(u).max())


def test_beyond_its_edge_a_neighbourhood_moves_nothing():
    """Under twice the load and twice the displacement all stays in balance.

    Points that may not move keep what was carried over, to the last bit.
    """
    mesh, cyclic = ring(8.0, (4, 6, 1))
    supports, load = held_inside(mesh), pressed(mesh, "outer", 2)
    body, right = solved(mesh, cyclic, supports, [load])
    free = around(mesh, np.array([70.0, 40.0, 4.0]), 20.0)
    near = make_submodel(mesh, cyclic, body.elastic, free)
    twice = 2.0 * right.displacements.u
    doubled = replace(load, nodal=2.0 * load.nodal)
    found = solve_submodel(near, supports, [doubled], twice)
    assert (found[:, ~near.free] == twice[:, ~near.free]).all()
    assert_allclose(found, twice, atol=1e-10 * np.abs(twice).max())


def test_halved_cells_are_solved_as_in_the_whole():
    """Cells halved beside the load, solved again with all that moves, are as if whole.

    The field carried over is exact at the points of before, and the rest is found.
    """
    mesh, cyclic = ring(8.0, (3, 4, 1))
    supports, load = held_inside(mesh), pressed(mesh, "outer", 2)
    body, before = solved(mesh, cyclic, supports, [load])
    middles = mesh.points[mesh.cells[:, :4]].mean(axis=1)
    marked = np.linalg.norm(middles - [95.0, 40.0, 4.0], axis=1) < 15.0
    step = subdivide(mesh, marked, cyclic.pairs)
    finer, tied = step.mesh, replace(cyclic, pairs=step.pairs)
    whole = held_inside(finer), [pressed(finer, "outer", 2)]
    _, expected = solved(finer, tied, *whole)
    every = np.ones(finer.n_points, dtype=bool)
    near = make_submodel(finer, tied, body.elastic.of(step.parent), every)
    carried = np.stack([step.carry @ u for u in before.displacements.u])
    found = solve_submodel(near, *whole, carried)
    u = expected.displacements.u
    assert_allclose(found, u, atol=1e-10 * np.abs(u).max())


def test_a_neighbourhood_without_points_is_refused():
    """Nothing to solve again is an error that says so."""
    mesh, _ = ring(8.0, (1, 1, 1))
    none = np.zeros(mesh.n_points, dtype=bool)
    lame = tuple(np.full(mesh.n_cells, value) for value in ALUMINIUM.lame)
    with pytest.raises(ModelError, match="nothing to solve again"):
        make_submodel(mesh, Cyclic(), Elastic(lame, None), none)
