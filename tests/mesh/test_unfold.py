"""Folded cells open, and the surface before them stays where it is."""

from dataclasses import replace

import numpy as np
import pytest
from numpy.testing import assert_allclose
from test_peel import NO_PAIRS, SIDES, with_flat_cell

from spokecheck.errors import MeshError
from spokecheck.mesh.blocks import block
from spokecheck.mesh.jacobian_bounds import bernstein_coefficients, jacobian_ratios
from spokecheck.mesh.peel import peel
from spokecheck.mesh.quality import (
    LEAST_JACOBIAN,
    bulk,
    radius_ratios,
)
from spokecheck.mesh.record import TET_EDGES, boundary_faces
from spokecheck.mesh.unfold import OPEN, bowed, straightened, unfold

FLAT = 1e-3


def dented(depth):
    """A cube whose top's inner mid-side points are pushed in, (mesh, those points)."""
    cube = block(lambda x: x, (2, 2, 2), SIDES)
    top = np.unique(cube.surfaces["k1"][:, 3:])
    at = cube.points[top]
    inner = top[((at[:, :2] > 0.1) & (at[:, :2] < 0.9)).all(axis=1)]
    points = cube.points.copy()
    points[inner, 2] -= depth
    return replace(cube, points=points), inner


def saddle(bend):
    """A cell with two faces on z = 1 + bend x y, and the cube below it."""
    cube, flat = with_flat_cell(depth=0.0)
    x, y, _ = flat.points.T
    on_top = np.append(np.unique(cube.surfaces["k1"]), flat.n_points - 1)
    points = flat.points.copy()
    points[on_top, 2] += bend * x[on_top] * y[on_top]
    # the diagonal that is now inside is straight, as the mesher leaves it
    cell, outer = flat.cells[-1], np.unique(boundary_faces(flat.cells))
    (edge,) = np.flatnonzero(~np.isin(cell[4:], outer))
    points[cell[4 + edge]] = points[cell[TET_EDGES[edge]]].mean(axis=0)
    return replace(flat, points=points)


def test_bowing_opens_cells_and_leaves_the_surface():
    """Cells folded by a dent open to the goal; no point of the boundary moves."""
    mesh, _ = dented(0.2)
    assert jacobian_ratios(mesh.points, mesh.cells).min() < LEAST_JACOBIAN
    opened = bowed(mesh)
    least = bernstein_coefficients(opened.points, opened.cells).min(axis=1)
    mean = bernstein_coefficients(mesh.points, mesh.cells).mean(axis=1)
    assert (least / mean).min() > 0.9 * OPEN
    outer = np.unique(boundary_faces(mesh.cells))
    assert np.array_equal(opened.points[outer], mesh.points[outer])
    corners = np.unique(mesh.cells[:, :4])
    assert np.array_equal(opened.points[corners], mesh.points[corners])
    assert_allclose(bulk(opened, 1.0).volume, bulk(mesh, 1.0).volume, rtol=1e-12)


def test_an_interface_stays_too():
    """Points on a named surface inside the body are as fixed as those outside."""
    mesh, _ = dented(0.2)
    folded = mesh.cells[jacobian_ratios(mesh.points, mesh.cells) < LEAST_JACOBIAN]
    inside = np.setdiff1d(folded[:, 4:], np.unique(boundary_faces(mesh.cells)))
    held = replace(mesh, interfaces={"joint": inside[:, None]})
    assert bowed(held) is held


def test_a_folded_cell_with_two_faces_on_a_surface_comes_off():
    """Its surface is the saddle again: the new diagonal bows onto it.

    Seen along its own normal the saddle is a quadric only nearly, here to 2e-4.
    """
    mesh = saddle(0.4)
    assert radius_ratios(mesh.points, mesh.cells).min() > FLAT
    assert jacobian_ratios(mesh.points, mesh.cells).min() < LEAST_JACOBIAN
    peeled = peel(mesh, NO_PAIRS, FLAT)
    assert peeled.count == 1
    assert peeled.deviation < 2e-4
    x, y, z = peeled.mesh.points[np.unique(peeled.mesh.surfaces["k1"])].T
    assert_allclose(z, 1.0 + 0.4 * x * y, atol=2e-4)
    outer = np.sort(boundary_faces(peeled.mesh.cells)[:, :3], axis=1)
    named = np.sort(np.vstack(list(peeled.mesh.surfaces.values()))[:, :3], axis=1)
    assert {tuple(face) for face in named} == {tuple(face) for face in outer}


def test_a_folded_cell_at_a_ridge_stays():
    """Two faces that meet at an edge are no smooth surface: nothing is cut off."""
    mesh = saddle(0.4)
    one, two = mesh.surfaces["k1"][-2:]
    (ridge,) = set(one[3:]) & set(two[3:])
    points = mesh.points.copy()
    points[ridge, 2] += 0.2
    assert peel(replace(mesh, points=points), NO_PAIRS, FLAT).count == 0


def test_what_stays_folded_is_straightened_and_reported():
    """A dent too deep to bow round: the surface moves, and by how much is said."""
    mesh, _ = dented(0.45)
    actual = unfold(mesh, NO_PAIRS, FLAT)
    least = jacobian_ratios(actual.mesh.points, actual.mesh.cells).min()
    assert least == actual.quality.least_jacobian >= LEAST_JACOBIAN
    moved = np.linalg.norm(actual.mesh.points - bowed(mesh).points, axis=1).max()
    assert actual.quality.deviation == pytest.approx(moved)


def test_inner_edges_made_straight_move_no_surface():
    """A bow inside the body that has to go is not reported as a dent."""
    mesh, _ = dented(0.0)
    points = mesh.points.copy()
    inner = np.setdiff1d(mesh.cells[:, 4:], np.unique(boundary_faces(mesh.cells)))
    points[inner[0]] += 0.3
    _, quality = straightened(replace(mesh, points=points), NO_PAIRS)
    assert quality.straightened > 0
    assert quality.deviation == 0.0


def test_cells_that_stay_folded_are_an_error(monkeypatch):
    """Without a sweep left the mesh is refused, and the message says how many."""
    monkeypatch.setattr("spokecheck.mesh.unfold.SWEEPS", 0)
    mesh, _ = dented(0.45)
    with pytest.raises(MeshError, match=r"cells stay folded after 0 sweeps"):
        straightened(mesh, NO_PAIRS)
