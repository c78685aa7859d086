"""Halving cells: the same body, whole neighbours, exact fields, matching cuts."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from spokecheck.fem.cyclic import cyclic_from_faces, rotation
from spokecheck.handbook.consistency import lobed_sector
from spokecheck.mesh.jacobian_bounds import jacobian_ratios
from spokecheck.mesh.notches import plate_with_hole
from spokecheck.mesh.quality import bulk, radius_ratios
from spokecheck.mesh.record import TET_EDGES, TET_FACES, boundary_faces
from spokecheck.mesh.subdivide import subdivide

NONE = np.empty((0, 2), dtype=np.int64)


@pytest.fixture(scope="module")
def plate():
    """A quarter plate with a round hole: curved cells and six named sides."""
    return plate_with_hole(10.0, 40.0, 40.0, 5.0, (3, 4, 1))


def same_faces(one, other):
    """Whether two lists of faces hold the same, each turned as it may be."""
    return {frozenset(face) for face in one} == {frozenset(face) for face in other}


def halved(mesh, seed, share, pairs=NONE):
    """A share of the cells halved, drawn at random."""
    drawn = np.random.default_rng(seed).random(mesh.n_cells) < share
    drawn[seed % mesh.n_cells] = True
    return subdivide(mesh, drawn, pairs)


@settings(max_examples=25, deadline=None)
@given(st.integers(1, 10**6), st.floats(0.0, 1.0))
def test_the_body_is_the_same(plate, seed, share):
    """Volume and surface stay, no cell folds, neighbours share whole faces."""
    finer = halved(plate, seed, share).mesh
    assert_allclose(bulk(finer, 1.0).volume, bulk(plate, 1.0).volume, rtol=1e-12)
    assert jacobian_ratios(finer.points, finer.cells).min() > 0.5
    outer = np.concatenate(list(finer.surfaces.values()))
    assert same_faces(boundary_faces(finer.cells), outer)
    assert len(np.unique(finer.cells)) == finer.n_points
    assert len(np.unique(finer.points.round(9), axis=0)) == finer.n_points


def test_a_face_keeps_its_outward_side(plate):
    """Faces of the named sides are those of the cells, with the same turn."""
    finer = halved(plate, 7, 0.3).mesh
    turns = {
        tuple(np.roll(face[:3], -int(np.argmin(face[:3]))))
        for face in boundary_faces(finer.cells)
    }
    for faces in finer.surfaces.values():
        for face in faces:
            corners = face[:3]
            assert tuple(np.roll(corners, -int(np.argmin(corners)))) in turns


def test_new_points_lie_on_the_curved_edges_of_their_parents(plate):
    """Halves of a curved edge follow the same parabola, not its chord."""
    marked = np.ones(plate.n_cells, dtype=bool)
    finer = subdivide(plate, marked, NONE).mesh
    hole = finer.points[finer.nodes("hole")]
    gap = np.abs(np.hypot(hole[:, 0], hole[:, 1]) - 10.0)
    chord = 10.0 * (1.0 - np.cos(np.pi / 32.0))  # of half an edge of 11.25 degrees
    assert gap.max() < chord / 100.0


def test_a_field_within_the_cells_is_carried_exactly():
    """On straight cells any quadratic of the coordinates comes over to the last bit."""
    mesh = lobed_sector(5, 1)
    corners = mesh.points[mesh.cells[:, :4]]
    points = mesh.points.copy()
    points[mesh.cells[:, 4:]] = corners[:, TET_EDGES].mean(axis=2)
    step = halved(replace(mesh, points=points), 3, 0.4)

    def quadratic(x):
        return 1.0 + x[:, 0] * x[:, 1] - 2.0 * x[:, 2] ** 2 + 3.0 * x[:, 0]

    assert_allclose(
        step.carry @ quadratic(points), quadratic(step.mesh.points), rtol=1e-12
    )


def test_whole_cells_fall_into_eight_and_the_rest_is_kept():
    """One marked cell: eight parts, fitted neighbours, all others untouched."""
    mesh = plate_with_hole(10.0, 40.0, 40.0, 5.0, (3, 4, 1))
    marked = np.arange(mesh.n_cells) == 11
    step = subdivide(mesh, marked, NONE)
    parts = np.bincount(step.parent, minlength=mesh.n_cells)
    assert parts[11] == 8
    assert set(parts) <= {1, 2, 4, 8}
    shares = np.intersect1d(mesh.cells[11, 4:], mesh.cells[parts == 1])
    assert len(shares) == 0
    kept = step.mesh.cells[~step.halved]
    assert {tuple(c) for c in kept} <= {tuple(c) for c in mesh.cells}


@pytest.mark.parametrize("cell", [0, 17, 40])
def test_cuts_stay_images_of_each_other(cell):
    """Cells halved at one cut only are halved at the other too, and points pair up."""
    mesh = lobed_sector(5, 2)
    pairs = cyclic_from_faces(mesh, 5, "low", "high").pairs
    near = np.flatnonzero(np.isin(mesh.cells[:, :4], pairs[:, 0]).any(axis=1))
    marked = np.zeros(mesh.n_cells, dtype=bool)
    marked[near[cell % len(near)]] = True
    step = subdivide(mesh, marked, pairs)
    low, high = step.mesh.points[step.pairs.T]
    assert_allclose(low @ rotation(2.0 * np.pi / 5.0).T, high, atol=1e-10)
    new = step.pairs >= mesh.n_points
    assert (new.all(axis=1) == new.any(axis=1)).all()
    on_cut = boundary_faces(step.mesh.cells)
    both = np.isin(on_cut, step.pairs[:, 0]).all(axis=1).sum()
    assert both == np.isin(on_cut, step.pairs[:, 1]).all(axis=1).sum()


def test_zones_and_surfaces_inside_are_halved_with_their_cells(plate):
    """Parts belong to the zone of their parent, and an inner surface stays closed."""
    left = np.flatnonzero(plate.points[plate.cells[:, :4], 0].mean(axis=1) < 20.0)
    right = np.setdiff1d(np.arange(plate.n_cells), left)
    faces = boundary_faces(plate.cells[left])
    outer = {frozenset(face) for face in boundary_faces(plate.cells)}
    inner = np.array([face for face in faces if frozenset(face) not in outer])
    zoned = replace(
        plate, zones={"left": left, "right": right}, interfaces={"between": inner}
    )
    finer = halved(zoned, 5, 0.2).mesh
    assert len(finer.zones["left"]) + len(finer.zones["right"]) == finer.n_cells
    again = boundary_faces(finer.cells[finer.zones["left"]])
    outside = {frozenset(face) for face in boundary_faces(finer.cells)}
    again = [face for face in again if frozenset(face) not in outside]
    assert same_faces(again, finer.interfaces["between"])


def test_halving_again_and_again_does_not_flatten_cells(plate):
    """Four rounds about one place keep the radius ratio above a fifth of the first."""
    mesh, first = plate, radius_ratios(plate.points, plate.cells).min()
    place = np.array([0.0, 10.0, 2.5])
    for k in range(4):
        middles = mesh.points[mesh.cells[:, :4]].mean(axis=1)
        marked = np.linalg.norm(middles - place, axis=1) < 8.0 / 2.0**k
        mesh = subdivide(mesh, marked, NONE).mesh
    assert radius_ratios(mesh.points, mesh.cells).min() > first / 5.0


def test_faces_of_the_record_are_the_faces_of_the_templates():
    """A cell halved along one face leaves the other corner whole."""
    mesh = lobed_sector(5, 1)
    one = replace(
        mesh,
        cells=np.arange(10)[None],
        points=mesh.points[mesh.cells[0]],
        surfaces={"face": TET_FACES[:1].copy()},
    )
    step = subdivide(one, np.array([True]), NONE)
    assert len(step.mesh.cells) == 8
    assert len(step.mesh.surfaces["face"]) == 4
    assert_allclose(bulk(step.mesh, 1.0).volume, bulk(one, 1.0).volume, rtol=1e-12)
