"""A body with some halved cells, by turns with the one before, against itself whole."""

from dataclasses import replace

import numpy as np
import pytest
from numpy.testing import assert_allclose

from spokecheck.fem.body import make_body, respond, supported
from spokecheck.fem.composite import CompositeBody, Solved, solve_composite
from spokecheck.fem.elasticity import Material
from spokecheck.fem.orders import Coupling, OrderLoad, Supports
from spokecheck.mesh.sound_halving import halve_soundly
from tests.fem.two_symmetries import RIM, disc

ALUMINIUM = Material(70000.0, 0.33)
CLOSE = 5e-5
"""The last of the turns moves no point by 1e-3; each leaves a twentieth or less."""


def case(mesh, hub):
    """A force on the rim, or a moment on the hub with the rim held."""
    held = np.zeros((mesh.n_points, 3), dtype=bool)
    nodal = np.zeros((mesh.n_points, 3), dtype=complex)
    zero = np.zeros(3, dtype=complex)
    if hub == "held":
        held[mesh.nodes("hub")] = True
        # corners of the coarse grid stay points of the finer mesh
        rim = mesh.nodes("rim")
        angle = np.arctan2(mesh.points[rim, 1], mesh.points[rim, 0])
        at = rim[np.argsort(np.abs(angle - 0.3), kind="stable")[:3]]
        nodal[at, 0] = 1000.0
        return Supports(held), [OrderLoad(1, nodal, zero, zero)]
    held[mesh.nodes("rim")] = True
    supports = Supports(held, (Coupling(mesh.nodes("hub"), np.zeros(3)),))
    turning = np.array([1.0, 1.0j, 0.0])
    return supports, [OrderLoad(1, nodal, 100.0 * turning, 5e4j * turning)]


@pytest.mark.parametrize(
    ("windows", "holes", "hub"), [(7, 5, "held"), (10, 4, "rigid")]
)
def test_turns_with_the_body_before_give_the_finer_body(windows, holes, hub):
    """Halved twice at one place near a window and once at the hub."""
    joined = disc(windows, holes, 1)
    before = make_body(joined.mesh, ALUMINIUM, joined.cyclic, joined=joined)
    mesh, cyclic, elastic = joined.mesh, joined.cyclic, before.elastic
    carry, parent = None, np.arange(mesh.n_cells)
    for radius in (25.0, 18.0):
        middles = mesh.points[mesh.cells[:, :4]].mean(axis=1)
        near = [np.array([RIM - 40.0, 30.0, 0.0]), np.array([0.0, 50.0, 0.0])]
        gaps = [np.linalg.norm(middles - place, axis=1) for place in near]
        step = halve_soundly(mesh, np.min(gaps, axis=0) < radius, cyclic.pairs).step
        assert step.halved.any()
        mesh, cyclic = step.mesh, replace(cyclic, pairs=step.pairs)
        carry = step.carry if carry is None else step.carry @ carry
        elastic, parent = elastic.of(step.parent), parent[step.parent]
    finer = CompositeBody(before, mesh, cyclic, elastic, carry, parent)
    supports, loads = case(joined.mesh, hub)
    solver = supported(before, supports)
    first = Solved(loads, solver.solve(loads).u, lambda rest: solver.solve(rest).u)
    supports, loads = case(mesh, hub)
    ours = solve_composite(finer, finer.places(), supports, loads, first)
    direct = make_body(mesh, ALUMINIUM, cyclic)
    theirs = respond(direct, supports, loads).displacements.u
    assert np.abs(theirs - np.stack([carry @ u for u in first.u])).max() > (
        1e-4 * np.abs(theirs).max()
    )
    assert_allclose(ours, theirs, rtol=0, atol=CLOSE * np.abs(theirs).max())
