"""Flat cells come off the surface, and nothing else changes."""

from dataclasses import replace

import numpy as np
import pytest
from numpy.testing import assert_allclose

from spokecheck.mesh.blocks import block
from spokecheck.mesh.peel import peel
from spokecheck.mesh.quality import bulk, radius_ratios
from spokecheck.mesh.record import TET_EDGES, TET_FACES, boundary_faces

SIDES = {f"{axis}{end}": f"{axis}{end}" for axis in "ijk" for end in "01"}
NO_PAIRS = np.empty((0, 2), dtype=np.int64)


def with_flat_cell(depth=1e-7, zones=True):
    """A cube, and a flat cell on two triangles that share a diagonal of its top."""
    cube = block(lambda x: x, (2, 2, 2), SIDES)
    if zones:
        cube = replace(cube, zones={"all": np.arange(cube.n_cells)})
    top = cube.surfaces["k1"]
    first, second = next(
        (k, j)
        for k in range(len(top))
        for j in range(k + 1, len(top))
        if len(set(top[k, :3]) & set(top[j, :3])) == 2
    )
    one, two = top[first], top[second]
    shared = sorted(set(one[:3]) & set(two[:3]))
    ends = [*(set(one[:3]) - set(shared)), *(set(two[:3]) - set(shared))]
    points = cube.points.copy()
    points[ends[0], 2] += depth
    corners = np.array([*shared, *ends])
    at = points[corners]
    if np.linalg.det(at[1:] - at[0]) < 0.0:
        corners = corners[[1, 0, 2, 3]]
    mids = {}
    for face in (one, two):
        for k in range(3):
            mids[frozenset((face[k], face[(k + 1) % 3]))] = face[3 + k]
    mids[frozenset(ends)] = len(points)
    points = np.vstack([points, points[ends].mean(axis=0)])
    cell = [*corners, *(mids[frozenset(corners[e])] for e in TET_EDGES)]
    kept = np.delete(top, [first, second], axis=0)
    lid = [f for f in boundary_faces(np.array([cell])) if set(ends) <= set(f[:3])]
    surfaces = cube.surfaces | {"k1": np.array([*kept, *lid])}
    number = {"all": np.arange(cube.n_cells + 1)} if zones else {}
    flat = replace(
        cube,
        points=points,
        cells=np.vstack([cube.cells, cell]),
        surfaces=surfaces,
        zones=number,
    )
    return cube, flat


def faces_of(mesh):
    """All named faces by their sorted corners."""
    named = np.vstack(list(mesh.surfaces.values()))
    return {tuple(sorted(face[:3])) for face in named.tolist()}


def test_a_flat_cell_comes_off():
    """The cube is itself again: its cells, points, zones and named faces."""
    cube, flat = with_flat_cell()
    assert radius_ratios(flat.points, flat.cells).min() < 1e-5
    peeled = peel(flat, NO_PAIRS, 1e-3)
    assert peeled.count == 1
    assert peeled.mesh.n_cells == cube.n_cells
    assert peeled.mesh.n_points == cube.n_points
    assert faces_of(peeled.mesh) == faces_of(cube)
    assert_allclose(np.sort(peeled.mesh.zones["all"]), np.arange(cube.n_cells))


def test_the_new_surface_is_closed_outward_and_as_large():
    """Every boundary face is named, outward, and the volume changes by the sliver's."""
    _, flat = with_flat_cell()
    mesh = peel(flat, NO_PAIRS, 1e-3).mesh
    outer = {tuple(f) for f in np.sort(boundary_faces(mesh.cells)[:, :3], axis=1)}
    assert faces_of(mesh) == outer
    top = mesh.points[mesh.surfaces["k1"]]
    normal = np.cross(top[:, 1] - top[:, 0], top[:, 2] - top[:, 0])
    assert (normal[:, 2] > 0.0).all()
    assert_allclose(normal[:, 2].sum() / 2.0, 1.0, rtol=1e-12)
    for face in mesh.surfaces["k1"]:
        ends = mesh.points[face[:3]]
        middle = (ends + np.roll(ends, -1, axis=0)) / 2.0
        assert_allclose(mesh.points[face[3:]], middle, atol=1e-6)
    assert_allclose(bulk(mesh, 1.0).volume, 1.0, rtol=1e-6)


def test_what_it_costs_is_reported():
    """The deviation is of the order of the thickness of the cell taken off."""
    _, flat = with_flat_cell(depth=1e-5)
    assert 2e-6 < peel(flat, NO_PAIRS, 1e-3).deviation < 2e-5


def test_a_flat_cell_on_a_curved_surface_leaves_no_dent():
    """Two triangles of a cylinder, corners in one plane: the new diagonal bows."""
    _, flat = with_flat_cell(depth=1e-7)
    points = flat.points.copy()
    on_top = np.isclose(points[:, 2], 1.0, atol=1e-6)
    middle = points[flat.cells[-1, :4], 1].mean()
    points[on_top, 2] -= 0.6 * (points[on_top, 1] - middle) ** 2
    cell, outer = flat.cells[-1], np.unique(boundary_faces(flat.cells))
    (edge,) = np.flatnonzero(~np.isin(cell[4:], outer))
    points[cell[4 + edge]] = points[cell[TET_EDGES[edge]]].mean(axis=0)
    bent = replace(flat, points=points)
    assert radius_ratios(points, flat.cells).min() < 1e-5
    mesh = peel(bent, NO_PAIRS, 1e-3).mesh
    assert mesh.n_cells == flat.n_cells - 1
    _, y, z = mesh.points[np.unique(mesh.surfaces["k1"])].T
    assert_allclose(z, 1.0 - 0.6 * (y - middle) ** 2, atol=1e-6)


def test_a_sound_mesh_stays_the_very_same():
    """Nothing is copied where nothing is flat."""
    cube, _ = with_flat_cell()
    peeled = peel(cube, NO_PAIRS, 1e-3)
    assert peeled.mesh is cube
    assert (peeled.count, peeled.deviation) == (0, 0.0)


@pytest.mark.parametrize("why", ["cut", "interface", "its edge", "two names"])
def test_a_flat_cell_that_others_rely_on_stays(why):
    """On a cut, at an interface, or between two surfaces no cell is taken off."""
    _, flat = with_flat_cell()
    pairs, top = NO_PAIRS, flat.surfaces["k1"]
    if why == "cut":
        nodes = np.unique(top)
        pairs = np.column_stack([nodes, nodes])
    elif why == "interface":
        flat = replace(flat, interfaces={"joint": top[-1:]})
    elif why == "its edge":
        cell, outer = flat.cells[-1], np.unique(boundary_faces(flat.cells))
        (edge,) = np.flatnonzero(~np.isin(cell[4:], outer))
        inside = flat.cells[:-1][:, TET_FACES].reshape(-1, 6)
        has = (inside[:, 3:] == cell[4 + edge]).any(axis=1)
        of_cell = np.isin(inside[:, :3], cell[:4]).all(axis=1)
        flat = replace(flat, interfaces={"joint": inside[has & ~of_cell][:1]})
    else:
        rest = {"k1": top[:-1], "other": top[-1:]}
        flat = replace(flat, surfaces=flat.surfaces | rest)
    assert peel(flat, pairs, 1e-3).count == 0


def test_pairs_keep_their_points():
    """Pairs elsewhere are numbered again with the points they name."""
    _, flat = with_flat_cell()
    low = np.unique(flat.surfaces["k0"])
    pairs = np.column_stack([low, low])
    # a point that is in no cell comes off too, and shifts the numbers behind it
    lone = replace(
        flat,
        points=np.vstack([[9.0, 9.0, 9.0], flat.points]),
        cells=flat.cells + 1,
        surfaces={name: faces + 1 for name, faces in flat.surfaces.items()},
    )
    peeled = peel(lone, pairs + 1, 1e-3)
    assert_allclose(peeled.mesh.points[peeled.pairs[:, 0]], flat.points[low])
